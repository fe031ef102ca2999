"""
Everything that could be read of one vehicle, from its three files, side by side.

``validating.py`` reads it, and ``reading.py`` turns it into ``Requirements`` when nothing was at fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, cast

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import Catalogue, Module, Part
from allocator.requirements.documents import Document
from allocator.requirements.markings import WireColour
from allocator.requirements.places import Item
from allocator.requirements.scenario import Bond, Circuit, Rules, Scenario
from allocator.requirements.vehicle import Feed, LoadCase, PanelSite, Supply, Vehicle


@dataclass(frozen=True)
class Draft:
    """
    Everything that could be read of one vehicle; a document that could not be read at all is None.

    ``bonds`` are the pairs of the bond columns of the circuits table, by rule (``apart``, ``together``).
    """

    scenario: Document | None
    circuits_table: Document | None
    catalogue: Document | None
    bonds: Mapping[str, Sequence[Item[Bond]]]
    _name_sets: dict[str, frozenset[str]] = field(default_factory=dict)

    def _items(self, document: Document | None, table: str) -> list[Any]:
        return document.items.get(table, []) if document else []

    @cached_property
    def vehicle(self) -> Item[Vehicle] | None:
        """The vehicle, if it could be read."""
        return next(iter(self._items(self.scenario, "vehicle")), None)

    @cached_property
    def supply(self) -> Item[Supply] | None:
        """What stands behind the feeds, if it could be read."""
        return next(iter(self._items(self.scenario, "supply")), None)

    @cached_property
    def rules(self) -> Item[Rules] | None:
        """The rules, if they were given and could be read."""
        return next(iter(self._items(self.scenario, "rules")), None)

    @cached_property
    def figures(self) -> Figures:
        """The figures in force, as far as the rules could be read."""
        return PUBLISHED if self.rules is None else self.rules.value.figures.over(PUBLISHED)

    @cached_property
    def panels(self) -> list[Item[PanelSite]]:
        """Panels in the file's order."""
        return self._items(self.scenario, "panels")

    @cached_property
    def feeds(self) -> list[Item[Feed]]:
        """Feeds in the file's order."""
        return self._items(self.scenario, "feeds")

    @cached_property
    def load_cases(self) -> list[Item[LoadCase]]:
        """Load cases in the file's order."""
        return self._items(self.scenario, "load_cases")

    @cached_property
    def wire_colours(self) -> list[Item[WireColour]]:
        """Rows of the table of wire colours in the file's order."""
        return self._items(self.scenario, "wire_colours")

    @cached_property
    def circuits(self) -> list[Item[Circuit]]:
        """Circuits in the table's order."""
        return self._items(self.circuits_table, "circuits")

    @cached_property
    def modules(self) -> list[Item[Module]]:
        """Modules of the catalogue."""
        return self.parts("modules")

    @cached_property
    def feed_by_name(self) -> Mapping[str, Feed]:
        """Feeds by name; of two with one name the first."""
        return {item.value.name: item.value for item in reversed(self.feeds)}

    @cached_property
    def circuit_by_id(self) -> Mapping[str, Circuit]:
        """Circuits by id; of two with one id the first."""
        return {item.value.id: item.value for item in reversed(self.circuits)}

    @cached_property
    def panel_by_name(self) -> Mapping[str, PanelSite]:
        """Panels by name; of two with one name the first."""
        return {item.value.name: item.value for item in reversed(self.panels)}

    def parts(self, table: str) -> list[Item[Any]]:
        """Return the items of one table of the catalogue."""
        return self._items(self.catalogue, table)

    def rule_items(self, table: str) -> list[Item[Any]]:
        """Return the items of one table within the rules: ``spares``, ``apart``, ``together``, ``modules``."""
        written = self._items(self.scenario, f"rules.{table}")
        return [*written, *self.bonds.get(table, ())]

    def names(self, table: str) -> list[str] | None:
        """Return every name of a table, also of items that are broken; None where the whole table is."""
        document = self.circuits_table if table == "circuits" else self.scenario
        if table in Catalogue.model_fields and table not in Scenario.model_fields:
            document = self.catalogue
        return None if document is None or table in document.lost else document.names.get(table, [])

    def name_set(self, table: str) -> frozenset[str]:
        """Return the names of a table for look-ups; empty where the table is lost."""
        if table not in self._name_sets:
            self._name_sets[table] = frozenset(self.names(table) or ())
        return self._name_sets[table]

    def part_items(self) -> Iterator[tuple[str, Item[Part]]]:
        """Yield every part of the catalogue with the name of its table."""
        for table in Catalogue.model_fields:
            for item in self.parts(table):
                if isinstance(item.value, Part):
                    yield table, cast("Item[Part]", item)
