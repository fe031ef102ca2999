"""
Fuses outside the modules: each has a line on the card of its panel and a label for its holder.

What there is to be is read from wires.csv and the plan, not from what draws them.
"""

from __future__ import annotations

from collections import Counter

import pytest

from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.sheet import Sheet
from allocator.outputs.workshop.labels import label_sheets
from allocator.outputs.workshop.legend import ELSEWHERE, legend_covers, legend_sheets
from allocator.outputs.workshop.lid_type import LEAST_SIZE_PT, WARNING
from allocator.outputs.workshop.outside import outside_fuses
from tests.outputs.conftest import BUNDLED
from tests.outputs.workshop.test_inline_fuses import fused_wires, held_in_line, made

NAMES = ["coils", "small", "large", *BUNDLED]
CARD = "Fuses outside the modules, panel "


def arriving(content: Content, panel: str) -> dict[str, str]:
    """Main fuses by the code of their feed, of the feeds that enter a panel."""
    feeds = {piece.feed for piece in content.plan.pieces if piece.at.startswith(f"{panel}/")}
    sized = content.sized.feeds
    mains = {name: sized[name].main for name in sized if name in feeds}
    return {content.marks[name].code: main.fuse for name, main in mains.items() if main is not None}


def lines_of(content: Content, panel: str) -> list[tuple[str, str]]:
    """Name and fuse of every line that is on a card of a panel, as the sheets show it."""
    title = f"{CARD}{content.panel_name(panel)}"
    shown = {
        text.wanted
        for sheet in cards(content)
        if any(text.wanted == title for text in sheet.texts)
        for text in sheet.texts
    }
    return [(item.name, item.fuse) for item in outside_fuses(content, panel) if item.name in shown]


def cards(content: Content) -> list[Sheet]:
    return [sheet for sheet in legend_sheets(content) if any(text.wanted.startswith(CARD) for text in sheet.texts)]


@pytest.mark.parametrize("name", NAMES)
def test_every_fuse_outside_the_modules_has_a_line_on_the_card_of_its_panel(name: str) -> None:
    content = made(name)
    told: Counter[str] = Counter()
    wires = fused_wires(content)
    for panel in content.index.panels:
        lines = lines_of(content, panel)
        mains = [(wire, fuse) for wire, fuse in lines if wire not in wires]
        assert mains == list(arriving(content, panel).items())
        told.update(wire for wire, _ in lines if wire in wires)
        assert all(wires[wire][0] == fuse for wire, fuse in lines if wire in wires)
    assert told == Counter(dict.fromkeys(wires, 1))
    assert len(wires) == held_in_line(content).total()


def test_a_line_says_where_the_fuse_is_and_what_it_protects() -> None:
    content = made("coils")
    (panel,) = content.index.panels
    said = {item.name: (item.where, item.protects) for item in outside_fuses(content, panel)}
    leads = {run.number: run for run in content.inline_runs if run.role == "wire"}
    assert sorted(said[number][0] for number in leads) == ["dash/1/A/1 output", "switched side of circuit-01"]
    for number, run in leads.items():
        assert said[number][1] == f"coil of {run.start.place}, {content.sized.need_by_id[run.need].label}"
    for run in content.inline_runs:
        if run.role == "tail":
            stud, _, of = said[run.number][0].partition(" of ")
            assert (stud, of) == ("dash, stud", content.marks[run.feed].code)
            assert said[run.number][1] == f"tail to {run.end.place}, {run.feed}"


@pytest.mark.parametrize("name", ["coils", "large", "creek-workboat"])
def test_cards_can_be_read_at_arm_s_length_and_say_rating_and_warning(name: str) -> None:
    content = made(name)
    rating = {part.id: f"{part.rating:g}" for part in content.sized.requirements.catalogue.fuses}
    lines = [item for panel in content.index.panels for item in outside_fuses(content, panel)]
    texts = [text for sheet in cards(content) for text in sheet.texts]
    for item in lines:
        for wanted in (item.name, item.where, item.protects, rating[item.fuse]):
            found = [text for text in texts if text.wanted == wanted]
            assert found and all(text.fitted.size_pt >= LEAST_SIZE_PT for text in found)
            assert not [text for text in found if text.fitted.shortened]
    titles = [text for text in texts if text.wanted.startswith(CARD) and ":" not in text.wanted]
    assert sum(text.wanted == WARNING for text in texts) >= len(titles) >= len(content.index.panels)


@pytest.mark.parametrize("name", ["small", "library-bus"])
def test_every_lid_says_that_there_is_a_card(name: str) -> None:
    for sheet in legend_covers(made(name)).values():
        assert any(ELSEWHERE in text.wanted for text in sheet.texts)


@pytest.mark.parametrize("name", NAMES)
def test_every_holder_has_one_label_with_its_rating(name: str) -> None:
    content = made(name)
    parts = {part.id: part for part in content.sized.requirements.catalogue.fuses}
    texts = Counter(text.wanted.replace(NO_BREAK, " ") for sheet in label_sheets(content) for text in sheet.texts)
    mains = {code: fuse for panel in content.index.panels for code, fuse in arriving(content, panel).items()}
    wanted: Counter[str] = Counter()
    for kind, fuses in (("in-line", [fuse for fuse, _ in fused_wires(content).values()]), ("main", mains.values())):
        for fuse in fuses:
            wanted[f"{kind} holder, {parts[fuse].rating:g} A {content.fuse_type(fuse).replace(NO_BREAK, ' ')}"] += 1
    assert {text: number for text, number in texts.items() if " holder, " in text} == dict(wanted)
    assert texts[WARNING] == wanted.total()
