"""
Sizings kept from one call to the next, of vehicles that differ only in circuits, feeds and what no sum looks at.

``size()`` asks here first; what was sized before under the same conditions comes back as it was. An explanation sizes
one vehicle hundreds of times, each time with a requirement less.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.loads import Loads

Result = TypeVar("Result")


@dataclass
class KeptSizings:
    """
    Results by what they come from.

    One of these is for one vehicle: its figures, catalogue, supply, load cases, panel ambients and the rules for fuses
    and wires must be the same in every call.
    """

    _by_name: dict[str, list[tuple[Any, Any]]] = field(default_factory=dict)

    def circuit(
        self, circuits: Mapping[str, Circuit], loads: Loads, circuit: Circuit, panels: Sequence[PanelSite],
        work: Callable[[], Result],
    ) -> Result:  # fmt: skip
        """Return the sizing of a circuit: of itself, its control, what both draw, and where it may be."""
        control = circuits.get(circuit.control or "")
        drawn = loads.of(circuit.id), None if control is None else loads.of(control.id)
        conditions = circuit, control, drawn, loads.coils_on(circuit.id), [panel.name for panel in panels]
        return self._kept(f"circuit {circuit.id}", conditions, work)

    def feeds(
        self, circuits: Mapping[str, Circuit], loads: Loads, feeds: Sequence[Any], work: Callable[[], Result]
    ) -> Result:
        """Return the sizing of all feeds: of themselves, and of what switches their relays."""
        controls = [circuits[name] for name in (feed.control for feed in feeds) if name in circuits]
        conditions = tuple(feeds), controls, [loads.of(control.id) for control in controls]
        return self._kept("feeds", conditions, work)

    def _kept(self, name: str, conditions: Any, work: Callable[[], Result]) -> Result:
        known = self._by_name.setdefault(name, [])
        for others, result in known:
            if others == conditions:
                return result  # type: ignore[no-any-return]
        result = work()
        known.append((conditions, result))
        return result
