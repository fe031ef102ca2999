"""The change sheet on paper: changes are marked on the panel, and no text lies over another."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

import pytest

from allocator.outputs.changes import ChangeSheet
from allocator.outputs.changes.documents import change_sheets
from allocator.outputs.changes.marks import marks_of
from allocator.outputs.changes.needs import need_rows
from allocator.outputs.content import Content
from allocator.outputs.layout import panels_book
from allocator.outputs.marked_sheet import MarkedSheet
from allocator.plan.built import built_from
from allocator.plan.change_list import change_list
from allocator.plan.changes import CHANGES, count_changes
from allocator.plan.index import PlanIndex
from allocator.plan.plan import ChangeResult, Plan
from allocator.requirements import load_scenario
from allocator.revising import Keep, revise
from allocator.sizing import size
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.cli.running import SCENARIOS
from tests.outputs.conftest import content_of, read_back
from tests.outputs.svg_reading import Bounds
from tests.outputs.test_lettering_on_sheets import SLACK_MM, clashes


def _turned(plan: Plan) -> Plan:
    """Every third circuit of a feed and format has moved on to the way of the next such."""
    by_format: dict[tuple[str, str], list[int]] = defaultdict(list)
    for number, way in enumerate(plan.ways):
        if way.kind == "circuit" and number % 3 == 0:
            by_format[way.feed, way.at.rsplit("/", 1)[0]].append(number)
    ways = list(plan.ways)
    for numbers in by_format.values():
        for number, following in zip(numbers, (*numbers[1:], numbers[0]), strict=True):
            ways[number] = ways[number].model_copy(update={"at": plan.ways[following].at})
    return plan.model_copy(update={"ways": tuple(ways)})


def turned_sheet(name: str) -> ChangeSheet:
    content = content_of(name)
    old = PlanIndex(content.sized, content.plan)
    plan = _turned(content.plan)
    new, built = PlanIndex(content.sized, plan), built_from(old)
    counted = count_changes(built, new)
    results = tuple(
        ChangeResult(
            change=change,
            value=Fraction(counted[change]),
            bound=Fraction(0),
            outcome="best so far",
            closed_by="not closed",
        )
        for change in CHANGES
    )
    stated = plan.model_copy(update={"changes": results})
    return ChangeSheet(Content(content.sized, stated), change_list(built, old, new), content.plan)


@pytest.mark.parametrize("name", ["small", "small-any-script", "large-long", "wide", "creek-workboat"])
def test_no_text_overlaps_or_is_clipped(name: str) -> None:
    """Panels with their marks, and the tables of steps, counts and goals behind them."""
    sheet = turned_sheet(name)
    assert sheet.changes.steps and marks_of(sheet.changes)
    for page in change_sheets(sheet):
        svg = read_back(page)
        assert clashes(page, svg) == []
        assert all(line in svg.bounds_by_id for text in page.texts for line in text.ids)


@pytest.mark.parametrize("name", ["large", "creek-workboat"])
def test_the_mark_of_a_socket_covers_no_text_on_either_side(name: str) -> None:
    """On the wiring side every terminal of a socket has its wire written from top to bottom."""
    content = content_of(name)
    marks = {("socket", str(place)): "XM" for place in content.index.socket_by_place}
    found = 0
    for sheet in panels_book(content, "changes", lambda size_mm: MarkedSheet(size_mm, marks)).finish():
        svg = read_back(sheet)
        assert clashes(sheet, svg) == []
        tags = [text for text in sheet.texts if text.wanted == "XM"]
        for tag in tags:
            inner = Bounds(tag.box.x, tag.box.y, tag.box.right, tag.box.bottom)
            for text in sheet.texts:
                if text not in tags:
                    assert not any(svg.bounds_by_id[line].overlaps(inner, SLACK_MM) for line in text.ids), text.wanted
        assert not [text.wanted for text in sheet.texts if text.fitted.shortened and text.wanted.startswith("S1 ")]
        found += len(tags)
    assert found == 2 * len(marks) > 0


@pytest.mark.parametrize(
    ("was", "now", "wires", "holders"),
    [
        ({}, {"rating": 40.0}, "", "LE (main, 40 A E)"),
        ({}, {"tail_fuse": 40.0}, "C1, T1", "T1 (in-line, 40 A E)"),
        ({"tail_fuse": 40.0}, {"tail_fuse": 50.0}, "T1", "T1 (in-line, 50 A E)"),
        ({}, {"label": "Bank of batteries"}, "", ""),
    ],
)
def test_holders_whose_fuse_is_another_are_labelled_anew(
    was: dict[str, float], now: dict[str, float], wires: str, holders: str
) -> None:
    """A label that names the larger fuse of before would have it fitted before the thinner wire of now."""
    old, new = _starter_with(was), _starter_with(now)
    plan = allocate(old)
    revision = revise(plan, old, new, keep=Keep("all"), with_fresh=False)
    changes = change_list(revision.built, PlanIndex(old, plan), PlanIndex(new, revision.plan))
    rows = [what for do, what in need_rows(ChangeSheet(Content(new, revision.plan), changes)) if do == "label"]
    assert rows[: len(rows) - bool(changes.steps)] == [
        *([f"both ends of {wires} (labels.pdf)"] if wires else []),
        *([f"fuse holders, so that nobody fits what was there: {holders} (labels.pdf)"] if holders else []),
    ]


def _starter_with(fields: dict[str, float]) -> Sized:
    requirements = load_scenario(SCENARIOS / "starter-camper")
    feeds = tuple(
        feed.model_copy(update=fields if feed.name == "leisure" else {}) for feed in requirements.scenario.feeds
    )
    scenario = requirements.scenario.model_copy(update={"feeds": feeds})
    return size(requirements.model_copy(update={"scenario": scenario}))
