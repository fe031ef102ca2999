"""
Ways out of a clash: how far what clashes must be eased so that the whole vehicle can be built, each with its plan.

An inquiry and a choice of demands come in; remedies go out. A step that is said to be the least has all before it
refuted.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import cast

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.explaining.asking import Answer, ask
from allocator.explaining.counting import refuted
from allocator.explaining.demands import Demand, Easing
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.of_rules import with_limit
from allocator.explaining.sketch import Case, Change
from allocator.explaining.swapping import swapped
from allocator.plan.plan import Plan
from allocator.requirements.amounts import MORE_IS_BETTER, cap_text
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving.allocate import search_plan

NESTED = ("room", "spares", "module count", "shelf")
"""Kinds of demand of which each step leaves all plans of the step before: one is more room, or one thing less."""


@dataclass(frozen=True)
class Remedy:
    """What to ask for instead, and a plan that then does."""

    eased: tuple[tuple[Demand, str], ...]
    """Each demand with what takes its place, in words."""
    plan: Plan
    """Of the whole vehicle, with only these demands eased; checked."""
    is_least: bool
    """Whether every smaller step was refuted."""
    weight: int
    is_on_offer: bool = True
    """Whether parts on offer do it; if not, the plan is beyond just the limit that was eased."""


Seen = Callable[[Names], Iterable[tuple[str, Plan]]]


def remedies_of(inquiry: Inquiry, names: Names, seen: Seen) -> Iterator[Remedy]:
    """
    Yield what can be asked for in place of some demands.

    Parameters
    ----------
    names
        Demands without which there may be a plan: one or more, all eased together.
    seen
        Circuits with a plan of everything but them.
    """
    demands = [inquiry.demands[name] for name in sorted(names, key=list(inquiry.demands).index)]
    if len(demands) == 1:
        yield from _of_one(inquiry, demands[0], seen)
        return
    found = _narrowed(inquiry, demands)
    if found is not None:
        yield found


def _of_one(inquiry: Inquiry, demand: Demand, seen: Seen) -> Iterator[Remedy]:
    if demand.kind == "circuit":
        yield from _left_out(inquiry, demand, seen)
    elif demand.kind == "cap":
        yield from _other_cap(inquiry, demand)
    else:
        found = [step for ladder in demand.ladders if (step := climb(inquiry, demand, ladder)) is not None]
        if found:  # what keeps a demand in part keeps all others
            inquiry.answers[inquiry.holding(inquiry.everything - {demand.name})] = Answer(found[0][1])
        for easing, plan, is_least in found:
            yield Remedy(((demand, easing.words),), plan, is_least, demand.weight)
        whole = None if found else _plan_without(inquiry, frozenset({demand.name}))
        if whole is not None:
            beyond = demand.kind in ("feed current", "part limits")
            yield Remedy(((demand, demand.dropped),), whole, False, demand.weight, not beyond)


def climb(
    inquiry: Inquiry, demand: Demand, ladder: Sequence[Easing], others: Sequence[Change] = ()
) -> tuple[Easing, Plan, bool] | None:
    """Return the first step of a ladder of a demand with a plan, and whether all before it were refuted."""
    is_least, number = True, 0
    while number < len(ladder) and inquiry.clock.left_s > 0:
        easing = ladder[number]
        case = inquiry.eased([*others, easing.change])
        answer = Answer() if case is None else ask(case, (), inquiry.clock)
        if answer.plan is not None:
            return easing, answer.plan, is_least
        is_least = is_least and answer.is_no
        number += 1
        if answer.is_no and demand.kind in NESTED:
            number += _refuted_at_first(inquiry, ladder[number:], others)
    return None


def _kept(inquiry: Inquiry, ladder: Sequence[Easing], others: Sequence[Change], plan: Plan) -> Easing | None:
    """Return the first step of a ladder that a plan keeps."""

    def keeps(easing: Easing) -> bool:
        case = inquiry.eased([*others, easing.change])
        return case is not None and not case.judged(plan)[1]

    number = bisect_left(ladder, True, key=keeps)
    return ladder[number] if number < len(ladder) else None


def _refuted_at_first(inquiry: Inquiry, ladder: Sequence[Easing], others: Sequence[Change]) -> int:
    """Return how many steps relaxations refute, where a step that they refute refutes all before it."""

    def is_refuted(number: int) -> bool:
        case = inquiry.eased([*others, ladder[number].change])
        return case is not None and refuted(case, (), inquiry.clock)

    low, step = 0, 1
    while low + step <= len(ladder) and is_refuted(low + step - 1):
        low, step = low + step, 2 * step
    high = min(low + step - 1, len(ladder))
    while low < high:
        middle = (low + high) // 2
        low, high = (middle + 1, high) if is_refuted(middle) else (low, middle)
    return low


def _left_out(inquiry: Inquiry, demand: Demand, seen: Seen) -> Iterator[Remedy]:
    names = frozenset({demand.name})
    rest = inquiry.holding(inquiry.everything - names)
    case = inquiry.case(rest)
    if case is None:
        return
    if rest not in inquiry.answers:
        found = _taken_over(case, demand, seen(names))
        if found is not None:
            inquiry.answers[rest] = Answer(found)
    plan = _plan_without(inquiry, names)
    if plan is not None:
        yield Remedy(((demand, demand.dropped),), plan, True, demand.weight)


def _plan_without(inquiry: Inquiry, names: Names) -> Plan | None:
    """Return a plan of all but some demands, with its cautions: one that came by a trade has none yet."""
    rest = inquiry.holding(inquiry.everything - names)
    plan, case = inquiry.answer(rest).plan, inquiry.case(rest)
    return plan if plan is None or plan.cautions or case is None else case.checked(plan)[0]


def _taken_over(case: Case, demand: Demand, plans: Iterable[tuple[str, Plan]]) -> Plan | None:
    for name, plan in plans:
        found = swapped(plan, case, name.removeprefix("circuit "), demand.name.removeprefix("circuit "))
        if found is not None:
            return found
    return None


def _other_cap(inquiry: Inquiry, demand: Demand) -> Iterator[Remedy]:
    """Find the tightest limit of a goal that can be kept, all others kept."""
    goal = cast("Goal", demand.name.removeprefix("cap on "))
    case = inquiry.eased([demand.drop])
    if case is None or refuted(case, (), inquiry.clock):
        return
    aims = {aim.goal: aim for aim in case.sized.requirements.scenario.rules.aims}
    first = aims.pop(goal)
    capped = [aim.model_copy(update={"tolerance": None}) for aim in aims.values() if aim.most is not None]
    rules = case.sized.requirements.scenario.rules.model_copy(update={"objective": (first.goal, *capped)})
    scenario = case.sized.requirements.scenario.model_copy(update={"rules": rules})
    changed = case.sized.requirements.model_copy(update={"scenario": scenario})
    plan = _best(inquiry, replace(case.sized, requirements=changed))
    if plan is None:
        return
    value, is_least = plan.goals[0].value, plan.goals[0].outcome == "best possible"
    cap = cap_text(goal, Fraction(value))
    found = inquiry.eased([with_limit(goal, int(cap) if cap.isdigit() else cap)])
    if found is not None:
        plan, findings = found.checked(plan)
        if not findings:
            words = f"at least {cap} {goal}" if goal in MORE_IS_BETTER else f"a cap of {cap} on {goal}"
            yield Remedy(((demand, words),), plan, is_least, demand.weight)


def _best(inquiry: Inquiry, sized: Sized) -> Plan | None:
    """Return the best plan that the time allows."""
    clock = inquiry.clock
    try:
        return search_plan(sized, time_limit_s=max(0.1, clock.left_s), workers=clock.workers, stop=clock.stop).plan
    except (CannotBeMet, NoPlanInTime):
        return None


def _narrowed(inquiry: Inquiry, demands: Sequence[Demand]) -> Remedy | None:
    """Ease several demands together, one after the other only as far as it must be."""
    changes = {demand.name: demand.drop for demand in demands}
    words = {demand.name: demand.dropped for demand in demands}
    is_least, plan = True, _plan_without(inquiry, frozenset(changes))
    if plan is None:
        return None
    for demand in demands:
        others = [change for name, change in changes.items() if name != demand.name]
        steps = (climb(inquiry, demand, ladder, others) for ladder in demand.ladders)
        found = next((step for step in steps if step is not None), None)
        if found is None:  # time is up, most likely: what the plan at hand keeps is better than nothing said
            kept = next((step for ladder in demand.ladders if (step := _kept(inquiry, ladder, others, plan))), None)
            found = None if kept is None else (kept, plan, False)
        is_least = is_least and (not demand.ladders if found is None else found[2])
        if found is not None:
            easing, plan, _ = found
            changes[demand.name], words[demand.name] = easing.change, easing.words
    weight = sum(demand.weight for demand in demands)
    beyond = any(
        demand.kind in ("feed current", "part limits") and words[demand.name] == demand.dropped for demand in demands
    )
    eased = tuple((demand, words[demand.name]) for demand in demands)
    return Remedy(eased, plan, is_least, weight, not beyond)
