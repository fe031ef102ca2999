"""
The exact set of plans that none beats in the goals compared: plan after plan, until every cell is empty.

Comes from ``Sized``; goes out as full, checked plans with the cells in which there are no others. A cell is empty by a
counting bound, by a relaxation without a solution, or because the placing model was searched to its end; each status is
read. What time or effort was too small for stays open and is said.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.plan.measures import costs, measure
from allocator.plan.plan import ClosedBy, Plan
from allocator.requirements.amounts import is_count
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized
from allocator.solving.allocate import DEFAULT_TIME_LIMIT_S, GRACE_S, plan_of, search_plan
from allocator.solving.engine import Clock
from allocator.solving.floors import floor_of
from allocator.solving.levels import stated
from allocator.solving.models import Models
from allocator.solving.refusing import refuse_broken
from allocator.solving.watch import watched
from allocator.tradeoffs.axes import (
    DEFAULT_GOALS,
    DEFAULT_RANGES,
    Axis,
    axes_of,
    capped_at,
    compared,
    counted_of,
    in_the_users_order,
    swept_of,
)
from allocator.tradeoffs.cells import Caps, Steps, lies_in, lowered, unbeaten
from allocator.tradeoffs.exploring import Cell, Exploration
from allocator.tradeoffs.opening import Opening
from allocator.verifying import verify


@dataclass(frozen=True)
class Member:
    """A plan that no other one beats."""

    plan: Plan
    steps: Steps
    """Steps of each goal's cost, in the order of the axes."""
    values: Mapping[Goal, Fraction]
    """Exact value of every goal of the definitions."""

    @property
    def costs(self) -> Mapping[Goal, Fraction]:
        """Exact cost of every goal: its value, with the sign turned where more is better."""
        return costs(self.values)


@dataclass(frozen=True)
class Front:
    """The plans that none beats, with the proof."""

    axes: tuple[Axis, ...]
    members: tuple[Member, ...]
    """Best first, in the order of the axes; the first one is the chosen plan: the best in the user's order."""
    cells: tuple[Cell, ...]
    swept: Goal | None
    interrupted: bool

    @property
    def is_complete(self) -> bool:
        """Whether no plan is missing in the range that was looked at."""
        return all(cell.is_empty for cell in self.cells)

    @property
    def open_cells(self) -> tuple[Cell, ...]:
        """Cells that may hold plans that are missing."""
        return tuple(cell for cell in self.cells if not cell.is_empty)


def find_tradeoffs(
    sized: Sized,
    goals: Sequence[Goal] = DEFAULT_GOALS,
    *,
    steps: Mapping[Goal, Fraction] | None = None,
    ranges: Mapping[Goal, int] | None = None,
    time_limit_s: float = DEFAULT_TIME_LIMIT_S,
    progress: Callable[[str], None] | None = None,
    stop: threading.Event | None = None,
) -> Front:
    """
    Find every plan that none beats in some goals.

    Parameters
    ----------
    sized
        What every circuit may use.
    goals
        Goals that are compared; the scenario's order ranks them.
    steps
        Step of a goal in its own unit; none given: 1 of a count, 1 % of what feeds may carry, 1 % of the chosen plan's
        price, wire length, copper or footprint. Values within one step count as equal.
    ranges
        How many steps beyond the chosen plan each goal is looked at; none given: 3 bays, 2 module types, 4 entries.
    time_limit_s
        Wall time after which what is known is returned, open cells and all.
    progress
        Called with one line of text whenever something is known.
    stop
        Set from outside to end the search early.

    Returns
    -------
    Front
        Every plan in it passed the checker.

    Raises
    ------
    CannotBeMet
        If the requirements hold no plan.
    NoPlanInTime
        If limit or interrupt came before the first plan.
    BrokenPlan
        If the independent checker refuses a plan: a bug.
    """
    clock = Clock(time.monotonic() + time_limit_s, progress=progress)
    if stop is not None:
        clock.stop = stop
    rules = sized.requirements.scenario.rules
    ordered = in_the_users_order(goals, rules)
    aims = compared(rules, ordered)
    first = search_plan(
        with_objective(sized, _first_aims(aims)),
        time_limit_s=clock.left_s,
        progress=progress,
        stop=clock.stop,
    ).plan
    asked = with_objective(sized, aims)
    beyond = DEFAULT_RANGES if ranges is None else ranges
    known = costs(measure(sized, first))
    swept = swept_of(ordered)
    opening = Opening(Models(asked, clock, []), axes_of(ordered, known, steps or {}, beyond), swept, clock)
    within = [(goal, known[goal]) for goal in counted_of(ordered)]
    clock.abandoned = not watched(lambda: opening.run(within), lambda: clock.left_s <= 0, GRACE_S)
    plans = [under_goals_of(asked, first)]
    plans += [plan_of(asked, placement, (), False) for placement in list(opening.placements)]
    chosen = min((costs(measure(asked, plan)) for plan in plans), key=lambda known: [known[goal] for goal in ordered])
    axes = axes_of(ordered, chosen, steps or {}, beyond)
    found: list[Member] = []

    def keep(plan: Plan) -> Steps:
        values = measure(asked, plan)
        steps = tuple(axis.steps(costs(values)[axis.goal]) for axis in axes)
        clock.say("plan: " + ", ".join(f"{axis.goal} {values[axis.goal]}" for axis in axes))
        found.append(Member(plan, steps, values))
        return steps

    exploration = Exploration(opening, axes, clock, lambda placement: keep(plan_of(asked, placement, (), False)))
    for plan in plans:
        exploration.know(keep(plan))
    clock.abandoned = clock.abandoned or not watched(exploration.run, lambda: clock.left_s <= 0, GRACE_S)
    cut = tuple(Cell(caps, "cut by time") for caps in list(exploration.open))
    cells = (*exploration.settled, *cut)
    was_cut = bool(cut) or clock.was_cut
    members = tuple(_stated(asked, axes, member, cells, was_cut) for member in _unbeaten(list(found)))
    return Front(axes, members, cells, swept, clock.stop.is_set())


def _unbeaten(found: Sequence[Member]) -> list[Member]:
    """Return one plan for each point that no other beats, that with the lower values where two have the same steps."""
    best: dict[Steps, Member] = {}
    for member in found:
        known = best.get(member.steps)
        if known is None or _exact(member) < _exact(known):
            best[member.steps] = member
    return [best[steps] for steps in unbeaten(list(best))]


def _exact(member: Member) -> list[Fraction]:
    return [member.costs[aim.goal] for aim in member.plan.requirements.scenario.rules.aims]


def _stated(sized: Sized, axes: Sequence[Axis], member: Member, cells: Sequence[Cell], was_cut: bool) -> Member:
    """
    Cap the goals of a member's plan at its own steps, say what is known of each, and check it.

    Within such caps a plan can only have the same steps in every goal, if no open cell lies below: a count is then the
    best possible, and any other value is less than one step above it.
    """
    asked = with_objective(sized, capped_at(sized.requirements.scenario.rules.aims, axes, member.steps))
    number_by_goal = {axis.goal: number for number, axis in enumerate(axes)}
    goals = []
    for aim in asked.requirements.scenario.rules.aims:
        cost, bound, by = member.costs[aim.goal], floor_of(sized, aim.goal), None
        if aim.goal in number_by_goal:
            number = number_by_goal[aim.goal]
            by = _closed_by(cells, lowered(member.steps, number))
            if by is not None:
                axis, least = axes[number], member.steps[number]
                bound = max(bound, axis.cost(least - 1) + (1 if is_count(aim.goal) else 0))  # a count is a whole number
        proven = cost == bound
        closed_by = by or "counting bound" if proven else "cut by time" if was_cut else "not closed"
        goals.append(stated(aim, cost, bound, closed_by, proven=proven))
    plan = under_goals_of(asked, member.plan).model_copy(update={"goals": tuple(goals), "depends_on_time": was_cut})
    refuse_broken(verify(asked, plan))
    return Member(plan, member.steps, member.values)


def _closed_by(cells: Sequence[Cell], caps: Caps) -> ClosedBy | None:
    """Return what closed a cell, itself or a part of a larger one; None: it is open."""
    return next((cell.closed_by for cell in cells if cell.is_empty and lies_in(caps, cell.caps)), None)


def _first_aims(aims: Sequence[Aim]) -> tuple[Aim, ...]:
    """Return what the first plan is best in: the counts among the goals, which are proven soonest, and every limit."""
    counted = counted_of([aim.goal for aim in aims])
    first = (aim for aim in aims if aim.goal in counted)
    return (*first, *(aim for aim in aims if aim.goal not in counted and aim.limit is not None)) or tuple(aims[:1])


def with_objective(sized: Sized, aims: Sequence[Aim]) -> Sized:
    """Return the same sizing with other goals: the objective changes nothing else in it."""
    return sized.under_rules(objective=tuple(aims))


def under_goals_of(sized: Sized, plan: Plan) -> Plan:
    """Return a plan for the same needs under other goals, of which nothing is stated yet."""
    scenario = plan.requirements.scenario.model_copy(update={"rules": sized.requirements.scenario.rules})
    requirements = plan.requirements.model_copy(update={"scenario": scenario})
    return plan.model_copy(update={"requirements": requirements, "goals": ()})
