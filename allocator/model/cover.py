"""
The covering model: fewest bays by counting ways and sockets alone, without feeds and rows.

The smallest relaxation of all: solved in milliseconds, it gives the first bound on bays, so that the count model needs no more
copies of a module than fit into them.
"""

from __future__ import annotations

from collections import defaultdict

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Frame


def fewest_bays(frame: Frame) -> cp_model.CpModel:
    """Build the covering model of a frame; its objective is the number of bays."""
    model = cp_model.CpModel()
    wanted: dict[tuple[str, str], list[LinearExprT]] = defaultdict(list)
    for index, members in enumerate(frame.classes):
        options = list(dict.fromkeys((c.option.panel, c.option.fuse_format, c.option.relay_class) for c in members.choices))
        chosen = [model.new_int_var(0, len(members.needs), f"option {index} {number}") for number in range(len(options))]
        model.add(LinearExpr.sum(chosen) == len(members.needs))
        for variable, (panel, fuse_format, relay_class) in zip(chosen, options, strict=True):
            if members.takes_way and fuse_format is not None:
                wanted[panel, f"way {fuse_format}"].append(variable)
            if relay_class is not None:
                wanted[panel, f"socket {relay_class}"].append(variable)
    catalogue = frame.sized.requirements.catalogue
    offered: dict[tuple[str, str], list[LinearExprT]] = defaultdict(list)
    modules: dict[tuple[str, str], IntVar] = {}
    total: list[LinearExprT] = []
    for site in frame.panels:
        filled: list[LinearExprT] = []
        for module in catalogue.modules:
            most = min(site.max_bays // module.bays, frame.module_cap[module.id])
            number = model.new_int_var(0, most, f"modules {site.name} {module.id}")
            modules[site.name, module.id] = number
            filled.append(module.bays * number)
            for row in module.rows:
                offered[site.name, f"way {row.fuse_format}"].append(row.ways * number)
            for group in module.sockets:
                offered[site.name, f"socket {group.relay_class}"].append(group.count * number)
        bays: list[LinearExprT] = []
        for carrier in catalogue.carriers:
            if not site.carriers or carrier.id in site.carriers:
                bays.append(carrier.bays * model.new_int_var(0, site.max_bays // carrier.bays, f"{site.name} {carrier.id}"))
        model.add(LinearExpr.sum(bays) <= site.max_bays)
        model.add(LinearExpr.sum(filled) <= LinearExpr.sum(bays))
        total += bays
    for key, needs in wanted.items():
        model.add(LinearExpr.sum(needs) <= LinearExpr.sum(offered[key]))
    for module_id, most in frame.module_cap.items():
        model.add(LinearExpr.sum([modules[site.name, module_id] for site in frame.panels]) <= most)
    model.minimize(LinearExpr.sum(total))
    return model
