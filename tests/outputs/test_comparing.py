"""The comparison on paper and as lists: marks where something differs and nowhere else, no text over another."""

from __future__ import annotations

import csv
from dataclasses import replace

import pytest

from allocator.outputs.comparing import Comparison, Side, comparison_data, comparison_text
from allocator.outputs.comparing.documents import comparison_sheets
from allocator.outputs.comparing.lists import comparison_csv
from allocator.outputs.comparing.marks import marks_of
from allocator.outputs.comparing.words import SAME, differs
from allocator.outputs.content import Content
from tests.outputs.conftest import content_of, read_back
from tests.outputs.test_lettering_on_sheets import clashes
from tests.plan.plans import small


def _swapped() -> Content:
    """The small plan with two circuits in each other's ways."""
    sized, plan = small()
    places = {"horn": "cabin/1/A/2", "pump": "cabin/1/A/1"}
    ways = tuple(way.model_copy(update={"at": places.get(way.need, way.at)}) for way in plan.ways)
    return Content(sized, plan.model_copy(update={"ways": ways}))


def _pair(*contents: Content) -> Comparison:
    return Comparison(tuple(Side(f"plan {number}", content) for number, content in enumerate(contents)))


@pytest.mark.parametrize("name", ["small", "large", "creek-workboat"])
def test_a_plan_and_itself(name: str) -> None:
    same = _pair(content_of(name), content_of(name))
    assert not differs(same)
    assert SAME in comparison_text(same)
    assert marks_of(same, 0, 1) == marks_of(same, 1, 1) == {}
    rows = list(csv.DictReader(comparison_csv(same).splitlines()))
    assert rows and all(not row["differs"] for row in rows if row["section"] != "#")


def test_what_moved_is_marked_in_both_and_numbered_alike() -> None:
    pair = _pair(Content(*small()), _swapped())
    first, second = marks_of(pair, 0, 1), marks_of(pair, 1, 1)
    assert {key: mark.text for key, mark in first.items()} == {
        ("way", "cabin/1/A/1"): "M1",
        ("way", "cabin/1/A/2"): "M2",
    }
    assert second["way", "cabin/1/A/2"] == first["way", "cabin/1/A/1"]
    assert second["way", "cabin/1/A/1"] == first["way", "cabin/1/A/2"]


@pytest.mark.parametrize(
    "names", [("creek-workboat", "large"), ("small-long", "small-any-script"), ("small", "small-48-volts")]
)
def test_nothing_on_the_sheets_overlaps(names: tuple[str, str]) -> None:
    sheets, num_drawings = comparison_sheets(_pair(*map(content_of, names)))
    assert 0 < num_drawings < len(sheets)
    for sheet in sheets:
        assert clashes(sheet, read_back(sheet)) == []


def test_every_mark_is_written_on_the_sheets() -> None:
    pair = _pair(Content(*small()), _swapped())
    sheets, num_drawings = comparison_sheets(pair)
    written = [text.wanted for sheet in sheets[:num_drawings] for text in sheet.texts]
    for side in (0, 1):
        for (kind, address), mark in marks_of(pair, side, 1).items():
            wanted = f"{address.rpartition('/')[2]}  {mark.text}" if kind == "way" else mark.text
            assert " ".join(wanted.split()) in [" ".join(text.split()) for text in written]


def test_columns_mirror_with_the_order() -> None:
    one, other = _pair(content_of("small"), content_of("large")), _pair(content_of("large"), content_of("small"))
    rows = {(row["section"], row["name"], row["field"]): (row["A"], row["B"])
            for row in csv.DictReader(comparison_csv(one).splitlines()) if row["section"] != "#"}  # fmt: skip
    back = {(row["section"], row["name"], row["field"]): (row["B"], row["A"])
            for row in csv.DictReader(comparison_csv(other).splitlines()) if row["section"] != "#"}  # fmt: skip
    assert rows == back


def test_three_plans_are_each_held_against_the_first() -> None:
    three = _pair(Content(*small()), _swapped(), Content(*small()))
    data = comparison_data(three)
    assert [plan["letter"] for plan in data["plans"]] == ["A", "B", "C"]
    fates = {need["need"]: need["fates"] for need in data["needs"]}
    assert fates["horn"] == ["moved", "same"] and fates["fan"] == ["same", "same"]
    assert replace(three, sides=three.sides[:2]).letters == ("A", "B")


def test_no_mark_is_shortened_in_narrow_ways() -> None:
    """Nine ways in a row and numbers of three figures: the mark stands whole, with the way's number where it fits."""
    pair = _pair(content_of("creek-workboat"), content_of("large"))
    sheets, num_drawings = comparison_sheets(pair)
    marks = {mark.text for side in (0, 1) for mark in marks_of(pair, side, 1).values()}
    written = [text for sheet in sheets[:num_drawings] for text in sheet.texts if text.wanted.split()[-1:] != []]
    tags = [text for text in written if text.wanted.split()[-1] in marks]
    assert len(tags) >= len(marks) > 100
    assert [text.wanted for text in tags if text.fitted.shortened] == []
