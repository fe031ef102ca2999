"""
Every set of modules that could hold one of several vehicles, by counting ways and sockets alone.

Sizing tables and targets come in; sets go out of which none is a part of another. Whatever a plan within the targets is
made of is a part of one of them: of ways that needs of some formats must have, and of sockets, a set has enough.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import floor

from ortools.sat.python.cp_model import CpModel, CpSolverSolutionCallback, IntVar, LinearExpr

from allocator.model.frame import Frame
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, solve
from allocator.solving.models import Targets

EFFORT = 10.0
MOST_FOUND = 4000
"""Sets after which the search is given up."""
MOST_UNIONS = 512
Place = tuple[str, str]
"""Panel, and fuse format or relay class; or panel and module type."""
Copies = Mapping[Place, int]
"""Modules by panel and type."""


Union = frozenset[tuple[str, str, str]]
"""Kinds of place: panel, "way" or "socket", and format or class."""


@dataclass
class SufficientSets:
    """The sets for some sizing tables that differ in needs only."""

    tables: Sequence[Sized]
    targets: Targets
    found: list[Copies] = field(default_factory=list)
    _known_offers: dict[Union, Mapping[Place, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        accepted = {id(sized): _accepted(sized) for sized in self.tables}
        unions = _unions(accepted[id(self.tables[0])])
        self._least = {
            key: [(union, sum(number for kinds, number in of_needs.items() if kinds <= union)) for union in unions]
            for key, of_needs in accepted.items()
        }

    def find(self, clock: Clock) -> bool:
        """Look for all sets; say whether they are all known."""
        caps = dict(self.targets)
        if "bays" not in caps:
            return False
        frame = Frame(self.tables[0])
        model, number = CpModel(), {}
        most_bays = min(floor(caps["bays"]), sum(site.max_bays for site in frame.panels))
        modules = frame.sized.requirements.catalogue.modules
        for site in frame.panels:
            for module in modules:
                most = min(site.max_bays // module.bays, frame.module_cap[module.id])
                number[site.name, module.id] = model.new_int_var(0, most, "modules")
            taken = [module.bays * number[site.name, module.id] for module in modules]
            model.add(LinearExpr.sum(taken) <= site.max_bays)
        bays = LinearExpr.sum(
            [module.bays * number[site.name, module.id] for site in frame.panels for module in modules]
        )
        model.add(bays <= most_bays)
        used = []
        for module in modules:
            of_type = LinearExpr.sum([number[site.name, module.id] for site in frame.panels])
            is_used = model.new_bool_var("type")
            model.add(of_type == 0).only_enforce_if(~is_used)
            model.add(of_type >= 1).only_enforce_if(is_used)
            if module.bays == 1 and frame.module_cap[module.id] >= most_bays:
                model.add(bays == most_bays).only_enforce_if(is_used)  # else one more of it fits: a larger set
            used.append(is_used)
        if "module-types" in caps:
            model.add(LinearExpr.sum(used) <= floor(caps["module-types"]))
        for alike in zip(*self._least.values(), strict=True):
            offered = [offers * number[place] for place, offers in self._offers(alike[0][0]).items()]
            model.add(LinearExpr.sum(offered) >= min(least for _, least in alike))
        seen = _Seen(number)
        solved = solve(model, clock, effort=EFFORT, every=seen)
        if solved.status not in ("optimal", "infeasible") or len(seen.sets) >= MOST_FOUND:
            return False
        fitting = [copies for copies in seen.sets if any(self.fit(copies, sized) for sized in self.tables)]
        self.found = [copies for copies in fitting if not any(_is_part(copies, other) for other in fitting)]
        return True

    def fit(self, copies: Copies, sized: Sized) -> bool:
        """Whether ways and sockets of a set are enough for one of the tables."""
        return all(
            sum(offers * copies[place] for place, offers in self._offers(union).items()) >= least
            for union, least in self._least[id(sized)]
        )

    def _offers(self, union: Union) -> Mapping[Place, int]:
        """Return the ways or sockets of some kinds in a module of each type at each panel."""
        if union not in self._known_offers:
            offers: Counter[Place] = Counter()
            for panel, what, name in union:
                for module in self.tables[0].requirements.catalogue.modules:
                    if what == "way":
                        offers[panel, module.id] += sum(row.ways for row in module.rows if row.fuse_format == name)
                    else:
                        offers[panel, module.id] += sum(s.count for s in module.sockets if s.relay_class == name)
            self._known_offers[union] = {place: number for place, number in offers.items() if number}
        return self._known_offers[union]


class _Seen(CpSolverSolutionCallback):
    """Keeps every set once."""

    def __init__(self, number: Mapping[Place, IntVar]) -> None:
        super().__init__()
        self._number = number
        self.sets: list[dict[Place, int]] = []

    def on_solution_callback(self) -> None:
        """Keep one."""
        self.sets.append({place: self.value(variable) for place, variable in self._number.items()})
        if len(self.sets) >= MOST_FOUND:
            self.stop_search()


def _accepted(sized: Sized) -> Mapping[Union, int]:
    """Return how many needs accept just some kinds of ways, and of sockets."""
    accepted: Counter[Union] = Counter()
    for members in Frame(sized).classes:
        ways = {(c.option.panel, "way", str(c.option.fuse_format)) for c in members.choices if members.takes_way}
        sockets = {(c.option.panel, "socket", c.option.relay_class or "") for c in members.choices}
        has_relay = members.choices and members.choices[0].option.relay_class
        for kinds in (ways, sockets if has_relay else set[tuple[str, str, str]]()):
            if kinds:
                accepted[frozenset(kinds)] += len(members.needs)
    return accepted


def _unions(accepted: Mapping[Union, int]) -> Sequence[Union]:
    """Return the unions of what needs accept: a set has as many places of each as there are needs within it."""
    unions: set[Union] = {*accepted}
    for kinds in accepted:
        what = {kind[1] for kind in kinds}
        more = {kinds | other for other in unions if {kind[1] for kind in other} == what}
        if len(unions | more) <= MOST_UNIONS:
            unions |= more
    return sorted(unions, key=sorted)


def _is_part(copies: Copies, other: Copies) -> bool:
    """Whether a set is a smaller part of another one."""
    return copies != other and all(number <= other[place] for place, number in copies.items())
