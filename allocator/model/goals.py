"""
The goals as linear expressions over the variables of a model, each with the whole number it was multiplied by.

Comes from ``Sums`` or ``Places``; goes to ``solving/``, which minimises them in the user's order. They are costs
(``amounts.sense``): a goal of which more is better stands here with its sign turned. Values are exact;
only a peak whose common denominator is beyond 2^50 is rounded down, and its ``steps`` bring it back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, gcd, lcm

from ortools.sat.python.cp_model import CpModel, IntVar, LinearExpr, LinearExprT

from allocator.model.cover import spare_ways
from allocator.model.prices import Bill, copper_of, price_of, wire_length_of
from allocator.model.variables import Places, Sums
from allocator.requirements.catalogue import bays_by_carrier
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized

LARGEST_WHOLE = 2**50
"""Linear sums stay well below 2^53, beyond which the solver refuses them."""


@dataclass(frozen=True, slots=True)
class Term:
    """A goal in a model: the expression that is minimised, and what to divide its value by."""

    expression: LinearExprT
    scale: int = 1
    steps: tuple[Fraction, ...] = ()
    """Where the expression is rounded down: every value that can be is a whole number divided by one of these."""

    def value(self, whole: int) -> Fraction:
        """Return the goal's cost for a value of the expression, or the least that can be from there on."""
        value = Fraction(whole, self.scale)
        return min((ceil(value * step) / step for step in self.steps), default=value)

    def whole(self, value: Fraction) -> int:
        """Return the largest value of the expression that is no worse than a goal's cost."""
        return floor(value * self.scale)


def _bays(x: Sums, _: Places | None) -> Term:
    bays = bays_by_carrier(x.frame.sized.requirements.catalogue)
    return Term(LinearExpr.sum([bays[carrier] * number for (_, carrier), number in x.carriers.items()]))


def _module_types(x: Sums, _: Places | None) -> Term:
    return Term(LinearExpr.sum(list(x.type_used.values())))


def _strip_pieces(x: Sums, _: Places | None) -> Term:
    return Term(LinearExpr.sum(list(x.entries_at.values())))


def peak_term(model: CpModel, sized: Sized, draw: Mapping[tuple[str, int], IntVar]) -> Term:
    """Return the largest load / allowed share over all feeds and cases, for the draws of any model."""
    allowed = {name: feed.allowed_ma for name, feed in sized.feeds.items() if feed.allowed_ma > 0}
    scale = lcm(*(share.numerator for share in allowed.values()))
    factors = {name: int(Fraction(scale) / share) for name, share in allowed.items()}
    common = gcd(*factors.values())
    exact = scale <= LARGEST_WHOLE
    if exact:
        whole = {name: factor // common for name, factor in factors.items()}
        unit = Fraction(scale, common)
    else:
        unit = Fraction(2**40)
        whole = {name: floor(unit / share) for name, share in allowed.items()}
    # ``unit`` is what the peak was multiplied by; it may be a fraction, so the value is kept as expression / numerator.
    peak = model.new_int_var(0, max(whole[n] * floor(allowed[n]) for n in allowed) if allowed else 0, "peak")
    for (name, _), load in draw.items():
        if name in whole:
            model.add(peak >= whole[name] * load)
    return Term(peak * unit.denominator, unit.numerator, () if exact else tuple(sorted({*allowed.values()})))


def _peak_utilisation(x: Sums, _: Places | None) -> Term:
    return peak_term(x.model, x.frame.sized, x.draw)


def _long_jumpers(x: Sums, places: Places | None) -> Term:
    if places is not None and places.knows_jumpers:
        return Term(LinearExpr.sum(list(places.long_jumper.values())))
    return Term(0 if x.long_jumpers is None else x.long_jumpers)


def _carriers(x: Sums, _: Places | None) -> Term:
    return Term(LinearExpr.sum(list(x.carriers.values())))


def _footprint(x: Sums, _: Places | None) -> Term:
    catalogue = x.frame.sized.requirements.catalogue
    area_mm2 = {c.id: Fraction(str(c.width)) * Fraction(str(c.height)) for c in catalogue.carriers}
    scale = lcm(*(area.denominator for area in area_mm2.values()))
    whole = {carrier: int(area * scale) for carrier, area in area_mm2.items()}
    return Term(LinearExpr.sum([whole[carrier] * number for (_, carrier), number in x.carriers.items()]), scale)


def _panels(x: Sums, _: Places | None) -> Term:
    return Term(LinearExpr.sum(list(x.panel_used.values())))


def _billed(bill: Bill, places: Places | None) -> Term:
    total = bill.total
    if places is not None:
        extra = places.extra_for_long_jumpers(lambda option: int(bill.long_jumper(option) * bill.scale))
        total = LinearExpr.sum([total, extra])
    return Term(total, bill.scale)


def _price(x: Sums, places: Places | None) -> Term:
    return _billed(price_of(x), places)


def _wire_length(x: Sums, places: Places | None) -> Term:
    return _billed(wire_length_of(x), places)


def _copper(x: Sums, places: Places | None) -> Term:
    return _billed(copper_of(x), places)


def _spare_ways(x: Sums, _: Places | None) -> Term:
    return Term(spare_ways(x.frame.sized, [(module, number) for _, module, number in x.modules]))


GOAL_TERMS: Mapping[Goal, Callable[[Sums, Places | None], Term]] = {
    "bays": _bays,
    "module-types": _module_types,
    "strip-pieces": _strip_pieces,
    "peak-utilisation": _peak_utilisation,
    "long-jumpers": _long_jumpers,
    "price": _price,
    "carriers": _carriers,
    "footprint": _footprint,
    "panels": _panels,
    "wire-length": _wire_length,
    "copper": _copper,
    "spare-ways": _spare_ways,
}


def goal_caps(x: Sums, terms: Mapping[Goal, Term], aims: Sequence[Aim]) -> None:
    """Rule goal-cap; that of the peak is set on every draw, because its term may be rounded."""
    for aim in aims:
        if aim.most is None:
            continue
        if aim.goal == "peak-utilisation":
            for (name, _), load in x.draw.items():
                x.model.add(load <= floor(x.frame.sized.feeds[name].allowed_ma * aim.most))
        else:
            x.model.add(terms[aim.goal].expression <= terms[aim.goal].whole(aim.most))
