"""
Modules in bays and carriers: what is bought, and what fits into it.

Comes from ``Sums`` or ``Counts``; adds variables and rules to it.
"""

from __future__ import annotations

from collections import Counter

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.frame import Instance
from allocator.model.variables import Counts, Sums
from allocator.requirements.catalogue import bays_by_carrier
from allocator.requirements.vehicle import PanelSite


def modules_in_use(x: Counts) -> None:
    """Every copy of a module is in use or not; equal copies are used in order."""
    for instance in x.frame.instances:
        used = x.model.new_bool_var(f"used {instance}")
        x.used[instance] = used
        x.modules.append((instance.panel, instance.module, used))
        if instance.copy > 0:
            x.model.add_implication(used, x.used[Instance(instance.panel, instance.module, instance.copy - 1)])
    _types(x)
    for _, module, used in x.modules:
        x.model.add_implication(used, x.type_used[module])


def modules_by_type(x: Sums) -> None:
    """Copies of a type are counted, up to as many as the frame has."""
    copies = Counter((instance.panel, instance.module) for instance in x.frame.instances)
    for (panel, module), most in copies.items():
        x.modules.append((panel, module, x.model.new_int_var(0, most, f"modules {panel} {module}")))
    _types(x)
    for panel, module, number in x.modules:
        x.model.add(number <= copies[panel, module] * x.type_used[module])


def _types(x: Sums) -> None:
    for module in sorted({module for _, module, _ in x.modules}):
        x.type_used[module] = x.model.new_bool_var(f"type {module}")


def carriers_hold_modules(x: Sums) -> None:
    """Rules bays-within-panel, carrier-allowed, and module-in-carrier in sum."""
    model, frame = x.model, x.frame
    catalogue = {carrier.id: carrier for carrier in frame.sized.requirements.catalogue.carriers}
    for site in frame.panels:
        allowed = _allowed(x, site)
        for carrier in allowed:
            most = site.max_bays // catalogue[carrier].bays
            x.carriers[site.name, carrier] = model.new_int_var(0, most, f"carriers {site.name} {carrier}")
        bays = LinearExpr.sum([x.carriers[site.name, c] * catalogue[c].bays for c in allowed])
        model.add(bays <= site.max_bays)
        here = [frame.sized.module_by_id[module].bays * n for panel, module, n in x.modules if panel == site.name]
        model.add(LinearExpr.sum(here) <= bays)
        x.panel_used[site.name] = model.new_bool_var(f"panel {site.name}")
        for carrier in allowed:
            model.add(x.carriers[site.name, carrier] == 0).only_enforce_if(~x.panel_used[site.name])


def _allowed(x: Sums, site: PanelSite) -> list[str]:
    carriers = x.frame.sized.requirements.catalogue.carriers
    return [carrier.id for carrier in carriers if not site.carriers or carrier.id in site.carriers]


def wide_modules_fit(x: Counts) -> None:
    """Rule module-in-carrier, where a module of two or more bays could be cut by the end of a carrier."""
    for site in x.frame.panels:
        _wide_modules_fit(x, site.name, _allowed(x, site))


def _wide_modules_fit(x: Counts, panel: str, allowed: list[str]) -> None:
    model, frame = x.model, x.frame
    wide = {i: frame.module(i).bays for i in x.used if i.panel == panel and frame.module(i).bays > 1}
    if not wide:
        return
    bays_of = bays_by_carrier(frame.sized.requirements.catalogue)
    site = next(site for site in frame.panels if site.name == panel)
    slots = range(site.max_bays // min((bays_of[c] for c in allowed), default=site.max_bays + 1))
    for slot in slots:
        for carrier in allowed:
            x.carrier_slot[panel, slot, carrier] = model.new_bool_var(f"carrier {panel} {slot} {carrier}")
        model.add_at_most_one(x.carrier_slot[panel, slot, c] for c in allowed)
    for carrier in allowed:
        model.add(sum(x.carrier_slot[panel, s, carrier] for s in slots) == x.carriers[panel, carrier])
    room = [sum(bays_of[c] * x.carrier_slot[panel, s, c] for c in allowed) for s in slots]
    if not any(i.pinned_bay is not None for i in x.used if i.panel == panel):
        for slot in list(slots)[1:]:
            model.add(room[slot - 1] >= room[slot])
    for width in sorted(set(wide.values())):
        for slot in slots:
            x.wide_in_carrier[panel, slot, width] = model.new_int_var(
                0, site.max_bays // width, f"wide {panel} {slot} {width}"
            )
        total = sum(x.wide_in_carrier[panel, slot, width] for slot in slots)
        model.add(total == sum(x.used[i] for i, w in wide.items() if w == width))
    for slot in slots:
        model.add(sum(w * x.wide_in_carrier[panel, slot, w] for w in sorted(set(wide.values()))) <= room[slot])


def module_count(x: Sums) -> None:
    """Rules module-count and module-stock."""
    for module, most in x.frame.module_cap.items():
        x.model.add(LinearExpr.sum([number for _, name, number in x.modules if name == module]) <= most)


def pinned_bays_hold_one_module(x: Counts) -> None:
    """Rule pin: where a pin names a bay, one module starts there."""
    bays: dict[tuple[str, int], list[IntVar]] = {
        (place.panel, place.bay): [] for place in x.frame.pins.values() if place.bay is not None
    }
    for instance, used in x.used.items():
        if (instance.panel, instance.pinned_bay) in bays:
            bays[instance.panel, instance.pinned_bay or 0].append(used)
    for candidates in bays.values():
        x.model.add_exactly_one(candidates)
