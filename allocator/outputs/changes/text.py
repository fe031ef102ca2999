"""
The change sheet of a revision as text, for the terminal and for changes.txt.

Comes in as a ``ChangeSheet``; goes out as lines within the width of a terminal.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from allocator.outputs.cautions import CAUTIONS, cautions_of
from allocator.outputs.changes.needs import NOTE, TITLE, need_rows
from allocator.outputs.changes.words import HEADINGS, ISOLATE, ORDER, PHASE_NAMES, ChangeSheet
from allocator.outputs.fonts import clean
from allocator.outputs.summary import WIDTH, caution_lines, columns
from allocator.plan.change_step import COUNTED, Phase, Step


def changes_text(sheet: ChangeSheet, *, brief: bool = False) -> str:
    """
    Return the change sheet as text.

    Parameters
    ----------
    brief
        Without the cautions that sizing raises, as the terminal shows it.
    """
    blocks = [_head(sheet), _compared(sheet), _counts(sheet), _needs(sheet), _steps(sheet)]
    blocks.append(caution_lines(CAUTIONS if brief else cautions_of(sheet.plan)))
    return "\n\n".join(filter(None, map("\n".join, blocks))) + "\n"


def _head(sheet: ChangeSheet) -> Iterator[str]:
    vehicle = clean(sheet.sized.requirements.scenario.vehicle.name)
    yield f"{vehicle}: changes to the panel as built, {sheet.content.issue_text}"
    if sheet.changes.names.pairs:
        renamed = ", ".join(f"{old} is now {new}" for old, new in sheet.changes.names.pairs)
        yield from textwrap.wrap(f"Matched by name; renamed: {renamed}.", WIDTH)
    yield "Changed as little as possible, in this order"
    yield from columns(sheet.change_rows(), right=(1,))


def _compared(sheet: ChangeSheet) -> Iterator[str]:
    yield "The panel as built, as revised, and planned afresh"
    yield from columns([("goal", "as built", "revised", "afresh"), *sheet.goal_rows()], right=(1, 2, 3))
    yield from textwrap.wrap(sheet.fresh_text(), WIDTH, initial_indent="  ", subsequent_indent="  ")


def count_rows(sheet: ChangeSheet) -> list[tuple[str, str]]:
    """Return how many things of each kind are removed, moved, changed, added."""
    counts = sheet.changes.counts
    rows = []
    for doing in COUNTED:
        kinds = [
            f"{number} {kind}{'s' if number > 1 else ''}" for (what, kind), number in counts.items() if what == doing
        ]
        if kinds:
            rows.append((HEADINGS[doing], ", ".join(kinds)))
    return rows


def _counts(sheet: ChangeSheet) -> Iterator[str]:
    rows = count_rows(sheet)
    yield "In all" if rows else "Nothing is to be done: the panel as built does."
    for heading, kinds in rows:
        yield from textwrap.wrap(f"{heading}: {kinds}", WIDTH, initial_indent="  ", subsequent_indent="    ")


def _needs(sheet: ChangeSheet) -> Iterator[str]:
    rows = need_rows(sheet)
    if not rows:
        return
    yield TITLE
    for do, what in rows:
        head = f"  {do:<5}  "
        yield from textwrap.wrap(
            what, WIDTH, initial_indent=head, subsequent_indent=" " * len(head), break_on_hyphens=False
        )
    yield from textwrap.wrap(NOTE, WIDTH, initial_indent="  ", subsequent_indent="  ")


def _steps(sheet: ChangeSheet) -> Iterator[str]:
    if not sheet.numbered:
        return
    yield from textwrap.wrap(f"Steps in building order. {ISOLATE} {ORDER}", WIDTH)
    before: Phase | None = None
    for number, step in sheet.numbered:
        if step.phase != before:
            yield f"  {PHASE_NAMES[step.phase]}"
            before = step.phase
        head = f"  {number:>4}  [ ] "
        yield from textwrap.wrap(
            clean(f"{_verb(step)}{sheet.sentence(step)}"), WIDTH, initial_indent=head, subsequent_indent=" " * len(head)
        )


def _verb(step: Step) -> str:
    return "" if step.doing == "relabel" else f"{HEADINGS[step.doing].lower()} "
