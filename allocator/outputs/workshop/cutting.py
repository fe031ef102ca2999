"""
What to cut: bus strips with the places of their pieces, and wires by size and colour, the longest first.

Comes in as the Content of a plan; goes out as Tables.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.order import look_order
from allocator.outputs.strips import CutStrip, StripPlan
from allocator.outputs.tables import Table
from allocator.outputs.workshop.cavities import place_text
from allocator.plan.wiring import Run, WireEnd, is_spliced
from allocator.units import MM_PER_M

TO_MEASURE = "measure"


def strips_table(content: Content) -> Table:
    """Return every length of strip that is cut into, with its pieces and what is left of it."""
    columns = ("strip", "from", "pieces, in ways", "go to", "left", "proven")
    rows = []
    for plan in content.strip_plans:
        for number, item in enumerate(plan.cuts, 1):
            proof = plan.proof.removeprefix("proven: ") if number == 1 else ""
            rows.append((*_strip_cells(content, plan, item, number), proof))
    return Table("Bus strips to cut", columns, tuple(rows))


def _strip_cells(content: Content, plan: StripPlan, item: CutStrip, number: int) -> tuple[str, ...]:
    source = "offcut" if item.is_offcut else "length"
    left = (
        f"{item.leftover} ways, {'keep' if item.leftover >= plan.usable else 'scrap'}" if item.leftover else "nothing"
    )
    return (
        f"{number}. {legible(plan.strip.label)}",
        f"{source} of {item.ways} ways",
        " + ".join(str(len(piece.ways)) for piece in item.pieces),
        ", ".join(place_text(content, piece.piece.at) for piece in item.pieces),
        left,
    )


def runs_to_cut(content: Content) -> list[Run]:
    """Return every wire by size, colour and length, the longest first; those to be measured are the last of each."""
    areas = {wire.id: (wire.area, wire.id) for wire in content.sized.requirements.catalogue.wires}
    places = {run.number: place for place, run in enumerate(content.runs)}
    return sorted(
        content.runs,
        key=lambda run: (
            areas[run.wire],
            look_order(content.look_by_run[run.number]),
            -(content.cut_mm_by_run[run.number] or 0),
            places[run.number],
        ),
    )


def wire_cuts_table(content: Content) -> Table:
    """Return every wire to cut, by size and colour, the longest first."""
    columns = ("wire", "size", "colour", "cut to", "strip and crimp at", "and at", "in-line fuse", "for")
    rows = tuple(tuple(_cut_cells(content, run)) for run in runs_to_cut(content))
    return Table("Wires to cut", columns, rows, right=("cut to",))


def wire_kinds_table(content: Content) -> Table:
    """Return how much there is to cut of every size and colour."""
    columns = ("size", "colour", "in words", "wires", "metres", "to measure")
    kinds: dict[tuple[str, str], list[Run]] = {}
    for run in runs_to_cut(content):
        kinds.setdefault((run.wire, content.look_by_run[run.number].code), []).append(run)
    rows = []
    for (wire, code), runs in kinds.items():
        cuts = [content.cut_mm_by_run[run.number] for run in runs]
        metres, to_measure = sum(cut or 0 for cut in cuts) / MM_PER_M, cuts.count(None)
        words = content.look_by_run[runs[0].number].words
        rows.append(
            (
                content.area_text(wire),
                code,
                words,
                str(len(runs)),
                f"{metres:.2f}",
                str(to_measure) if to_measure else "",
            )
        )
    return Table("Wire by size and colour", columns, tuple(rows), right=columns[3:])


def _cut_cells(content: Content, run: Run) -> Iterator[str]:
    cut_mm = content.cut_mm_by_run[run.number]
    need = content.sized.need_by_id.get(run.need)
    yield run.number
    yield content.area_text(run.wire)
    yield content.look_by_run[run.number].code
    yield TO_MEASURE if cut_mm is None else f"{cut_mm / MM_PER_M:.3f} m"
    for end in (run.start, run.end):
        yield _end_text(content, run, end)
    yield content.inline_text(run)
    yield content.label(need) if need else f"feed {content.marks[run.feed].code}"


def _end_text(content: Content, run: Run, end: WireEnd) -> str:
    letter = "splice" if is_spliced(end) else content.letter_by_terminal.get(end.terminal, "–")
    return f"{letter}  {content.end_name(end, run.feed)}"
