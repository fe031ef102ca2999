"""The count of crimps on paper: each kind with its sizes, and what brings the supply to the ways."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter

import pytest

from allocator.outputs.crimps import crimp_lines, crimps_csv, crimps_data, supply_sides
from allocator.outputs.summary import summary_text
from allocator.plan.parts import bill_of_index
from tests.outputs.conftest import content_of

SAMPLES = ("small", "large", "wide", "creek-workboat")


@pytest.mark.parametrize("sample", SAMPLES)
def test_summary_list_and_data_count_the_terminals_of_the_bill(sample: str) -> None:
    content = content_of(sample)
    terminals = {item.id for item in content.sized.requirements.catalogue.terminals}
    num_billed = sum(n for part, n in bill_of_index(content.index).parts.items() if part in terminals)
    rows = [row for row in csv.DictReader(io.StringIO(crimps_csv(content))) if row["terminal"] != "#"]
    assert sum(int(row["crimps"]) for row in rows) == num_billed
    assert sum(line["count"] for line in crimps_data(content)["crimps"]) == num_billed
    summary = summary_text(content)
    assert f"\nCrimps: {num_billed}, by terminal and size of wire\n" in summary
    on_sizes = re.findall(r"(\d+) x [\d./]+ (?:mm²|AWG)", " ".join(summary.split()))
    assert sum(map(int, on_sizes)) == num_billed


@pytest.mark.parametrize("sample", SAMPLES)
def test_each_line_says_which_terminal_goes_on_which_wire(sample: str) -> None:
    content = content_of(sample)
    catalogue = content.sized.requirements.catalogue
    parts, areas = {item.id: item for item in catalogue.terminals}, {wire.id: wire.area for wire in catalogue.wires}
    ends = Counter((end.terminal, run.wire) for run in content.runs for end in (run.start, run.end) if end.terminal)
    for line in crimp_lines(content):
        part = parts[line.terminal]
        assert (line.kind, line.limit_a) == (part.kind, part.limit)
        assert line.fits == (part.stud if part.kind == "ring" else f"{part.tab:g} mm")
        assert line.areas_mm2 == tuple(areas[wire] for wire in line.wires)
        assert all(ends[line.terminal, wire] for wire in line.wires)
    kinds = [line.kind for line in crimp_lines(content)]
    assert kinds == sorted(kinds, key=["tab", "inlet", "ring"].index)


@pytest.mark.parametrize("sample", SAMPLES)
def test_strips_against_single_terminals(sample: str) -> None:
    """Counted again from the pieces of the plan: a span of ways, a single way, a stud."""
    content = content_of(sample)
    used = {way.at for way in content.plan.ways}
    spans = [piece.at for piece in content.plan.pieces if piece.kind == "strip"]
    bridged = sum(int(last) - int(first) + 1 for first, last in (span.rsplit("/", 1)[1].split("-") for span in spans))
    single = sum(piece.kind == "single" and piece.at in used for piece in content.plan.pieces)
    sides = supply_sides(content)
    assert (sides.bridged, sides.strip_inlets, sides.single) == (bridged, len(spans), single)
    assert sides.bridged + sides.single + sides.on_bus == len(content.plan.ways)
    assert f"{bridged} bridged by {len(spans)} strip pieces" in summary_text(content)
