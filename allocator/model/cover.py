"""
The covering model: modules, ways and sockets are counted, feeds and rows are left out.

The smallest relaxation of all, solved in milliseconds. It gives the first bound on bays, and how many copies of a type
can be of use within so many bays and types: the other models need no more copies than that.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.classes import Choice, Class
from allocator.model.frame import Frame
from allocator.sizing.sized import Sized

Way = tuple[str, str | None, str | None]
"""Panel, fuse format and relay class that a need may choose."""
Alike = tuple[bool, tuple[Way, ...]]
"""Whether needs take a way, and what they may choose from: all that covering knows of them."""
MORE_ROOM = 1000
"""What a spare way weighs against a bay or a type: more than all of these."""


@dataclass(frozen=True)
class Cover:
    """The covering model with its variables."""

    model: cp_model.CpModel
    modules: Mapping[tuple[str, str], IntVar]
    """Number of modules, by (panel, module type)."""
    carriers: Mapping[tuple[str, str], IntVar]
    """Number of carriers, by (panel, carrier)."""
    chosen: Mapping[tuple[Alike, Way], IntVar]
    """Number of alike needs with each of their choices."""
    bays: LinearExprT
    types: LinearExprT
    spare_ways: LinearExprT
    """As a cost: ways that are taken less those that there are (``goals``)."""

    @property
    def roomiest(self) -> LinearExprT:
        """Most spare ways, and of equal ones the fewest bays and types."""
        return LinearExpr.weighted_sum([self.spare_ways, self.bays, self.types], [MORE_ROOM, 1, 1])


def build_cover(frame: Frame) -> Cover:
    """Build the covering model of a frame."""
    model = cp_model.CpModel()
    wanted: dict[tuple[str, str], list[LinearExprT]] = defaultdict(list)
    chosen: dict[tuple[Alike, Way], IntVar] = {}
    for alike, num_needs in Counter(alike_of(members) for members in frame.classes for _ in members.needs).items():
        takes_way, options = alike
        for option in options:
            chosen[alike, option] = variable = model.new_int_var(0, num_needs, "option")
            panel, fuse_format, relay_class = option
            if takes_way and fuse_format is not None:
                wanted[panel, f"way {fuse_format}"].append(variable)
            if relay_class is not None:
                wanted[panel, f"socket {relay_class}"].append(variable)
        model.add(LinearExpr.sum([chosen[alike, option] for option in options]) == num_needs)
    catalogue = frame.sized.requirements.catalogue
    offered: dict[tuple[str, str], list[LinearExprT]] = defaultdict(list)
    modules: dict[tuple[str, str], IntVar] = {}
    carriers: dict[tuple[str, str], IntVar] = {}
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
                placed = model.new_int_var(0, site.max_bays // carrier.bays, f"{site.name} {carrier.id}")
                carriers[site.name, carrier.id] = placed
                bays.append(carrier.bays * placed)
        model.add(LinearExpr.sum(bays) <= site.max_bays)
        model.add(LinearExpr.sum(filled) <= LinearExpr.sum(bays))
        total += bays
    for key, needs in wanted.items():
        model.add(LinearExpr.sum(needs) <= LinearExpr.sum(offered[key]))
    for module_id, most in frame.module_cap.items():
        model.add(LinearExpr.sum([modules[site.name, module_id] for site in frame.panels]) <= most)
    used = []
    for module_id in frame.module_cap:
        of_type = LinearExpr.sum([modules[site.name, module_id] for site in frame.panels])
        type_used = model.new_bool_var(f"type {module_id}")
        model.add(of_type == 0).only_enforce_if(~type_used)
        used.append(type_used)
    ways = spare_ways(frame.sized, [(module, number) for (_, module), number in modules.items()])
    return Cover(model, modules, carriers, chosen, LinearExpr.sum(total), LinearExpr.sum(used), ways)


def spare_ways(sized: Sized, modules: Iterable[tuple[str, LinearExprT]]) -> LinearExprT:
    """
    Return the cost of spare ways: how many ways needs take, less how many there are.

    Every need has its way, so that the modules alone decide: their types with the number of each.
    """
    ways = {module.id: sum(row.ways for row in module.rows) for module in sized.requirements.catalogue.modules}
    taken = sum(need.takes_way and need.kind != "spare" for need in sized.needs)
    return taken - LinearExpr.sum([ways[module] * number for module, number in modules])


def alike_of(members: Class) -> Alike:
    """Return what covering knows of the needs of a class."""
    return members.takes_way, tuple(dict.fromkeys(way_of(choice) for choice in members.choices))


def way_of(choice: Choice) -> Way:
    """Return what covering knows of a choice."""
    return choice.option.panel, choice.option.fuse_format, choice.option.relay_class
