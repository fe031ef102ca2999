"""
What one plan gains and gives up against another, and how the set of plans is proven, in words.

Comes in as a front; goes out as sentences for terminal, list and JSON.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from allocator.outputs.goals import count_text, goal_name, value_text
from allocator.requirements.amounts import MORE_IS_BETTER, is_count
from allocator.tradeoffs import Axis, Cell, Front, Member


@dataclass(frozen=True)
class Difference:
    """From one plan to another: what is gained and what it costs, each such as "2 bays less" or "12.30 EUR more"."""

    gains: tuple[str, ...]
    costs: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Both as one sentence."""
        return f"{_listed(self.gains)}, for {_listed(self.costs)}"


def difference(axes: Sequence[Axis], one: Member, other: Member, currency: str) -> Difference:
    """Compare two plans goal by goal; what differs by less than a step counts as equal."""
    gains: list[str] = []
    costs: list[str] = []
    for number, axis in enumerate(axes):
        apart = other.steps[number] - one.steps[number]
        if apart:
            value = abs(other.values[axis.goal] - one.values[axis.goal])
            amount = value_text(axis.goal, value, currency)
            if is_count(axis.goal):
                words = count_text(axis.goal, int(value))
            elif axis.goal == "price":
                words = amount
            else:
                words = f"{amount.replace(' %', ' points')} of {goal_name(axis.goal)}"
            is_less = other.values[axis.goal] < one.values[axis.goal]
            (gains if apart < 0 else costs).append(f"{words} {'less' if is_less else 'more'}")
    return Difference(tuple(gains), tuple(costs))


def _listed(parts: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(parts[:-1]), *parts[-1:]))) or "nothing"


def caps_text(axes: Sequence[Axis], cell: Cell, currency: str) -> str:
    """Say the caps of a cell: "at most 11 bays and price of parts 97.00 EUR, with at least 6 spare ways"."""
    most: list[str] = []
    least: list[str] = []
    for axis, cap in zip(axes, cell.caps, strict=True):
        if cap is None or not _limits(axis, cap):
            continue
        value = axis.value(cap)
        named = f"{goal_name(axis.goal)} {value_text(axis.goal, value, currency)}"
        words = count_text(axis.goal, int(value)) if is_count(axis.goal) else named
        (least if axis.goal in MORE_IS_BETTER else most).append(words)
    said = [f"at most {_listed(most)}"] if most else []
    said += [f"at least {_listed(least)}"] if least else []
    return ", with ".join(said) or "anywhere"


def _limits(axis: Axis, cap: int) -> bool:
    """Whether a cap leaves anything out: no plan has less than nothing."""
    return axis.goal not in MORE_IS_BETTER or axis.value(cap) > 0


def chosen_words(front: Front) -> str:
    """Say what plan 1 is best in: only in the goals compared, and only of what was found where cells are open."""
    found = "best" if front.is_complete else "best found"
    return f"the chosen plan: {found} in your order of these goals"


def alone_words(front: Front) -> str:
    """Say of a front of one plan whether there is nothing to trade, or only nothing that was found."""
    if not front.is_complete:
        in_time = " in the time" if any(cell.closed_by == "cut by time" for cell in front.cells) else ""
        return f"No other plan was found{in_time}; what was not closed may hold one."
    if any(axis.most is not None and _limits(axis, axis.most) for axis in front.axes):
        return "One plan is best in all of them at once within the range: there is nothing to trade there."
    return "One plan is best in all of them at once: there is nothing to trade."


def proof_lines(front: Front, currency: str) -> Iterator[str]:
    """Say whether no plan is missing, and what proves it or is open."""
    ended = [(axis, axis.most) for axis in front.axes if axis.most is not None and _limits(axis, axis.most)]
    within = ""
    for to, more in ((" up to", False), (" down to", True)):
        ends = [
            f"{value_text(axis.goal, axis.value(most), currency)} {goal_name(axis.goal)}"
            for axis, most in ended
            if (axis.goal in MORE_IS_BETTER) == more
        ]
        within += f"{' and' if within and ends else ''}{to} {_listed(ends)}" if ends else ""
    if front.is_complete:
        yield f"No plan is missing{within}: any other one is beaten by one of these, or lies where no plan can be:"
    else:
        yield f"Plans may be missing{within}, in what was not closed; where it says none, there is no plan:"
    for cell in front.cells:
        line = f"{caps_text(front.axes, cell, currency)}: "
        if cell.is_empty:
            yield f"  {line}none ({cell.closed_by})"
            continue
        bound = ""
        axis = next((axis for axis in front.axes if axis.goal == front.swept), None)
        if axis is not None and cell.bound is not None:
            bound = f"; {goal_name(axis.goal)} above {value_text(axis.goal, axis.value(cell.bound - 1), currency)}"
            if axis.goal in MORE_IS_BETTER:
                bound = f"; at most {count_text(axis.goal, int(axis.value(cell.bound)))}"
        yield f"  {line}{cell.closed_by}{bound}"
