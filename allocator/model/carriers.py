"""
Modules in bays and carriers: what is bought, and what fits into it.

Comes from ``Counts``; adds variables and rules to it.
"""

from __future__ import annotations

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.frame import Instance
from allocator.model.variables import Counts


def modules_and_carriers(x: Counts) -> None:
    """Rules bays-within-panel, module-in-carrier, carrier-allowed; equal copies are used in order."""
    model, frame = x.model, x.frame
    for instance in frame.instances:
        x.used[instance] = model.new_bool_var(f"used {instance}")
        previous = Instance(instance.panel, instance.module, instance.copy - 1)
        if instance.copy > 0:
            model.add_implication(x.used[instance], x.used[previous])
    for module in sorted({instance.module for instance in frame.instances}):
        x.type_used[module] = model.new_bool_var(f"type {module}")
    for instance, used in x.used.items():
        model.add_implication(used, x.type_used[instance.module])
    catalogue = {carrier.id: carrier for carrier in frame.sized.requirements.catalogue.carriers}
    for site in frame.panels:
        allowed = [carrier for carrier in catalogue if not site.carriers or carrier in site.carriers]
        for carrier in allowed:
            most = site.max_bays // catalogue[carrier].bays
            x.carriers[site.name, carrier] = model.new_int_var(0, most, f"carriers {site.name} {carrier}")
        bays = LinearExpr.sum([x.carriers[site.name, c] * catalogue[c].bays for c in allowed])
        model.add(bays <= site.max_bays)
        model.add(sum(frame.module(i).bays * u for i, u in x.used.items() if i.panel == site.name) <= bays)
        x.panel_used[site.name] = model.new_bool_var(f"panel {site.name}")
        for carrier in allowed:
            model.add(x.carriers[site.name, carrier] == 0).only_enforce_if(~x.panel_used[site.name])
        _wide_modules_fit(x, site.name, allowed)


def _wide_modules_fit(x: Counts, panel: str, allowed: list[str]) -> None:
    """Rule module-in-carrier, where a module of two or more bays could be cut by the end of a carrier."""
    model, frame = x.model, x.frame
    wide = {i: frame.module(i).bays for i in x.used if i.panel == panel and frame.module(i).bays > 1}
    if not wide:
        return
    bays_of = {c.id: c.bays for c in frame.sized.requirements.catalogue.carriers}
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


def module_count(x: Counts) -> None:
    """Rules module-count and module-stock."""
    for module, most in x.frame.module_cap.items():
        x.model.add(LinearExpr.sum([used for instance, used in x.used.items() if instance.module == module]) <= most)


def pinned_bays_hold_one_module(x: Counts) -> None:
    """Rule pin: where a pin names a bay, one module starts there."""
    bays: dict[tuple[str, int], list[IntVar]] = {
        (place.panel, place.bay): [] for place in x.frame.pins.values() if place.bay is not None
    }
    for instance, used in x.used.items():
        if instance.pinned_bay is not None:
            bays[instance.panel, instance.pinned_bay].append(used)
    for candidates in bays.values():
        x.model.add_exactly_one(candidates)
