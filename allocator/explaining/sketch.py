"""
Requirements with some of them changed or left out, as a whole new sizing table.

Comes from ``Requirements`` and a list of changes; goes out as ``Sized`` with what the checker may then find. What is
left out never asks for more than before: a smaller set of requirements has every plan of a larger one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from allocator.errors import InputError
from allocator.plan.cautions import cautions_about
from allocator.plan.plan import GoalResult, Plan
from allocator.requirements.amounts import sense
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.scenario import Aim, Bond, Circuit, ModuleLimit, Requirements, Spare
from allocator.requirements.vehicle import Feed, PanelSite
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.kept import KeptSizings
from allocator.sizing.offer import Offer
from allocator.sizing.size import size
from allocator.sizing.sized import Need, Sized
from allocator.sizing.spares import spare_needs
from allocator.solving.floors import floor_of
from allocator.solving.levels import stated
from allocator.solving.models import Targets
from allocator.verifying import Finding, goal_values, verify

MUCH_MA = 10_000_000
"""A limit that nothing comes near, mA."""


@dataclass
class Sketch:
    """Requirements taken apart, for changes to work on; everything by its name or number in the scenario."""

    base: Requirements
    circuits: dict[str, Circuit]
    panels: dict[str, PanelSite]
    feeds: dict[str, Feed]
    spares: dict[int, Spare]
    apart: dict[int, Bond]
    together: dict[int, Bond]
    modules: dict[str, ModuleLimit]
    aims: dict[str, Aim]
    rules: dict[str, Any] = field(default_factory=dict)
    """Other fields of the rules that change."""
    stock: dict[str, int] = field(default_factory=dict)
    """Modules on the shelf, where another number counts."""
    boundless: set[str] = field(default_factory=set)
    """Limits that do not count: ``"entries"``, ``"rows"``, ``"modules"``, or ``"feed NAME"``."""

    def change_circuit(self, name: str, **fields: Any) -> None:
        """Change fields of a circuit, if it is still there."""
        if name in self.circuits:
            self.circuits[name] = self.circuits[name].model_copy(update=fields)

    def requirements(self) -> Requirements:
        """Return the changed requirements; what is about circuits that are left out goes with them."""
        kept: dict[str, Circuit] = {}
        for name, circuit in self.circuits.items():
            chain, seen = circuit, {name}
            while chain.control in self.circuits and chain.control not in seen:
                chain = self.circuits[chain.control]
                seen.add(chain.id)
            if chain.control is None or chain.control in seen:
                kept[name] = circuit
        scenario = self.base.scenario
        rules = scenario.rules.model_copy(
            update={
                **self.rules,
                "spares": tuple(self.spares.values()),
                "apart": _bonds(self.apart, kept),
                "together": _bonds(self.together, kept),
                "modules": tuple(self.modules.values()),
                "objective": tuple(self.aims.values()),
            }
        )
        scenario = scenario.model_copy(
            update={"rules": rules, "panels": tuple(self.panels.values()), "feeds": tuple(self.feeds.values())}
        )
        changed = {"scenario": scenario, "circuits": tuple(kept.values()), "catalogue": self._catalogue()}
        return self.base.model_copy(update=changed)

    def _catalogue(self) -> Catalogue:
        catalogue = self.base.catalogue
        if not self.stock:
            return catalogue
        modules = tuple(
            module.model_copy(update={"stock": self.stock.get(module.id, module.stock)}) for module in catalogue.modules
        )
        return catalogue.model_copy(update={"modules": modules})


Change = Callable[[Sketch], None]


@dataclass(frozen=True)
class Case:
    """Changed requirements with their sizing table; ``boundless`` limits are those that the checker need not keep."""

    sized: Sized
    boundless: frozenset[str]

    @property
    def asks_for_something(self) -> bool:
        """Whether a vehicle without a plan could break it: there is a need, or a least number of spare ways."""
        aims = self.sized.requirements.scenario.rules.aims
        return bool(self.sized.needs) or any(aim.at_least for aim in aims)

    def checked(self, plan: Plan, targets: Targets = ()) -> tuple[Plan, tuple[Finding, ...]]:
        """
        Return a plan as one of these requirements, and what the checker finds.

        Its goals are stated without proof, with the bounds that every plan has; one without findings has its cautions.
        """
        plan, findings = self.judged(plan, targets)
        if not findings:
            plan = plan.model_copy(update={"cautions": cautions_about(self.sized, plan)})
        return plan, findings

    def judged(self, plan: Plan, targets: Targets = ()) -> tuple[Plan, tuple[Finding, ...]]:
        """Return the same without cautions, which take as long as the checker: for plans that nobody gets to see."""
        values = goal_values(self.sized, plan.model_copy(update={"requirements": self.sized.requirements}))
        goals = tuple(_stated(aim, values[aim.goal], floor_of(self.sized, aim.goal)) for aim in _aims(self.sized))
        changed = {"requirements": self.sized.requirements, "cautions": (), "goals": goals}
        plan = plan.model_copy(update=changed)
        findings = [finding for finding in verify(self.sized, plan) if not self._excuses(finding)]
        findings += [
            Finding("goal-cap", f'goal "{goal}"', f"is {values[goal]}; asked for was {sense(goal) * most}")
            for goal, most in targets
            if sense(goal) * values[goal] > most
        ]
        return plan, tuple(findings)

    def _excuses(self, finding: Finding) -> bool:
        """Say whether a finding is only what was given up on purpose."""
        rules = {"entries": "piece-current", "rows": "row-current", "modules": "module-current"}
        if finding.rule in {rules[name] for name in self.boundless if name in rules}:
            return True
        if finding.rule == "spare-ways":  # on a feed of a circuit that is left out
            return "is on feed" in finding.detail
        feeds = [name.removeprefix("feed ") for name in self.boundless if name.startswith("feed ")]
        if finding.rule == "fuse-carries-load":
            return any(finding.where.endswith(f"(feed {name})") for name in feeds)
        if finding.rule == "relay-carries-load":
            return any(finding.detail.startswith(f'feed "{name}" draws ') for name in feeds)
        return finding.rule == "feed-current" and any(f'feed "{name}"' in finding.where for name in feeds)


def _stated(aim: Aim, value: Fraction, floor: Fraction) -> GoalResult:
    """State a goal without proof; no plan is below the floor."""
    cost = sense(aim.goal) * value
    return stated(aim, cost, min(cost, floor), "not closed", proven=False)


def sketch_of(requirements: Requirements) -> Sketch:
    """Take requirements apart."""
    rules = requirements.scenario.rules
    return Sketch(
        requirements,
        {circuit.id: circuit for circuit in requirements.circuits},
        {site.name: site for site in requirements.scenario.panels},
        {feed.name: feed for feed in requirements.scenario.feeds},
        dict(enumerate(rules.spares, 1)),
        dict(enumerate(rules.apart, 1)),
        dict(enumerate(rules.together, 1)),
        {limit.module: limit for limit in rules.modules},
        {aim.goal: aim for aim in rules.aims},
    )


def case_of(requirements: Requirements, changes: Iterable[Change], kept: KeptSizings | None = None) -> Case | None:
    """
    Size requirements with changes; ``kept`` holds what was sized before of the same vehicle.

    Returns
    -------
    Case or None
        None where no part on offer serves what is asked for then.
    """
    sketch = sketch_of(requirements)
    for change in changes:
        change(sketch)
    changed = sketch.requirements()
    try:
        # A spare way keeps the feeds that it may be on, whatever circuits are left out.
        spares = _spares(requirements, changed)
        rules = changed.scenario.rules.model_copy(update={"spares": ()})
        bare = changed.model_copy(update={"scenario": changed.scenario.model_copy(update={"rules": rules})})
        sized = size(bare, kept=kept)
    except InputError:
        return None
    sized = replace(sized, requirements=changed, needs=(*sized.needs, *spares))
    return Case(_without_limits(sized, frozenset(sketch.boundless)), frozenset(sketch.boundless))


def without_circuits(case: Case, names: frozenset[str]) -> Case | None:
    """
    Return a case with circuits left out, without sizing anew.

    Returns
    -------
    Case or None
        None where one of them loads the control of its relay, so that other sums change too.
    """
    sketch = sketch_of(case.sized.requirements)
    for name in names:
        sketch.circuits.pop(name, None)
    kept = sketch.requirements()
    there = {circuit.id for circuit in kept.circuits}
    if any(circuit.control in there for circuit in case.sized.requirements.circuits if circuit.id not in there):
        return None
    sized = replace(
        case.sized,
        requirements=kept,
        needs=tuple(need for need in case.sized.needs if need.kind != "circuit" or need.id in there),
        sizings=tuple(sizing for sizing in case.sized.sizings if sizing.circuit.id in there),
        cautions=(),
    )
    return Case(sized, case.boundless)


def _bonds(bonds: Mapping[int, Bond], circuits: Mapping[str, Circuit]) -> tuple[Bond, ...]:
    kept = ((bond, tuple(name for name in bond.circuits if name in circuits)) for bond in bonds.values())
    return tuple(bond.model_copy(update={"circuits": names}) for bond, names in kept if len(names) > 1)


def _spares(base: Requirements, changed: Requirements) -> tuple[Need, ...]:
    if not changed.scenario.rules.spares:
        return ()
    found = list(spare_needs(FeedTree(Offer(base.model_copy(update={"scenario": changed.scenario})))))
    needs = tuple(item for item in found if isinstance(item, Need))
    if len(needs) < len(found):
        raise InputError([item for item in found if not isinstance(item, Need)])
    return needs


def _aims(sized: Sized) -> tuple[Aim, ...]:
    return sized.requirements.scenario.rules.aims


def _without_limits(sized: Sized, boundless: frozenset[str]) -> Sized:
    # A cap on the peak keeps every feed below what it may carry, whatever becomes of the rule on feeds.
    capped = any(aim.goal == "peak-utilisation" and aim.most is not None for aim in _aims(sized))
    feeds = {
        name: replace(feed, allowed_ma=Fraction(MUCH_MA)) if f"feed {name}" in boundless and not capped else feed
        for name, feed in sized.feeds.items()
    }
    sized = replace(sized, feeds=feeds)
    if "entries" in boundless:
        entries = {key: replace(entry, limit_ma=MUCH_MA) for key, entry in sized.entries.items()}
        sized = replace(sized, entries=entries, socket_limit_ma={})
    if "rows" in boundless:
        sized = replace(sized, row_limit_ma=dict.fromkeys(sized.row_limit_ma))
    if "modules" in boundless:
        sized = replace(sized, module_limit_ma=dict.fromkeys(sized.module_limit_ma))
    return sized
