"""
Whether each member of a clash is needed: a plan of all others is looked for, near the plans of members before it.

A set of demands that clashes comes in; the same goes out without what it clashes without as well. The answers stay in
the inquiry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from allocator.explaining.asking import OPEN, Answer
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.swapping import swapped


def settled_in_part(inquiry: Inquiry, names: Names, share: float) -> Names:
    """Settle members in a share of the time, circuits first: from one's plan comes that of the next."""
    clock = inquiry.clock
    end = clock.deadline
    clock.deadline -= (1 - share) * clock.left_s
    switches = {f"circuit {circuit.control}" for circuit in inquiry.requirements.circuits if circuit.control}
    names = settled(inquiry, names, lambda name: name.startswith("circuit ") and name not in switches)
    names = settled(inquiry, names)
    clock.deadline = end
    return names


def settled(inquiry: Inquiry, names: Names, asked: Callable[[str], bool] = lambda name: True) -> Names:
    """Look for a plan without each member of a clash; a member without which there is none either is dropped."""
    waiting = [name for name in inquiry.one_by_one(names) if asked(name)]
    while waiting and inquiry.clock.left_s > 0:
        if answer_without(inquiry, names, waiting[0]).is_no:
            names = inquiry.holding(names - {waiting[0]})
            waiting = [name for name in waiting[1:] if name in names]
        else:
            waiting = waiting[1:]
    return names


def answer_without(inquiry: Inquiry, names: Names, name: str) -> Answer:
    """Ask whether a set holds without one of its members; the answer may come from a plan without another one."""
    rest = inquiry.holding(names - {name})
    if inquiry.clock.left_s <= 0:
        return inquiry.answers.get(rest, OPEN)
    if rest not in inquiry.answers and name.startswith("circuit "):
        case = inquiry.case(rest)
        for other, answer in _plans_without_a_circuit(inquiry, names):
            if case is None or answer.plan is None:
                continue
            plan = swapped(answer.plan, case, other.removeprefix("circuit "), name.removeprefix("circuit "))
            if plan is not None:
                inquiry.answers[rest] = Answer(plan)
                break
    return inquiry.answer(rest)


def _plans_without_a_circuit(inquiry: Inquiry, names: Names) -> Iterator[tuple[str, Answer]]:
    for other in sorted(names):
        rest = inquiry.holding(names - {other})
        if other.startswith("circuit ") and rest in inquiry.answers:
            yield other, inquiry.answers[rest]
