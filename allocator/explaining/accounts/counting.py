"""
Why there must be so many bays: a share of a bay for every way and socket that no module on offer can beat.

Comes from ``Sized``; goes out as shares that anybody can check with a pencil: in no module do ways and sockets weigh
more than its bays, and all that must be placed weighs more than one bay less has room for. (The dual of the covering
model; the shares are whole multiples of a small fraction, so nothing is rounded.)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, inf, lcm

from ortools.sat.python.cp_model import CpModel, IntVar, LinearExpr

from allocator.model.frame import Frame
from allocator.requirements.catalogue import Module
from allocator.requirements.vehicle import PanelSite
from allocator.solving.engine import Clock, solve

Kind = str
"""``type F`` of a way, ``heavy`` of a socket."""
LARGEST_UNIT = 1_000_000
PLAIN_UNIT = 5040
"""Parts of a bay in which shares are counted, where the catalogue's own numbers have no small common multiple."""
EFFORT = 1.0


@dataclass(frozen=True)
class Counting:
    """Shares of a bay by kind, how many needs must have one, and how far a limited type of module may beat them."""

    share_by_kind: Mapping[Kind, Fraction]
    number_by_choice: Mapping[tuple[tuple[Kind, ...], ...], int]
    """Needs by the kinds of their choices: each choice takes the kinds of one tuple."""
    beyond_by_module: Mapping[str, tuple[Fraction, int]]
    """By how much a module of a limited type may weigh more than its bays, and how many of it there may be."""

    @property
    def total(self) -> Fraction:
        """Bays that all needs weigh at least, less what limited modules may hold beyond theirs."""
        needs = (
            number
            * min(sum((self.share_by_kind.get(kind, Fraction(0)) for kind in kinds), Fraction(0)) for kinds in by)
            for by, number in self.number_by_choice.items()
        )
        beyond = (extra * most for extra, most in self.beyond_by_module.values())
        return sum(needs, Fraction(0)) - sum(beyond, Fraction(0))


def kinds_in(module: Module) -> Mapping[Kind, int]:
    """Return how many ways and sockets of each kind a module has."""
    found: Counter[Kind] = Counter()
    for row in module.rows:
        found[f"type {row.fuse_format}"] += row.ways
    for group in module.sockets:
        found[group.relay_class] += group.count
    return found


def counting_of(frame: Frame, panels: Sequence[str]) -> Counting | None:
    """
    Return the shares that ask for most bays for what can only be at some panels, few kinds among them.

    Returns
    -------
    Counting or None
        None where nothing must be there.
    """
    numbers = _numbers(frame, panels)
    if not numbers:
        return None
    modules = frame.sized.requirements.catalogue.modules
    unit = lcm(*(count for module in modules for count in kinds_in(module).values()))
    unit = unit if unit <= LARGEST_UNIT else PLAIN_UNIT
    most = _solved(frame, numbers, unit, lambda model, total, used: model.maximize(total))
    if most is None or most.total <= 0:
        return None
    goal = (ceil(most.total) - 1) * unit + 1

    def fewest(model: CpModel, total: LinearExpr, used: Sequence[IntVar]) -> None:
        model.add(total >= goal)
        model.minimize(LinearExpr.sum(used) * (unit * len(frame.sized.needs)) - total)

    return _solved(frame, numbers, unit, fewest) or most


def _numbers(frame: Frame, panels: Sequence[str]) -> Mapping[tuple[tuple[Kind, ...], ...], int]:
    numbers: Counter[tuple[tuple[Kind, ...], ...]] = Counter()
    for members in frame.classes:
        if members.choices and all(choice.option.panel in panels for choice in members.choices):
            kinds = dict.fromkeys(
                tuple(
                    kind
                    for kind in (
                        f"type {choice.option.fuse_format}" if members.takes_way else None,
                        choice.option.relay_class,
                    )
                    if kind is not None
                )
                for choice in members.choices
            )
            numbers[tuple(sorted(kinds))] += len(members.needs)
    return numbers


def _solved(
    frame: Frame,
    numbers: Mapping[tuple[tuple[Kind, ...], ...], int],
    unit: int,
    aim: Callable[[CpModel, LinearExpr, Sequence[IntVar]], None],
) -> Counting | None:
    model = CpModel()
    kinds = sorted({kind for choices in numbers for choice in choices for kind in choice})
    most_bays = max(module.bays for module in frame.sized.requirements.catalogue.modules)
    share = {kind: model.new_int_var(0, most_bays * unit, kind) for kind in kinds}
    limited = _limited(frame)
    beyond = {module: model.new_int_var(0, 100 * unit, module) for module in limited}
    for module in frame.sized.requirements.catalogue.modules:
        weight = LinearExpr.sum([count * share[kind] for kind, count in kinds_in(module).items() if kind in share])
        model.add(weight <= module.bays * unit + beyond.get(module.id, 0))
    terms: list[LinearExpr] = []
    for number, (choices, count) in enumerate(sorted(numbers.items())):
        least = model.new_int_var(0, 2 * most_bays * unit, f"need {number}")
        for choice in choices:
            model.add(least <= LinearExpr.sum([share[kind] for kind in choice]))
        terms.append(count * least)
    total = LinearExpr.sum([*terms, *(-most * beyond[module] for module, most in limited.items())])
    used = [model.new_bool_var(f"uses {kind}") for kind in kinds]
    for kind, is_used in zip(kinds, used, strict=True):
        model.add(share[kind] == 0).only_enforce_if(~is_used)
    aim(model, total, used)
    solved = solve(model, Clock(inf), effort=EFFORT)
    if not solved.has_solution:
        return None
    return Counting(
        {kind: Fraction(solved.value(share[kind]), unit) for kind in kinds if solved.value(share[kind])},
        numbers,
        {
            module: (Fraction(solved.value(beyond[module]), unit), most)
            for module, most in limited.items()
            if solved.value(beyond[module])
        },
    )


def _limited(frame: Frame) -> Mapping[str, int]:
    """Return the types of which there may be only so many, by a rule or on the shelf."""
    everyone = 2 * len(frame.sized.needs)
    return {module: most for module, most in frame.module_cap.items() if most < everyone}


def bays_in_carriers(frame: Frame, site: PanelSite, least: int) -> int:
    """Return the fewest bays of allowed carriers that are at least so many; ``least`` where the panel has no room."""
    sizes = {
        carrier.bays
        for carrier in frame.sized.requirements.catalogue.carriers
        if not site.carriers or carrier.id in site.carriers
    }
    sums = {0}
    for number in range(1, site.max_bays + 1):
        if any(number - size in sums for size in sizes):
            sums.add(number)
    return min((number for number in sums if number >= least), default=least)
