"""
The housing model: the covering model with a price, in which modules are counted by type and types can be forbidden.

Comes from ``Frame``; goes to ``solving/housing.py``. A *housing* is carriers and modules with the accessories that are
ordered for them; its price is what the range of module types decides. Feeds, rows and amperes are left out, so that the
least housing is a bound for every plan; what plans refuse is learnt as clauses.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.cover import Cover, build_cover
from allocator.model.frame import Frame
from allocator.requirements.catalogue import Carrier, Catalogue, Module, Occasion


@dataclass(frozen=True)
class Housing:
    """The model with its variables."""

    cover: Cover
    used: Mapping[str, IntVar]
    """Whether a module type is in use."""
    price: LinearExprT
    """Price of the housing, cents."""

    def number(self, module: str) -> LinearExprT:
        """Return how many modules of a type stand anywhere."""
        return LinearExpr.sum([variable for (_, name), variable in self.cover.modules.items() if name == module])

    def not_all_of(self, modules: Iterable[str]) -> None:
        """Leave out every housing in which all of some types are in use."""
        self.cover.model.add_bool_or([~self.used[module] for module in modules])

    def beyond(self, most: Mapping[str, int], bays: int | None) -> None:
        """Leave out every housing within ``most`` modules of each type and fewer than ``bays`` bays (None: any)."""
        model, escapes = self.cover.model, []
        for module in self.used:
            more = model.new_bool_var(f"more than {most.get(module, 0)} {module}")
            model.add(self.number(module) > most.get(module, 0)).only_enforce_if(more)
            escapes.append(more)
        if bays is not None:
            larger = model.new_bool_var(f"{bays} bays or more")
            model.add(self.cover.bays >= bays).only_enforce_if(larger)
            escapes.append(larger)
        model.add_bool_or(escapes)


def accessory_cents(catalogue: Catalogue, occasion: Occasion) -> int:
    """Return what the accessories of one occasion cost, cents."""
    return sum(item.price * item.quantity for item in catalogue.accessories if item.per == occasion)


def carrier_cents(catalogue: Catalogue, carrier: Carrier) -> int:
    """Return the price of a carrier with what is ordered for it and its bays, all of them empty."""
    per_bay = accessory_cents(catalogue, "bay") + accessory_cents(catalogue, "empty-bay")
    return carrier.price + accessory_cents(catalogue, "carrier") + per_bay * carrier.bays


def module_cents(catalogue: Catalogue, module: Module) -> int:
    """Return what a module adds: with what is ordered for it, its rows and its sockets, without that of its bays."""
    sockets = accessory_cents(catalogue, "socket") * sum(group.count for group in module.sockets)
    rows = accessory_cents(catalogue, "row") * len(module.rows)
    bare = accessory_cents(catalogue, "empty-bay") * module.bays
    return module.price + accessory_cents(catalogue, "module") + rows + sockets - bare


def build_housing(frame: Frame) -> Housing:
    """Build the housing model of a frame."""
    cover, catalogue = build_cover(frame), frame.sized.requirements.catalogue
    model, used = cover.model, {}
    for module in catalogue.modules:
        copies = [variable for (_, name), variable in cover.modules.items() if name == module.id]
        used[module.id] = model.new_bool_var(f"in use {module.id}")
        for variable in copies:
            model.add(variable == 0).only_enforce_if(~used[module.id])
        model.add(LinearExpr.sum(copies) >= 1).only_enforce_if(used[module.id])
    carriers = {carrier.id: carrier_cents(catalogue, carrier) for carrier in catalogue.carriers}
    terms: list[LinearExprT] = [carriers[name] * variable for (_, name), variable in cover.carriers.items()]
    for module in catalogue.modules:
        copies = [variable for (_, name), variable in cover.modules.items() if name == module.id]
        terms += [module_cents(catalogue, module) * variable for variable in copies]
    return Housing(cover, used, LinearExpr.sum(terms))
