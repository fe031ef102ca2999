"""
The terminal summary of a plan: goals with their proof, panels, spare ways, feeds with their peaks, cautions.

Comes in as the content of a plan; goes out as plain text.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence

from allocator.address import ROW_LETTERS, Place
from allocator.explaining.accounts.account import counted
from allocator.outputs.accounts import account_lines
from allocator.outputs.cautions import cautions_in_brief, cautions_of
from allocator.outputs.content import Content
from allocator.outputs.crimps import crimps_text, sides_text
from allocator.outputs.fonts import clean
from allocator.outputs.goals import (
    CHANGE_NAMES,
    change_proof_text,
    goal_name,
    goals_heading,
    proof_text,
    value_text,
)
from allocator.outputs.schedule import NOTED
from allocator.outputs.why import why_lines
from allocator.plan.heat import heat_of_modules
from allocator.plan.measures import feed_loads
from allocator.requirements.scenario import Goal
from allocator.units import from_model

WIDTH = 100


def summary_text(content: Content, *, brief: bool = False, seconds_by_goal: Mapping[Goal, float] | None = None) -> str:
    """
    Return the summary of a plan.

    Parameters
    ----------
    content
        The plan, with all that is known of it.
    brief
        One sentence for each kind of caution, as the terminal shows it; else each in full, as ``summary.txt`` has it.
    seconds_by_goal
        What each goal took, for the terminal only: equal plans have equal summaries.

    Returns
    -------
    str
        Lines of at most 100 columns where the words allow it, with a newline at the end.
    """
    blocks = [
        _head(content),
        _goals(content, seconds_by_goal or {}),
        () if brief else account_lines(content),
        _panels(content),
        _spares(content),
        _feeds(content),
        _crimps(content),
        () if content.plan.why is None else why_lines(content.plan.why),
        _notes(content),
    ]
    blocks.append(_brief_cautions(content) if brief else caution_lines(cautions_of(content.plan)))
    return "\n\n".join(filter(None, map("\n".join, blocks))) + "\n"


def _head(content: Content) -> Iterator[str]:
    scenario = content.sized.requirements.scenario
    num_spares = sum(item.need.kind == "spare" for item in content.index.needs)
    yield f"{clean(scenario.vehicle.name)}: {content.issue_text}"
    if content.supersedes_text:
        yield content.supersedes_text
    spares = f", {counted(num_spares, 'spare way')}" if num_spares else ""
    yield f"{len(content.sized.requirements.circuits)} circuits, {len(scenario.feeds)} feeds{spares}"


def _goals(content: Content, seconds: Mapping[Goal, float]) -> Iterator[str]:
    currency = content.sized.requirements.catalogue.currency
    if content.plan.changes:
        yield "Changes to the panel as built, as few as possible in this order"
        yield from columns(
            [(CHANGE_NAMES[item.change], str(item.value), change_proof_text(item)) for item in content.plan.changes],
            right=(1,),
        )
    yield goals_heading(content.plan)
    yield from columns(
        [
            (
                goal_name(result.goal),
                value_text(result.goal, result.value, currency),
                proof_text(result, currency),
                *([f"{seconds.get(result.goal, 0.0):.1f} s"] if seconds else []),
            )
            for result in content.plan.goals
        ],
        right=(1, 3) if seconds else (1,),
    )
    if content.plan.depends_on_time:
        yield "  Time or an interrupt cut the search short: another run may end elsewhere."


def _panels(content: Content) -> Iterator[str]:
    index = content.index
    yield "Panels"
    for panel in index.panels:
        carriers = [clean(item.carrier.label) for item in index.carriers if item.panel == panel]
        if not carriers:
            yield f"  {clean(panel)}: not used"
            continue
        yield f"  {clean(panel)}: {', '.join(carriers)}"
        rows = []
        for item, hottest in zip(index.modules, _hottest(content), strict=True):
            if item.panel == panel:
                ways = sum(row.ways for row in item.module.rows)
                used = sum((place.panel, place.bay) == (panel, item.bay) for place in index.way_by_place)
                relays = sum((place.panel, place.bay) == (panel, item.bay) for place in index.socket_by_place)
                holds = [f"{used} of {ways} ways"] if ways else []
                holds += [f"{relays} of {len(item.sockets)} sockets"] if item.sockets else []
                rows.append((f"  bay {item.bay}", clean(item.module.label), ", ".join(holds), hottest))
        yield from columns(rows)


def _hottest(content: Content) -> Iterator[str]:
    """Yield what fuses and coils of each module turn into heat in its hottest load case."""
    cases = content.sized.requirements.scenario.load_cases
    for module in heat_of_modules(content.index):
        most = max(module.milliwatts_by_case)
        case = cases[module.milliwatts_by_case.index(most)].name
        yield f"heat up to {most / 1000:.1f} W in {clean(case)}" if most else ""


def _spares(content: Content) -> Iterator[str]:
    spares = [item for item in content.index.needs if item.need.kind == "spare" and item.way is not None]
    if not spares:
        return
    yield "Spare ways: fed, no fuse fitted"
    rows = []
    for item in sorted(spares, key=lambda spare: (content.index.panels.index(spare.panel), *_numbers(spare.way))):
        bay, row, way = _numbers(item.way)
        kept_a = from_model(max(item.need.load_ma_by_case))
        kept = f"{kept_a:.2f} A kept free" if kept_a else ""
        where = f"bay {bay}", f"row {ROW_LETTERS[row]}", f"way {way}", f"type {item.option.fuse_format}"
        rows.append((clean(item.panel), *where, f"on {clean(item.feed)}", kept))
    yield from columns(rows)


def _numbers(way: Place | None) -> tuple[int, int, int]:
    return (way.bay or 0, way.row or 0, way.first or 0) if way is not None else (0, 0, 0)


def _feeds(content: Content) -> Iterator[str]:
    cases = content.sized.requirements.scenario.load_cases
    yield "Feeds: largest load over all load cases"
    rows = [("feed", "entries", "load", "allowed", "share", "in case")]
    for load in feed_loads(content.index):
        peak = max(load.load_ma_by_case)
        case = clean(cases[load.load_ma_by_case.index(peak)].name) if peak else "–"
        rows.append(
            (
                clean(load.feed),
                str(sum(entry.piece.feed == load.feed for entry in content.index.entries)),
                f"{from_model(peak):.2f} A",
                f"{from_model(load.allowed_ma):.2f} A",
                value_text("peak-utilisation", max(load.utilisation_by_case), ""),
                case,
            )
        )
    yield from columns(rows, right=(1, 2, 3, 4))


def _crimps(content: Content) -> Iterator[str]:
    rows = list(crimps_text(content))
    yield f"Crimps: {sum(int(number) for _, number, _ in rows)}, by terminal and size of wire"
    heads = list(columns([row[:2] for row in rows], right=(1,)))
    for head, (*_, on) in zip(heads, rows, strict=True):
        indent = " " * (len(head) + 2)
        yield from textwrap.wrap(on, WIDTH, initial_indent=f"{head}: ", subsequent_indent=indent)
    yield f"  {sides_text(content)}"


def _notes(content: Content) -> Iterator[str]:
    if content.plan.notes:
        yield "Done at the vehicle after building"
        yield from columns(
            [
                (note.day, clean(note.by), clean(note.circuit), NOTED[note.what], clean(note.value), clean(note.remark))
                for note in content.plan.notes
            ]
        )


def _brief_cautions(content: Content) -> Iterator[str]:
    lines = caution_lines(cautions_in_brief(content.index))
    yield f"{next(lines)}, in brief; read them in full in summary.txt or on the sheets"
    yield from lines


def caution_lines(cautions: Iterable[str]) -> Iterator[str]:
    """Return a heading and cautions under it; names with hyphens stay whole."""
    yield "Cautions"
    for caution in cautions:
        yield from textwrap.wrap(
            clean(caution), WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False
        )


def columns(rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> Iterator[str]:
    """
    Align cells under each other, two blanks before every line and between columns.

    Parameters
    ----------
    rows
        Cells, shape (n_rows, n_columns).
    right
        Numbers of the columns that are aligned on the right.
    """
    widths = [max((len(row[column]) for row in rows), default=0) for column in range(len(rows[0]) if rows else 0)]
    for row in rows:
        cells = [
            cell.rjust(width) if column in right else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield ("  " + "  ".join(cells)).rstrip()
