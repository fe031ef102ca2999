"""
Heat per module: what fuses and coils turn into heat in each load case, mW.

Comes in as an indexed plan; goes out for summary and JSON. It is a report and no limit: contacts, strips, terminals and
wires warm a module too. The meaning is "Heat" in ``docs/definitions.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from allocator.figures import Figures
from allocator.plan.index import ModuleAt, NeedAt, PlanIndex
from allocator.plan.measures import need_loads
from allocator.requirements.catalogue import Fuse
from allocator.units import AMPERES_TO_MODEL


@dataclass(frozen=True, slots=True)
class ModuleHeat:
    """Heat of one module by load case, in the scenario's order: mW, rounded up."""

    at: ModuleAt
    milliwatts_by_case: tuple[int, ...]


def heat_of_modules(index: PlanIndex) -> tuple[ModuleHeat, ...]:
    """Return the heat of every module, in the order of the index."""
    loads = need_loads(index)
    cases = range(len(index.sized.requirements.scenario.load_cases))
    heat = {(item.panel, item.bay): [Fraction(0) for _ in cases] for item in index.modules}
    for item in index.needs:
        for case in cases:
            if item.way is not None:
                heat[item.way.panel, item.way.bay or 0][case] += _fuse_mw(index, item, loads[item.need.id][case])
            if item.socket is not None:
                heat[item.socket.panel, item.socket.bay][case] += _coil_mw(index, item, case)
    return tuple(ModuleHeat(item, tuple(ceil(watts) for watts in heat[item.panel, item.bay])) for item in index.modules)


def drop_mv(fuse: Fuse, figures: Figures) -> Fraction:
    """Return the voltage drop of a fuse at its rated current, mV: its own, else a published one of its kind."""
    if fuse.drop is not None:
        return _exact(fuse.drop)
    table = figures.fuse_drop.value
    for rows in (table.get(fuse.fuse_format, {}), table["C"]):
        smaller = [rating for rating in rows if rating <= fuse.rating]
        if smaller:
            return _exact(rows[max(smaller)])
    return _exact(max(table["C"].values()))


def _fuse_mw(index: PlanIndex, item: NeedAt, load_ma: int) -> Fraction:
    """Return load squared x the resistance that the fuse has when its rated current warms it."""
    fuse = next((fuse for fuse in index.sized.requirements.catalogue.fuses if fuse.id == item.option.fuse), None)
    if fuse is None:
        return Fraction(0)
    drop = drop_mv(fuse, index.sized.requirements.figures)
    return Fraction(load_ma, AMPERES_TO_MODEL) ** 2 * drop / _exact(fuse.rating)


def _coil_mw(index: PlanIndex, item: NeedAt, case: int) -> Fraction:
    """Return operating voltage squared / resistance of the coil, in the cases in which the relay is energised."""
    requirements = index.sized.requirements
    relay = next((relay for relay in requirements.catalogue.relays if relay.id == item.option.relay), None)
    if relay is None or not _is_energised(index, item, case):
        return Fraction(0)
    return 1000 * _exact(requirements.scenario.vehicle.operating_voltage) ** 2 / _exact(relay.coil)


def _is_energised(index: PlanIndex, item: NeedAt, case: int) -> bool:
    circuit = next((one for one in index.sized.requirements.circuits if one.id == item.need.id), None)
    if item.need.kind != "circuit" or circuit is None or not circuit.load_cases:
        return True  # a feed's relay is on in all cases
    return index.sized.requirements.scenario.load_cases[case].name in circuit.load_cases


def _exact(figure: float) -> Fraction:
    return Fraction(repr(figure))
