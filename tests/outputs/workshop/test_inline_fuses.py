"""
Every in-line fuse that is ordered has one wire, one place in the building steps, one row of the tests, and its marks.

What is ordered is read from parts.csv less what the plan has in its ways and as main fuses, so that a fuse which no
paper places is noticed.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from functools import cache

import pytest

from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.layout import layout_sheets
from allocator.outputs.lists import parts_csv, wires_csv
from allocator.outputs.schedule import places_table, wires_table
from allocator.outputs.workshop.cavities import cavities_table
from allocator.outputs.workshop.cutting import wire_cuts_table
from allocator.outputs.workshop.expectations import expectations_csv
from allocator.outputs.workshop.labels import label_sheets
from allocator.outputs.workshop.steps import Step, steps
from allocator.plan.built import built_from
from allocator.plan.change_list import change_list
from allocator.requirements.scenario import Circuit, Requirements
from allocator.sizing import size
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.packer import Packer
from tests.outputs.samples import SMALL, requirements_of

NAMES = ["coils", "small", "large", *BUNDLED]
NOTE = re.compile(r"(fuse-\S+) in (holder-\S+) at ")


@cache
def made(name: str) -> Content:
    """Return a sample, or one in which a coil hangs on a way of 30 A and another on a control with 20 A and more."""
    if name != "coils":
        return content_of(name)
    sized = size(_with_strong_ways(requirements_of(SMALL)))
    return Content(sized, Packer(sized, SMALL).plan())


def _with_strong_ways(requirements: Requirements) -> Requirements:
    relay = {"switching": "relay", "relay_class": "standard"}
    strong = {
        "circuit-01": {"load": "20 A"},
        "circuit-03": {"load": "18 A", **relay},
        "circuit-05": {"load": "2 A", "control": "circuit-01", **relay},
    }
    circuits = tuple(
        Circuit.model_validate(
            {
                "id": item.id, "order": item.order, "label": item.label, "load_type": "resistive",
                "feeds": list(item.feeds), "length": {"": "3 m"}, "fuse_format": "C", **strong[item.id],
            }
        )
        if item.id in strong
        else item
        for item in requirements.circuits
    )  # fmt: skip
    return requirements.model_copy(update={"circuits": circuits})


def rows_of(text: str) -> list[dict[str, str]]:
    rows = list(csv.reader(io.StringIO(text)))
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:] if row[0] != "#"]


def ordered(content: Content, prefix: str) -> Counter[str]:
    rows = rows_of(parts_csv(content))
    return Counter({row["part"]: int(row["needed"]) for row in rows if row["part"].startswith(prefix)})


def held_in_line(content: Content) -> Counter[str]:
    """Fuses of parts.csv that are neither in a way nor a main fuse."""
    in_ways = Counter(way.fuse for way in content.plan.ways if way.fuse is not None)
    mains = [feed.main.fuse for name, feed in content.sized.feeds.items() if feed.main and _enters(content, name)]
    return ordered(content, "fuse-") - in_ways - Counter(mains)


def _enters(content: Content, feed: str) -> bool:
    return any(piece.feed == feed for piece in content.plan.pieces)


def fused_wires(content: Content) -> dict[str, tuple[str, str]]:
    """Fuse and holder by the number of the wire whose note in wires.csv names them."""
    found = {}
    for row in rows_of(wires_csv(content)):
        named = NOTE.findall(row["note"])
        assert len(named) <= 1
        if named:
            found[row["number"]] = named[0]
    return found


def numbers_in(text: str) -> list[str]:
    return re.findall(r"\b[TWC]\d+\b", text)


def done(content: Content, action: str) -> list[Step]:
    return [step for step in steps(content) if step.action == action]


def test_the_sample_has_a_coil_on_its_own_way_and_one_on_a_control_behind_in_line_fuses() -> None:
    """Without both the tests below would hold less than they say."""
    content = made("coils")
    ends = {run.end.place for run in content.inline_runs if run.role == "wire"}
    assert ends == {str(content.index.need_by_id["circuit-03"].way), "switched side of circuit-01"}


@pytest.mark.parametrize("name", NAMES)
def test_every_fuse_and_holder_that_is_ordered_stands_in_one_wire(name: str) -> None:
    content = made(name)
    fused = fused_wires(content).values()
    assert Counter(fuse for fuse, _ in fused) == held_in_line(content)
    assert Counter(holder for _, holder in fused) == ordered(content, "holder-")


@pytest.mark.parametrize("name", NAMES)
def test_every_in_line_fuse_has_a_building_step_for_its_holder_and_one_for_itself(name: str) -> None:
    content = made(name)
    fused = fused_wires(content)
    for action, column in (("fit in-line holders", 1), ("plug in in-line fuses", 0)):
        found = done(content, action)
        assert Counter(number for step in found for number in numbers_in(step.detail)) == Counter(list(fused))
        for step in found:
            assert step.count == len(numbers_in(step.detail))
            labels = {part.id: part.label for part in content.sized.requirements.catalogue.fuses}
            for number in numbers_in(step.detail):
                wanted = fused[number][1] if column else labels[fused[number][0]]
                assert step.detail.startswith(wanted)
    rest = ("plug in fuses", "plug in the main fuse, test the feed")
    others = sum(step.count for action in rest for step in done(content, action))
    assert others + len(fused) == sum(ordered(content, "fuse-").values())


@pytest.mark.parametrize("name", NAMES)
def test_every_in_line_fuse_has_a_row_of_the_tests_with_its_rating(name: str) -> None:
    content = made(name)
    rating = {part.id: part.rating for part in content.sized.requirements.catalogue.fuses}
    rows = [row for row in rows_of(expectations_csv(content)) if row["kind"] in ("entry", "coil") and row["fuse"]]
    wires = {row["number"]: row for row in rows_of(wires_csv(content))}
    for number, (fuse, _) in fused_wires(content).items():
        end = wires[number]["to_place"] if number.startswith("T") else wires[number]["from_place"]
        told = [row for row in rows if number in numbers_in(row["continuity"] + row["label"])]
        assert [(row["place"], row["fuse"], float(row["fuse_a"])) for row in told] == [(end, fuse, rating[fuse])]
    assert len(rows) == len(fused_wires(content))


@pytest.mark.parametrize("name", NAMES)
def test_across_a_holder_nothing_is_to_conduct(name: str) -> None:
    """With its fuse out a wire conducts from either end to the holder only; any other from end to end."""
    content = made(name)
    fused = fused_wires(content)
    points = [point for row in rows_of(expectations_csv(content)) for point in row["continuity"].split("; ")]
    told = {number[1]: point for point in points if (number := re.match(r"(\w+): ", point))}
    for number, point in told.items():
        parts = point.removeprefix(f"{number}: ").split(", in-line holder – ")
        assert len(parts) == 1 + (number in fused)
        assert parts[0].endswith(" – in-line holder") == (number in fused)


@pytest.mark.parametrize("name", ["coils", "small", "large"])
def test_tables_and_drawings_say_the_rating_at_the_wire(name: str) -> None:
    content = made(name)
    rating = {part.id: f"{part.rating:g} A {part.fuse_format}" for part in content.sized.requirements.catalogue.fuses}
    wanted = {number: rating[fuse] for number, (fuse, _) in fused_wires(content).items()}
    for table in (wires_table(content), wire_cuts_table(content)):
        place = table.columns.index("in-line fuse")
        said = {row[0]: row[place].replace(NO_BREAK, " ") for row in table.rows}
        assert {number: text for number, text in said.items() if text} == wanted
    behind = [" ".join(row).replace(NO_BREAK, " ") for row in cavities_table(content).rows]
    for number, text in wanted.items():
        named = [row for row in behind if number in numbers_in(row)]
        assert named and all(f"in-line fuse {text}" in row for row in named)
    coils = [row[-2].replace(NO_BREAK, " ") for row in places_table(content).rows if "in line" in row[-2]]
    assert len(coils) == sum(number.startswith("W") for number in wanted)


@pytest.mark.parametrize("name", ["coils", "beach-tractor", "creek-workboat"])
def test_the_fuse_on_a_label_is_there_whole(name: str) -> None:
    """Rating and type: of the widest, a bolted strip in a feed tail, half of the type was cut off."""
    texts = [text for sheet in label_sheets(made(name)) for text in sheet.texts]
    fused = [text for text in texts if " in line" in text.wanted]
    assert fused and not [text.wanted for text in fused if text.fitted.shortened]


@pytest.mark.parametrize("name", ["coils", "large"])
def test_fronts_wiring_sides_and_labels_say_it_too(name: str) -> None:
    """At the entry of a tail and at 86 of a relay, on both faces; and on the labels of both ends."""
    content = made(name)
    texts = [text.wanted.replace(NO_BREAK, " ") for sheet in layout_sheets(content) for text in sheet.texts]
    labels = [text.wanted.replace(NO_BREAK, " ") for sheet in label_sheets(content) for text in sheet.texts]
    rating = {part.id: f"{part.rating:g} A {part.fuse_format}" for part in content.sized.requirements.catalogue.fuses}
    fused, runs = fused_wires(content), {run.number: run for run in content.runs}
    fronts = Counter(content.marks[runs[number].feed].code for number in fused if number.startswith("T"))
    for code, count in fronts.items():
        assert sum(bool(re.match(rf"{code}\b.* \d+ A( E| E in its tail)?$", text)) for text in texts) == count
    coils = sum(number.startswith("W") for number in fused)
    assert sum(bool(re.match(r"86: 1 A C in line, ", text)) for text in texts) == coils
    for number, (fuse, _) in fused.items():
        assert any(re.match(rf"{number}\b.*\b{rating[fuse]}\b", text) for text in texts)
    said = Counter(re.findall(r", (.+) in line", "\n".join(labels)))
    once = Counter(rating[fuse] for fuse, _ in fused.values())
    assert said == once + once


def test_a_revision_adds_and_removes_the_fuse_of_a_lead_with_its_holder() -> None:
    """The relay of circuit-05 gets a control with a large fuse, and that of circuit-03 a large fuse of its own."""
    plain, strong = made("small").index, made("coils").index
    for old, new, doing in ((plain, strong, "add"), (strong, plain, "remove"), (strong, strong, "")):
        found = [step for step in change_list(built_from(old), old, new).steps if step.kind.startswith("coil ")]
        inline = Counter((step.need, step.kind, step.part) for step in found if step.doing in ("add", "remove"))
        of_fuse = {key: n for key, n in inline.items() if key[1] in ("coil fuse", "coil holder")}
        needs = ("circuit-03", "circuit-05") if doing else ()
        kinds = (("coil fuse", "fuse-c-1"), ("coil holder", "holder-c"))
        assert of_fuse == {(need, kind, part): 1 for need in needs for kind, part in kinds}
        assert {step.doing for step in found if step.kind in dict(kinds)} == ({doing} if doing else set())
