"""
Many easings asked about at once: at most one of them is granted, in one set of modules after the other.

Demands come in, with what the vehicle is without each; those go out without which nothing is saved either. Counts
prove little as long as they may mix modules, and much in one set of them (``sufficient_sets.py``). Within such a set
one model holds all demands that touch needs only: without one of them, needs have more choices, or are not there.
Where the model has a solution, that names the demand which is left open there, and the others are asked about again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.explaining.counting import Counted
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.sketch import Case
from allocator.explaining.sufficient_sets import SufficientSets
from allocator.model.classes import Choice
from allocator.model.frame import Frame
from allocator.model.tallies import Tallies, build_tallies
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Need, Option, Sized
from allocator.solving.engine import Clock, solve
from allocator.solving.models import Targets

EFFORT = 1.0
FEW = 12
"""How many demands are asked about at once where all of them are too many."""
GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
"""Goals whose counts fall with every need that is left out; with targets or caps on others nothing is pooled."""
Kind = tuple[str, str | None, str | None, float]
"""All of an option that these goals depend on: panel, fuse format, relay class, and rating where a rule looks at it."""
Key = tuple[Kind, str]
"""What tells choices of a need apart: the kind of its option, and its feed."""


@dataclass
class Pool:
    """The demands of one vehicle that touch nothing but needs."""

    base: Case
    case_by_name: Mapping[str, Case]
    """Without each demand that is asked about; names of demands."""
    names: set[str] = field(default_factory=set)
    """Those that are pooled."""
    without: dict[str, set[str]] = field(default_factory=dict)
    """The demands without which a need is not there."""
    names_by_choice: dict[tuple[str, Key], set[str]] = field(default_factory=dict)
    """The demands without which a need has a further choice."""
    touched: dict[str, set[str]] = field(default_factory=dict)
    """The needs that are other without each demand."""

    def __post_init__(self) -> None:
        touching = {name: case for name, case in self.case_by_name.items() if _touches_needs_only(self.base, case)}
        alike = [
            [need, *(same for case in touching.values() if (same := case.sized.need_by_id.get(need.id)) is not None)]
            for need in self.base.sized.needs
        ]
        needs = tuple(_with_every_choice(self.base.sized, needs) for needs in alike)
        self.sized = replace(self.base.sized, needs=needs)
        self.kept, offered = _choices(self.base.sized), _choices(self.sized)
        for name, case in touching.items():
            choices = _choices(case.sized)
            if all(keys <= offered[need] for need, keys in choices.items()):
                self.names.add(name)
                for need, keys in self.kept.items():
                    if choices.get(need) != keys:
                        self.touched.setdefault(name, set()).add(need)
                    if need not in choices:
                        self.without.setdefault(need, set()).add(name)
                    for key in choices.get(need, keys) - keys:
                        self.names_by_choice.setdefault((need, key), set()).add(name)


def _choices(sized: Sized) -> dict[str, set[Key]]:
    frame = Frame(sized)
    return {need.id: {_key(sized, choice) for choice in frame.choices(need)} for need in sized.needs}


def _key(sized: Sized, choice: Choice) -> Key:
    return _kind(sized, choice.option), choice.feed


def _kind(sized: Sized, option: Option) -> Kind:
    rules = sized.requirements.scenario.rules
    rating_a = 0.0 if rules.hot_share is None and rules.relay_beside_fuse_from is None else option.fuse_rating_a
    return option.panel, option.fuse_format, option.relay_class, rating_a


def _touches_needs_only(base: Case, eased: Case) -> bool:
    """Whether all that is other without a demand are choices and loads of needs, and that some are not there."""
    parts = ("feeds", "entries", "row_limit_ma", "module_limit_ma", "socket_limit_ma")
    before, now = base.sized, eased.sized
    if base.boundless != eased.boundless or any(getattr(before, part) != getattr(now, part) for part in parts):
        return False
    if _rules(before, now) != _rules(now, now):
        return False
    there = before.need_by_id
    return all(need.id in there and _is_alike(now, there[need.id], need) for need in now.needs)


def _rules(sized: Sized, eased: Sized) -> object:
    """Return what is asked for beside needs and spare ways, of circuits that are there."""
    requirements = sized.requirements
    rules = requirements.scenario.rules
    apart = [(bond.level, [name for name in bond.circuits if name in eased.need_by_id]) for bond in rules.apart]
    apart = [bond for bond in apart if len(bond[1]) > 1]
    bare = rules.model_copy(update={"spares": (), "apart": ()})
    return apart, requirements.scenario.model_copy(update={"rules": bare}), requirements.catalogue


def _is_alike(sized: Sized, before: Need, now: Need) -> bool:
    """Whether a need is other at most in its choices, and loads nothing more; what a feed hangs on has no choice."""
    kinds = [{_kind(sized, option) for option in need.options} for need in (before, now)]
    if before.supplies is not None and (before.feeds != now.feeds or kinds[0] != kinds[1]):
        return False
    same = replace(now, feeds=before.feeds, options=before.options, load_ma_by_case=before.load_ma_by_case)
    return same == before and all(a <= b for a, b in zip(now.load_ma_by_case, before.load_ma_by_case, strict=True))


def _with_every_choice(sized: Sized, alike: Sequence[Need]) -> Need:
    """Return a need with the choices of all, and the least load."""
    feeds = tuple(dict.fromkeys(feed for need in alike for feed in need.feeds))
    options: dict[Kind, Option] = {}
    for need in alike:
        for option in need.options:
            options.setdefault(_kind(sized, option), option)
    load = tuple(min(loads) for loads in zip(*(need.load_ma_by_case for need in alike), strict=True))
    return replace(alike[0], feeds=feeds, options=tuple(options.values()), load_ma_by_case=load)


def refuted_together(inquiry: Inquiry, names: Collection[str], targets: Targets, clock: Clock) -> set[str]:
    """
    Return the demands without which no plan is within targets either, as far as counts prove that.

    Parameters
    ----------
    inquiry
        The vehicle.
    names
        Demands; each is asked about alone.
    targets
        Goals with the most that a plan may have of each.
    """
    base = inquiry.case(inquiry.everything)
    capped = {aim.goal for aim in inquiry.requirements.scenario.rules.aims if aim.most is not None}
    if base is None or ({goal for goal, _ in targets} | capped) - {*GOALS}:
        return set()
    cases = {name: case for name in names if (case := _without(inquiry, name, clock)) is not None}
    pool = Pool(base, cases)
    sets = SufficientSets([base.sized, *(cases[name].sized for name in sorted(pool.names))], targets)
    if not sets.find(clock):
        return set()
    fitting = [[name for name in sorted(pool.names) if sets.fit(copies, cases[name].sized)] for copies in sets.found]
    left = {*pool.names}
    waiting = sorted(zip(sets.found, fitting, strict=True), key=lambda item: len(item[1]))
    while waiting and clock.left_s > 0:
        copies, names_here = waiting.pop()
        left -= _open_in(pool, copies, [name for name in names_here if name in left], targets, clock)
    return left - {name for _, names_here in waiting for name in names_here}


def _without(inquiry: Inquiry, name: str, clock: Clock) -> Case | None:
    return None if clock.left_s <= 0 else inquiry.case(inquiry.holding(inquiry.everything - {name}))


def _open_in(
    pool: Pool, copies: Mapping[tuple[str, str], int], names: Sequence[str], targets: Targets, clock: Clock
) -> set[str]:
    """Return the demands that counts do not refute in a set of modules."""
    if not names:
        return set()
    x, granted = _build(pool, Frame(pool.sized, copies))
    Counted(Case(pool.sized, pool.base.boundless), targets, clock).limit(x, targets)
    waiting, still_open = [frozenset(names)], set[str]()
    while waiting:
        active = waiting.pop() - still_open
        if clock.left_s <= 0:
            return still_open.union(active, *waiting)
        while active:
            asked = x.copy()
            asked.model.add(LinearExpr.sum([granted[name] for name in sorted(active)]) <= 1)
            for name in sorted({*granted} - active):
                asked.model.add(granted[name] == 0)
            solved = solve(asked.model, clock, effort=EFFORT)
            if solved.status == "infeasible":
                break
            if not solved.has_solution and len(active) > 1 and clock.left_s > 0:
                left = sorted(active)
                size = FEW if len(left) > FEW else (len(left) + 1) // 2
                waiting += [frozenset(left[at : at + size]) for at in range(0, len(left), size)]
                break
            used = {name for name in active if solved.has_solution and solved.value(granted[name])}
            still_open |= used or active
            active -= used or active
    return still_open


def _build(pool: Pool, frame: Frame) -> tuple[Tallies, dict[str, IntVar]]:
    """Build the tally model with every choice; what needs have not got today hangs on demands that are granted."""
    x = build_tallies(frame, pool.without)
    granted = {name: x.model.new_bool_var(f"without {name}") for name in sorted(pool.names)}
    of_one: list[IntVar] = []
    for index, members in enumerate(frame.classes):
        hanging: list[tuple[IntVar, set[str]]] = []
        for number, choice in enumerate(members.choices):
            key = _key(frame.sized, choice)
            if not any(key in pool.kept[need] for need in members.needs):
                names = {name for need in members.needs for name in pool.names_by_choice.get((need, key), ())}
                hanging.append((x.chosen[index, number], names))
        if index in x.lacking:
            names = {name for need in members.needs for name in pool.without.get(need, ())}
            hanging.append((x.lacking[index], names))
        for number_of, names in hanging:
            allowed = LinearExpr.sum([granted[name] for name in sorted(names)])
            x.model.add(number_of <= len(members.needs) * allowed)
            if all(len(pool.touched[name]) == 1 for name in names):
                of_one.append(number_of)
    x.model.add(LinearExpr.sum(of_one) <= 1)  # follows from one demand being granted; without it proofs are slow
    return x, granted
