"""
Whether a housing is enough for a vehicle: a checked plan inside it, or what was learnt instead.

Comes in as a vehicle and a least housing (``solving/housing.py``); goes out as a ``Confirmed`` housing with the plan
that shows it, or as a ``Refusal``. Every plan passes the independent checker; carriers are then exchanged for the
cheapest ones of as many bays, and the plan is checked again.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import floor

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.housing import accessory_cents, carrier_cents, module_cents
from allocator.plan.plan import PlacedCarrier, Plan
from allocator.requirements.catalogue import Carrier, bays_by_carrier
from allocator.requirements.scenario import Aim
from allocator.rulebook import CLAIMS
from allocator.sizing.sized import Sized
from allocator.solving.allocate import search_plan
from allocator.solving.housing import LeastHousing, Refusal
from allocator.stocking.members import limited
from allocator.verifying import verify

_MOST_ORDERS = 120


@dataclass(frozen=True)
class Confirmed:
    """A plan within some modules, its bays, and the price of its carriers and modules with their accessories."""

    plan: Plan
    bays: int
    cents: int

    @property
    def types(self) -> frozenset[str]:
        """Module types in use."""
        return frozenset(module.module for module in self.plan.modules)


@dataclass(frozen=True)
class Answered:
    """What a search within a housing came to; both are None where the effort was too small to say."""

    confirmed: Confirmed | None = None
    refusal: Refusal | None = None


def housing_cents(sized: Sized, plan: Plan) -> int:
    """Return the price of a plan's carriers and modules with what is ordered for each of them, cents."""
    catalogue = sized.requirements.catalogue
    cents = {carrier.id: carrier_cents(catalogue, carrier) for carrier in catalogue.carriers}
    cents |= {module.id: module_cents(catalogue, module) for module in catalogue.modules}
    carriers, modules = (placed.carrier for placed in plan.carriers), (placed.module for placed in plan.modules)
    return sum(cents[part] for part in (*carriers, *modules))


def confirm(sized: Sized, housing: LeastHousing, time_limit_s: float) -> Answered:
    """
    Look for a plan within a housing.

    Parameters
    ----------
    sized
        The vehicle.
    housing
        Its modules are the most that the plan may have.
    time_limit_s
        Wall time of the search.
    """
    inner = limited(sized, dict(housing.modules), _goals(sized))
    try:
        outcome = search_plan(inner, time_limit_s=time_limit_s)
    except CannotBeMet:
        return Answered(refusal=Refusal(housing.modules, None))
    except NoPlanInTime:
        return Answered()
    result = outcome.plan.goals[0]
    plan = _with_cheapest_carriers(inner, outcome.plan)
    confirmed = Confirmed(plan, int(result.value), housing_cents(inner, plan))
    least = floor(result.bound)
    return Answered(confirmed, Refusal(housing.modules, least) if least > housing.bays else None)


def _goals(sized: Sized) -> tuple[Aim, ...]:
    """Return bays alone as the goal, and behind it every goal with a cap, because a cap is a rule."""
    aims = {aim.goal: aim.model_copy(update={"tolerance": None}) for aim in sized.requirements.scenario.rules.aims}
    bays = aims.pop("bays", Aim(goal="bays"))
    return (bays, *(aim for aim in aims.values() if aim.limit is not None))


def _with_cheapest_carriers(sized: Sized, plan: Plan) -> Plan:
    """Return the plan in the cheapest carriers of as many bays at each panel that the checker lets pass."""
    catalogue = sized.requirements.catalogue
    bays_of = bays_by_carrier(catalogue)
    for site in sized.requirements.scenario.panels:
        placed = [carrier.carrier for carrier in plan.carriers if carrier.panel == site.name]
        offered = [carrier for carrier in catalogue.carriers if not site.carriers or carrier.id in site.carriers]
        per_carrier = accessory_cents(catalogue, "carrier")
        wanted = _cheapest(offered, sum(bays_of[name] for name in placed), per_carrier)
        if placed and wanted != Counter(placed):
            plan = next(_that_pass(sized, plan, site.name, sorted(wanted.elements(), key=bays_of.__getitem__)), plan)
    return plan


def _that_pass(sized: Sized, plan: Plan, panel: str, wanted: list[str]) -> Iterator[Plan]:
    """Yield the plan with some carriers at a panel, in each order of them that the checker lets pass."""
    others = tuple(carrier for carrier in plan.carriers if carrier.panel != panel)
    bays_of = bays_by_carrier(sized.requirements.catalogue)
    for order in itertools.islice(itertools.permutations(wanted), _MOST_ORDERS):
        # The goals were claimed for other carriers; what counts here is that no other rule is broken.
        trial = plan.model_copy(update={"carriers": (*others, *_laid_out(panel, order, bays_of)), "goals": ()})
        if all(finding.rule in CLAIMS for finding in verify(sized, trial)):
            yield trial


def _laid_out(panel: str, order: tuple[str, ...], bays_of: Mapping[str, int]) -> Iterator[PlacedCarrier]:
    first = 1
    for name in order:
        yield PlacedCarrier(panel=panel, carrier=name, first_bay=first)
        first += bays_of[name]


def _cheapest(offered: list[Carrier], bays: int, per_carrier: int) -> Counter[str]:
    """Return the carriers of least price that have exactly so many bays together."""
    best: list[tuple[int, Counter[str]] | None] = [(0, Counter()), *[None] * bays]
    for size in range(1, bays + 1):
        for carrier in offered:
            before = best[size - carrier.bays] if carrier.bays <= size else None
            if before is not None:
                cents = before[0] + carrier.price + per_carrier
                here = best[size]
                if here is None or cents < here[0]:
                    best[size] = cents, before[1] + Counter([carrier.id])
    found = best[bays]
    return found[1] if found else Counter()
