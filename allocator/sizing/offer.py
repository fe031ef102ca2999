"""
What the catalogue offers to this vehicle, sorted and looked up once.

Requirements come in; fuses that suit the net, wires with what they may carry at each panel, relays of the right
voltage and terminals go out, in the order in which they are to be tried.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import get_args

from allocator.errors import SizingError
from allocator.requirements.catalogue import (
    Fuse,
    FuseFormat,
    Relay,
    RelayClass,
    RelayFunction,
    Terminal,
    Wire,
)
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.fuses import system_maximum_v
from allocator.sizing.wires import ampacity_a
from allocator.sizing.withstand import insulation_k, least_fault_area_mm2, let_through_a2s
from allocator.units import limit_to_model, to_model, wire_system


@dataclass(frozen=True, slots=True)
class PlacedWire:
    """A catalogue wire with the continuous current that it may carry in one place, mA."""

    part: Wire
    limit_ma: int


class Offer:
    """
    Everything on offer for one vehicle.

    Parameters
    ----------
    requirements
        Vehicle, rules and catalogue.
    """

    def __init__(self, requirements: Requirements) -> None:
        self.requirements = requirements
        self.scenario = requirements.scenario
        self.vehicle = requirements.scenario.vehicle
        self.rules = requirements.scenario.rules
        self.catalogue = requirements.catalogue
        self.figures = requirements.figures
        self.maximum_v = max(
            system_maximum_v(self.vehicle.nominal_voltage, self.figures), self.vehicle.operating_voltage
        )
        self.loading_share = self.rules.loading_factor / 100
        self.bundle_share = self.rules.bundle_factor / 100
        self.fuse_over_wire_share = (
            1.0 if self.rules.fuse_over_wire == "never" else self.figures.small_craft_share.value
        )
        self.panel_by_name: Mapping[str, PanelSite] = {panel.name: panel for panel in self.scenario.panels}
        self._wires: dict[tuple[float, float], tuple[PlacedWire, ...]] = {}
        self._terminals: dict[tuple[str, float | str, str, int], Terminal | None] = {}

    @cached_property
    def formats(self) -> tuple[FuseFormat, ...]:
        """Fuse formats that some row of some module takes, in the order of their letters."""
        rows = [row for module in self.catalogue.modules for row in module.rows]
        return tuple(letter for letter in get_args(FuseFormat) if any(row.fuse_format == letter for row in rows))

    @cached_property
    def tab_by_format(self) -> Mapping[str, float]:
        """Tab width of the output terminals of each format, mm; the widest, where rows differ (``tabs-differ`` "
        "tells)."""
        rows = [row for module in self.catalogue.modules for row in module.rows]
        return {letter: max(row.tab for row in rows if row.fuse_format == letter) for letter in self.formats}

    @cached_property
    def socket_classes(self) -> tuple[RelayClass, ...]:
        """Relay classes that some module has a socket for, smallest first."""
        offered = {sockets.relay_class for module in self.catalogue.modules for sockets in module.sockets}
        return tuple(name for name in get_args(RelayClass) if name in offered)

    def has_fuses(self, fuse_format: str) -> bool:
        """Say whether any fuse of a format suits the net."""
        return bool(self._fuses_by_format.get(fuse_format))

    def fuses(self, fuse_format: str) -> Sequence[Fuse]:
        """
        Return the fuses of a format that suit the net, by rating and then price.

        Raises
        ------
        SizingError
            If none does.
        """
        found = self._fuses_by_format.get(fuse_format, ())
        if found:
            return found
        fault_a = self.scenario.supply.fault_current
        offered = [fuse for fuse in self.catalogue.fuses if fuse.fuse_format == fuse_format]
        raise SizingError(
            f"no type {fuse_format} fuse on offer is rated for {self.maximum_v:g} V and breaks {fault_a:g} A",
            rule="no-fuse-for-net",
            known="; ".join(dict.fromkeys(f"{fuse.voltage:g} V and {fuse.breaking_capacity:g} A" for fuse in offered))
            or "none of this format is on offer",
            hint="offer fuses of a higher voltage or breaking capacity, or accept another format",
        )

    @cached_property
    def _fuses_by_format(self) -> Mapping[str, tuple[Fuse, ...]]:
        fault_a = self.scenario.supply.fault_current
        suited = [
            fuse
            for fuse in sorted(self.catalogue.fuses, key=lambda fuse: (fuse.rating, fuse.price, fuse.id))
            if fuse.voltage >= self.maximum_v and fuse.breaking_capacity >= fault_a
        ]
        return {
            letter: tuple(fuse for fuse in suited if fuse.fuse_format == letter)
            for letter in sorted({fuse.fuse_format for fuse in suited})
        }

    def wires(self, ambient_c: float, *, bundled: bool) -> Sequence[PlacedWire]:
        """
        Return all wires, thinnest first, with what each may carry.

        Parameters
        ----------
        ambient_c
            Ambient temperature, degC.
        bundled
            Whether it runs in a bundle out of the panel; links within the panel and feed cables do not.
        """
        return self._wires_at(ambient_c, self.bundle_share if bundled else 1.0)

    def run_share(self, circuit: Circuit) -> float:
        """Return the share of its ampacity that is left to the run of a circuit in its bundle."""
        if circuit.bundle is None:
            return self.bundle_share
        steps = self.figures.bundles.value[self.rules.bundle_table]
        return next(share for most, share in steps.items() if circuit.bundle <= most)

    def run_wires(self, ambient_c: float, circuit: Circuit) -> Sequence[PlacedWire]:
        """Return all wires, thinnest first, with what each may carry as the run of a circuit, at ambient_c degC."""
        return self._wires_at(ambient_c, self.run_share(circuit))

    def _wires_at(self, ambient_c: float, share: float) -> Sequence[PlacedWire]:
        key = (ambient_c, share)
        if key not in self._wires:
            self._wires[key] = tuple(
                PlacedWire(wire, limit_to_model(ampacity_a(wire.area, wire.insulation, ambient_c, share, self.figures)))
                for wire in sorted(self.catalogue.wires, key=lambda wire: (wire.area, wire.price, wire.id))
                if self.rules.wire_system in ("any", wire_system(wire.area))
            )
        return self._wires[key]

    @property
    def source_fault_a(self) -> float:
        """Prospective short-circuit current at the source, A."""
        supply = self.scenario.supply
        return supply.fault_current if supply.source_fault_current is None else supply.source_fault_current

    def let_through_a2s(self, fuse: Fuse, fault_a: float | None = None) -> float:
        """
        Return what a fuse lets by in a short circuit, A2s; 0: nothing published, and a caution tells.

        ``fault_a`` is what the short circuit draws at most; None: what it draws at a panel.
        """
        most_a = self.scenario.supply.fault_current if fault_a is None else fault_a
        return let_through_a2s(fuse.fuse_format, fuse.rating, most_a, self.figures) or 0.0

    def fault_area_mm2(self, fuse: Fuse, insulation_c: float, fault_a: float | None = None) -> float:
        """Return the area that outlives a short circuit behind a fuse, with insulation of a temperature, mm2."""
        k = insulation_k(insulation_c, self.figures)
        return least_fault_area_mm2(self.let_through_a2s(fuse, fault_a), k) if k else math.inf

    def outlives(self, wire: Wire, fuse: Fuse, fault_a: float | None = None) -> bool:
        """Say whether a wire outlives a short circuit until a fuse before it opens; ``fault_a`` as above."""
        return wire.area >= self.fault_area_mm2(fuse, wire.insulation, fault_a)

    def bears(self, placed: PlacedWire, fuse: Fuse) -> bool:
        """Say whether a fuse protects a wire: from an overload without end, and in a short circuit."""
        return placed.limit_ma >= to_model(fuse.rating) and self.outlives(placed.part, fuse)

    def relays(self, relay_class: str, function: RelayFunction) -> Sequence[Relay]:
        """Return the relays of a class and function with the vehicle's coil voltage, cheapest first."""
        return [
            relay
            for relay in sorted(self.catalogue.relays, key=lambda relay: (relay.price, relay.id))
            if (relay.relay_class, relay.function) == (relay_class, function)
            and relay.voltage == self.vehicle.nominal_voltage
        ]

    def tabs(self, relay_class: str, function: RelayFunction) -> Mapping[str, float]:
        """Return tab widths of a relay by DIN 72552 designation, mm; none where no such relay is on offer."""
        tabs = self.catalogue.relay_tabs
        entries = [entry.tabs for entry in tabs if (entry.relay_class, entry.function) == (relay_class, function)]
        return {str(designation): width for widths in entries for designation, width in widths.items()}

    def terminal(self, kind: str, size: float | str, wire: Wire, current_ma: int) -> Terminal | None:
        """
        Return the cheapest terminal for a tab (mm) or stud, a wire and a current, mA; None if there is none.

        Terminals that carry more come first among those of one price.
        """
        key = (kind, size, wire.id, current_ma)
        if key not in self._terminals:
            self._terminals[key] = min(
                (item for item in self.terminals(kind, size, wire) if limit_to_model(item.limit) >= current_ma),
                key=lambda item: (item.price, -item.limit, item.id),
                default=None,
            )
        return self._terminals[key]

    def terminals(self, kind: str, size: float | str, wire: Wire) -> Sequence[Terminal]:
        """Return every terminal for a tab (mm) or stud that takes a wire."""
        return [
            item
            for item in self.catalogue.terminals
            if item.kind == kind
            and size == (item.stud if kind == "ring" else item.tab)
            and item.smallest_wire <= wire.area <= item.largest_wire
        ]
