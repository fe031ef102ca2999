"""
The fixed frame of a model: which modules could stand where, and which cases, options and feeds can matter.

Comes from ``Sized``; goes to ``counts.py`` and ``placing.py``, which hang variables on it. Nothing here is decided.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil, floor
from typing import NamedTuple

from allocator.address import Place, parse_place
from allocator.model.classes import Choice, Class, equal_needs
from allocator.plan.built import Built
from allocator.requirements.catalogue import Module
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from allocator.units import AMPERES_TO_MODEL


class Instance(NamedTuple):
    """The n-th copy of a module type that a panel could hold; ``pinned_bay`` is its first bay where a pin says so."""

    panel: str
    module: str
    copy: int
    pinned_bay: int | None = None


class RowSlot(NamedTuple):
    """One row of an instance; ``group`` numbers the supply group (``supply_groups``) that feeds it."""

    instance: Instance
    row: int
    group: int


@dataclass(frozen=True)
class Frame:
    """Everything fixed that the models hang their variables on."""

    sized: Sized
    copies: Mapping[tuple[str, str], int] | None = None
    """Most copies of each type at each panel, by (panel, module type), where a target on bays or types caps them."""
    built: Built | None = None
    """What stands already, where a panel is revised: its modules are instances at their bays (``moves.py``)."""

    @cached_property
    def panels(self) -> tuple[PanelSite, ...]:
        """Panels, in the scenario's order."""
        return self.sized.requirements.scenario.panels

    @cached_property
    def pins(self) -> Mapping[str, Place]:
        """Place of every pinned need."""
        return {need.id: parse_place(need.pin) for need in self.sized.needs if need.pin}

    @cached_property
    def rows_with_pinned_ways(self) -> frozenset[tuple[str, int | None, int]]:
        """Panel, bay and row of every pin that names a way."""
        return frozenset(
            (place.panel, place.bay, place.row)
            for place in self.pins.values()
            if place.row is not None and place.first is not None
        )

    def has_pinned_ways(self, slot: RowSlot) -> bool:
        """Whether a pin names a way of a row, or it is built; then the feeds of the row cannot lie as they like."""
        pinned = (slot.instance.panel, slot.instance.pinned_bay, slot.row) in self.rows_with_pinned_ways
        return pinned or self.is_built(slot.instance)

    def is_built(self, instance: Instance) -> bool:
        """Whether an instance is a module of the panel as built, in its bay."""
        if self.built is None or instance.pinned_bay is None:
            return False
        return self.built.modules.get((instance.panel, instance.pinned_bay)) == instance.module

    @cached_property
    def cases(self) -> tuple[int, ...]:
        """Indices of the load cases that no other case dominates (every need draws at least as much there)."""
        columns = [tuple(need.load_ma_by_case[case] for need in self.sized.needs) for case in range(self.num_cases)]
        kept: list[int] = []
        for case, column in enumerate(columns):
            dominated = any(
                all(mine <= others for mine, others in zip(column, columns[other], strict=True))
                and (column != columns[other] or other < case)
                for other in range(self.num_cases)
                if other != case
            )
            if not dominated:
                kept.append(case)
        return tuple(kept)

    @property
    def num_cases(self) -> int:
        """Number of load cases of the scenario."""
        return len(self.sized.requirements.scenario.load_cases)

    @cached_property
    def module_cap(self) -> Mapping[str, int]:
        """Most modules of each type, over all panels: the rules' limit and, where asked, the stock."""
        rules = self.sized.requirements.scenario.rules
        most = sum(site.max_bays for site in self.panels) if self.wants_spare_ways else len(self.sized.needs) * 2
        caps = {module.id: most for module in self.sized.requirements.catalogue.modules}
        for limit in rules.modules:
            caps[limit.module] = min(caps[limit.module], limit.most)
        if rules.use_stock:
            for module in self.sized.requirements.catalogue.modules:
                if module.stock is not None:
                    caps[module.id] = min(caps[module.id], module.stock)
        return caps

    @property
    def wants_spare_ways(self) -> bool:
        """Whether modules are of use even where no need takes a way or socket of them."""
        return "spare-ways" in self.sized.requirements.scenario.rules.goals

    def _is_of_use(self, module: Module, panel: str) -> bool:
        if self.wants_spare_ways and module.rows:
            return True
        formats = {option.fuse_format for need in self.sized.needs for option in need.options if option.panel == panel}
        classes = {option.relay_class for need in self.sized.needs for option in need.options if option.panel == panel}
        return any(row.fuse_format in formats for row in module.rows) or any(
            sockets.relay_class in classes for sockets in module.sockets
        )

    @cached_property
    def instances(self) -> tuple[Instance, ...]:
        """Every module that could stand somewhere: free copies, one of each type at every pinned bay, those built."""
        found: list[Instance] = []
        for site in self.panels:
            pinned_bays = sorted({p.bay for p in self.pins.values() if p.panel == site.name and p.bay is not None})
            for module in self.sized.requirements.catalogue.modules:
                built = self._built_bays(site.name, module.id)
                found += [Instance(site.name, module.id, -1 - i, bay) for i, bay in enumerate(built)]
                if not self._is_of_use(module, site.name):
                    continue
                copies = min(site.max_bays // module.bays, self.module_cap[module.id])
                if self.copies is not None:
                    copies = min(copies, self.copies[site.name, module.id])
                found += [Instance(site.name, module.id, copy) for copy in range(copies)]
                if copies:
                    free = [bay for bay in pinned_bays if bay not in built]
                    found += [Instance(site.name, module.id, -1 - len(built) - i, bay) for i, bay in enumerate(free)]
        return tuple(found)

    def _built_bays(self, panel: str, module: str) -> list[int]:
        built = {} if self.built is None else self.built.modules
        return [bay for (at, bay), name in built.items() if (at, name) == (panel, module)]

    @cached_property
    def rows(self) -> tuple[RowSlot, ...]:
        """Every row of every instance."""
        slots = []
        for instance in self.instances:
            for group, members in enumerate(self.groups_of(instance.module)):
                slots += [RowSlot(instance, row, group) for row in members]
        return tuple(slots)

    @cached_property
    def _groups(self) -> Mapping[str, tuple[tuple[int, ...], ...]]:
        return {module.id: supply_groups(module) for module in self.sized.requirements.catalogue.modules}

    def groups_of(self, module: str) -> tuple[tuple[int, ...], ...]:
        """Return the supply groups of a module type."""
        return self._groups[module]

    def module(self, instance: Instance) -> Module:
        """Return the module type of an instance."""
        return self.sized.module_by_id[instance.module]

    def ways(self, slot: RowSlot) -> int:
        """Return the number of ways of a row."""
        return self.module(slot.instance).rows[slot.row].ways

    def format(self, slot: RowSlot) -> str:
        """Return the fuse format of a row."""
        return self.module(slot.instance).rows[slot.row].fuse_format

    def bus(self, slot: RowSlot) -> str:
        """Return how a row is fed: strip, single or stud."""
        return self.module(slot.instance).rows[slot.row].bus

    def choices(self, need: Need) -> tuple[Choice, ...]:
        """Return every option of a need with every feed that reaches its panel."""
        pin = self.pins.get(need.id)
        feeds = [feed for feed in need.feeds if need.id not in self._key_out or self._lives_with_the_key_out(feed)]
        return tuple(
            Choice(option, feed)
            for option in need.options
            if pin is None or option.panel == pin.panel
            for feed in feeds
            if option.panel in self.sized.feeds[feed].panels
        )

    @cached_property
    def _key_out(self) -> frozenset[str]:
        """Circuits that must work with the key out, and those that supply the coils of their relays."""
        circuits = self.sized.requirements.circuits
        marked = {circuit.id for circuit in circuits if circuit.key_out}
        relays = ("relay", "changeover")
        controls = {c.control for c in circuits if c.key_out and c.control and c.switching in relays}
        return frozenset(marked | controls)

    def _lives_with_the_key_out(self, name: str) -> bool:
        """Rule key-out: the feed and all above it are permanent and pass no relay."""
        feeds = {feed.name: feed for feed in self.sized.requirements.scenario.feeds}
        feed = feeds[name]
        above = feed.source is None or self._lives_with_the_key_out(feed.source)
        return feed.kind == "permanent" and feed.relay_class is None and above

    def is_beside_its_fuse(self, option: Option) -> bool:
        """Return whether rule relay-beside-fuse is on the relay of an option."""
        from_a = self.sized.requirements.scenario.rules.relay_beside_fuse_from
        return from_a is not None and option.fuse is not None and option.fuse_rating_a >= from_a

    def hot_from_ma(self, index: int, panel: str, fuse_format: str | None) -> int | None:
        """
        Return the least load with which a way of a class is hot at a panel in a format, mA; None: it never is.

        Rule hot-apart. Where relay classes came with fuses of their own, the smallest would count: no sizing does that.
        """
        rules = self.sized.requirements.scenario.rules
        ratings_a = [
            choice.option.fuse_rating_a
            for choice in self.classes[index].choices
            if choice.option.fuse is not None
            and (choice.option.panel, choice.option.fuse_format) == (panel, fuse_format)
        ]
        if rules.hot_share is None or not ratings_a:
            return None
        above_ma = Fraction(repr(rules.hot_share)) / 100 * Fraction(repr(min(ratings_a))) * AMPERES_TO_MODEL
        return max(floor(above_ma) + 1, ceil(Fraction(repr(rules.hot_from)) * AMPERES_TO_MODEL))

    @cached_property
    def hot_places(self) -> frozenset[tuple[str, str | None]]:
        """Panels and formats at which two needs or more can be hot, so that pieces may be cut to lie between them."""
        number: dict[tuple[str, str | None], int] = defaultdict(int)
        for index, members in enumerate(self.classes):
            for place in dict.fromkeys((c.option.panel, c.option.fuse_format) for c in members.choices):
                from_ma = self.hot_from_ma(index, *place)
                loads = members.load_ma_by_case
                if from_ma is not None and (members.supplies is not None or max(loads) >= from_ma):
                    number[place] += len(members.needs)
        return frozenset(place for place, needs in number.items() if needs > 1)

    @cached_property
    def class_by_need(self) -> Mapping[str, int]:
        """Index of the class of every need."""
        return {need: index for index, members in enumerate(self.classes) for need in members.needs}

    @cached_property
    def classes(self) -> tuple[Class, ...]:
        """Needs merged where no rule can tell them apart."""
        return tuple(
            Class(
                tuple(need.id for need in needs),
                self.choices(needs[0]),
                needs[0].load_ma_by_case,
                needs[0].kind,
                needs[0].takes_way,
                needs[0].supplies,
            )
            for needs in equal_needs(self.sized, self._key_out, self.built)
        )
