"""
The plans that none beats as a table: for the terminal, as CSV, and as data.

Comes in as a front; goes out as text. Plans are numbered from 1 in its order; number 1 is the chosen plan.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from allocator.outputs.cautions import CAUTIONS, cautions_of
from allocator.outputs.goals import goal_name, value_text
from allocator.outputs.records import Records, columns_of, records_csv
from allocator.outputs.summary import WIDTH, caution_lines, columns
from allocator.outputs.tradeoffs.words import alone_words, caps_text, chosen_words, difference, proof_lines
from allocator.requirements.scenario import Goal
from allocator.requirements.shown_goals import SHOWN
from allocator.tradeoffs import Front, Member

PLAN_NAME = "plan-{}.json"
_ALSO: tuple[Goal, ...] = ("peak-utilisation", "long-jumpers", "price")
"""Goals worth seeing of every plan, compared or not."""


def front_text(front: Front) -> str:
    """Return table, steps in words, proof and general cautions, with a newline at the end."""
    notice = front.members[0].plan.requirements.catalogue.notice
    lines = [*_table(front), "", *_steps(front), "", *_proof(front), "", *caution_lines((notice, *CAUTIONS))]
    return "\n".join(lines) + "\n"


def _currency(front: Front) -> str:
    return front.members[0].plan.requirements.catalogue.currency


def _shown(front: Front) -> tuple[Goal, ...]:
    return tuple(dict.fromkeys((*(axis.goal for axis in front.axes), *_ALSO)))


def _table(front: Front) -> Iterator[str]:
    currency = _currency(front)
    compared = [axis.goal for axis in front.axes]
    yield f"Plans that no other one beats in {', '.join(goal_name(goal) for goal in compared)}"
    shown = _shown(front)
    heads = ("plan", *(goal_name(goal) + ("" if goal in compared else " *") for goal in shown), "")
    rows = [heads]
    for number, member in enumerate(front.members, 1):
        cells = (value_text(goal, member.values[goal], currency) for goal in shown)
        rows.append((str(number), *cells, chosen_words(front) if number == 1 else ""))
    yield from columns(rows, right=range(1, len(shown) + 1))
    if len(shown) > len(compared):
        yield "  * not compared: it may be better in another plan with the same figures"
    for axis in front.axes:
        if axis.step != 1:
            step = value_text(axis.goal, axis.step, currency)
            yield f"  {goal_name(axis.goal)}: compared in steps of {step}"


def _steps(front: Front) -> Iterator[str]:
    currency = _currency(front)
    if len(front.members) == 1:
        yield alone_words(front)
        return
    yield "What each buys against the chosen plan, and what it costs"
    for number, member in enumerate(front.members[1:], 2):
        sentence = difference(front.axes, front.members[0], member, currency).sentence
        yield from textwrap.wrap(f"plan {number}: {sentence}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    if len(front.members) > 2:
        yield "From each to the next"
        for number, (one, other) in enumerate(zip(front.members[1:], front.members[2:], strict=False), 2):
            sentence = difference(front.axes, one, other, currency).sentence
            line = f"plan {number} to {number + 1}: {sentence}"
            yield from textwrap.wrap(line, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _proof(front: Front) -> Iterator[str]:
    for line in proof_lines(front, _currency(front)):
        yield from textwrap.wrap(
            line, WIDTH, initial_indent=line[: len(line) - len(line.lstrip())], subsequent_indent="    "
        )


def front_csv(front: Front) -> str:
    """Return tradeoffs.csv: a row for each plan; money, %, cm2, m and kg as on paper, steps beside them."""
    compared = [axis.goal for axis in front.axes]
    goals = list(front.members[0].values)
    names = (
        "plan",
        "file",
        *(SHOWN[goal].column for goal in goals),
        *(f"steps_{SHOWN[goal].column}" for goal in compared),
        "against_plan_1",
    )
    rows = tuple(
        (
            number,
            PLAN_NAME.format(number),
            *(_figure(goal, member) for goal in goals),
            *_shown_steps(front, member.steps),
            "" if number == 1 else difference(front.axes, front.members[0], member, _currency(front)).sentence,
        )
        for number, member in enumerate(front.members, 1)
    )
    remarks = (*proof_lines(front, _currency(front)), *cautions_of(front.members[0].plan))
    return records_csv(Records("tradeoffs", columns_of(*names), rows), remarks)


def _figure(goal: Goal, member: Member) -> Fraction:
    return member.values[goal] * SHOWN[goal].factor


def _shown_steps(front: Front, steps: Sequence[int | None]) -> list[int | None]:
    return [None if step is None else axis.shown(step) for axis, step in zip(front.axes, steps, strict=True)]


def front_data(front: Front, out: Path) -> dict[str, Any]:
    """Return the front as data; exact numbers as text, in the goals' own units (docs/definitions.md)."""
    currency = _currency(front)
    return {
        "goals": [
            {
                "goal": axis.goal,
                "step": str(axis.step),
                "most": None if axis.most is None else str(axis.value(axis.most)),
            }
            for axis in front.axes
        ],
        "complete": front.is_complete,
        "plans": [
            {
                "plan": number,
                "file": str(out / PLAN_NAME.format(number)),
                "chosen": number == 1,
                "values": {goal: str(value) for goal, value in member.values.items()},
                "steps": _shown_steps(front, member.steps),
                "gains": list(difference(front.axes, front.members[0], member, currency).gains),
                "costs": list(difference(front.axes, front.members[0], member, currency).costs),
            }
            for number, member in enumerate(front.members, 1)
        ],
        "cells": [
            {
                "caps": _shown_steps(front, cell.caps),
                "text": caps_text(front.axes, cell, currency),
                "closed_by": cell.closed_by,
                "bound": cell.bound,
            }
            for cell in front.cells
        ],
        "cautions": list(cautions_of(front.members[0].plan)),
    }
