"""
A vehicle's own figures: the table ``[rules.figures]`` of a scenario, laid over the published ones.

Comes in as TOML; goes out as the ``Figures`` in force. A number is replaced whole, a table cell by cell: what is not
named stays as published. What belongs to a definition or a formula (``FIXED``) cannot be changed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field

from allocator.figures import Figures, whole_thousandths
from allocator.requirements.catalogue import FuseFormat, Strict
from allocator.requirements.lamps import discharge_names, filament_names
from allocator.requirements.places import did_you_mean
from allocator.requirements.quantities import Ampere, Area, Quantity, Rating, Volt, WireArea, Written
from allocator.units import BadValue, gauge_of, gauge_text, number_in

FIXED: Mapping[str, str] = {
    "sae_area": "what the names of SAE gauges stand for: needed to read the files",
    "foot_m": "exact by definition",
    "copper_density": "only turns the volume of the goal copper into a mass to be read",
    "onderdonk": "belongs to its formula",
    "copper_melts": "belongs to the same formula",
    "fuse_drop": "own drops go to the fuses of the catalogue",
    "fuse_ratings_recalled": "own ratings of these types go into fuse_ratings",
    "lamp_watts_recalled": "own watts of these lamps go into lamp_watts",
    "discharge_watts_recalled": "own watts of these lamps go into discharge_watts",
}
"""Figures that no vehicle may have a value of its own for, and why."""


class _Plain(Written):
    """A plain number from ``low`` to ``high``, or the same in percent."""

    __slots__ = ("high", "low")

    def __init__(self, low: str, high: str) -> None:
        self.low, self.high = low, high

    def read(self, value: object) -> float:
        """Read ``0.75`` or ``"75 %"``."""
        expected = f'a number from {self.low} to {self.high}, or the same in percent ("75 %" for 0.75)'
        if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
            number = Decimal(str(value))
        elif isinstance(value, str):
            number = number_in(value, "percent") / 100
        else:
            raise BadValue("not-a-number", "is no number", expected)
        if not number.is_finite() or not Decimal(self.low) <= number <= Decimal(self.high):
            raise BadValue("out-of-range", "is out of range", expected)
        return float(number)

    def write(self, value: float) -> str:
        """Return the number in percent."""
        return f"{Decimal(repr(value)) * 100:f} %"


class _TableArea(WireArea):
    """A row of the ampacity table: an area or a gauge, rounded down as the rows of the table are."""

    def read(self, value: object) -> float:
        """Read ``"2.5 mm2"`` or ``"14 AWG"``."""
        return whole_thousandths(super().read(value))


class _Gauge(Written):
    """The number of a wire gauge."""

    __slots__ = ()

    def read(self, value: object) -> int:
        """Read ``"14 AWG"``."""
        gauge = gauge_of(str(value))
        if gauge is None:
            raise BadValue("bad-gauge", "is no wire gauge", 'a gauge such as "14 AWG"')
        return gauge

    def write(self, value: int) -> str:
        """Return the gauge with its unit."""
        return gauge_text(value)


class _Count(Written):
    """Circuits in a bundle: up to how many a column holds."""

    __slots__ = ()

    def read(self, value: object) -> float:
        """Read a whole number, or ``more``."""
        text = str(value)
        if text == "more":
            return math.inf
        if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= 1000:
            raise BadValue("bad-count", "is no number of circuits", 'a whole number from 1 to 1000, or "more"')
        return float(text)

    def write(self, value: float) -> str:
        """Return the number; ``more`` for the column without an end."""
        return "more" if math.isinf(value) else f"{value:g}"


class _LampName(Written):
    """A lamp that is known for some net."""

    __slots__ = ("_names",)

    def __init__(self, names: Callable[[], tuple[str, ...]]) -> None:
        self._names = names()

    def read(self, value: object) -> str:
        """Read ``"P21W"``."""
        if value not in self._names:
            expected, hint = f"one of {', '.join(self._names)}", did_you_mean(str(value), self._names)
            raise BadValue("unknown-lamp", "is an unknown lamp", expected, hint)
        return str(value)

    def write(self, value: str) -> str:
        """Return the name."""
        return value


Degrees = Annotated[float, Quantity("degC", "-60", "400")]
Second = Annotated[float, Quantity("s", "0.0001", "10000000")]
Times = Annotated[float, _Plain("1", "100")]
"""A current over another."""
Part = Annotated[float, _Plain("0.01", "1")]
"""A share of a whole."""
MetreResistance = Annotated[float, Quantity("mohm/m", "0.01", "1000")]
FootResistance = Annotated[float, Quantity("mohm/ft", "0.01", "1000")]
ByAmbient = dict[Degrees, Part]
Watt = Annotated[float, Quantity("W", "0.1", "1000")]
Unset = Field(None, exclude_if=lambda value: value is None)
Empty: Any = Field({}, exclude_if=lambda value: not value)


class OwnGate(Strict):
    """When a fuse opens at one share of its rating; a time that is not given is not known."""

    earliest: Second | None = Field(None, description="earliest opening time")
    latest: Second | None = Field(None, description="latest opening time")


class OwnFigures(Strict):
    """Figures of this vehicle in place of those that ``allocator/figures.py`` holds, by the same names."""

    copper_alpha: Annotated[float, Quantity("1/kelvin", "0.003", "0.005")] | None = Unset
    metric_resistance: dict[Area, MetreResistance] = Empty
    gauge_resistance: dict[Annotated[int, _Gauge()], FootResistance] = Empty
    other_resistivity: Annotated[float, Quantity("mohm*mm**2/m", "15", "40")] | None = Unset
    ampacity: dict[Annotated[float, _TableArea("mm**2", "0.01", "1000")], dict[Degrees, Rating]] = Empty
    ampacity_ambient: Annotated[float, Quantity("degC", "0", "55")] | None = Unset
    ambient_factor_step: Annotated[float, _Plain("0.0001", "0.1")] | None = Unset
    bundles: dict[Literal["steps", "bunched"], dict[Annotated[float, _Count()], Part]] = Empty
    smallest_separate: Area | None = Unset
    adiabatic_copper: Annotated[float, Quantity("A*s**0.5/mm**2", "100", "300")] | None = Unset
    copper_inferred_zero: Annotated[float, Quantity("degC", "200", "260")] | None = Unset
    final_temperature: dict[Degrees, Degrees] = Empty
    adiabatic_longest: Annotated[float, Quantity("s", "0.01", "5")] | None = Unset
    coil_lead_largest: Area | None = Unset
    system_maximum: dict[Volt, Volt] = Empty
    system_maximum_ratio: Annotated[float, _Plain("1", "2")] | None = Unset
    fuse_share: dict[FuseFormat, ByAmbient] = Empty
    fuse_published: dict[FuseFormat, dict[Rating, dict[Degrees, Rating]]] = Empty
    fuse_ratings: dict[FuseFormat, tuple[Rating, ...]] = Empty
    fuse_gates: dict[FuseFormat, dict[Annotated[float, Quantity("percent", "100", "10000")], OwnGate]] = Empty
    fuse_cold_resistance: dict[FuseFormat, dict[Rating, Annotated[float, Quantity("mohm", "0.01", "10000")]]] = Empty
    fuse_melting: dict[FuseFormat, dict[Rating, Annotated[float, Quantity("A**2*s", "0.1", "10000000")]]] = Empty
    small_craft_share: Annotated[float, _Plain("1", "1.5")] | None = Unset
    small_craft_below: Annotated[float, Quantity("V", "1", "50")] | None = Unset
    clearing_multiple: Times | None = Unset
    main_fuse_lead: Annotated[float, Quantity("m", "0", "10")] | None = Unset
    main_fuse_lead_sheathed: Annotated[float, Quantity("m", "0", "10")] | None = Unset
    selectivity: Times | None = Unset
    lamp_watts: dict[Volt, dict[Annotated[str, _LampName(filament_names)], Watt]] = Empty
    discharge_watts: dict[Annotated[str, _LampName(discharge_names)], Watt] = Empty
    discharge_ballast: Annotated[float, _Plain("0.3", "1")] | None = Unset
    discharge_start: Rating | None = Unset
    discharge_start_time: Second | None = Unset
    lamp_inrush: Times | None = Unset
    lamp_inrush_time: Second | None = Unset
    motor_inrush: Times | None = Unset
    motor_stall: Times | None = Unset
    motor_inrush_time: Second | None = Unset
    relay_operates: Part | None = Unset
    contact_factors: dict[Literal["lamp", "inductive", "motor", "resistive"], dict[Volt, Times]] = Empty
    coil_resistor: Annotated[float, _Plain("2", "20")] | None = Unset
    relay_near_limit: Part | None = Unset
    charger_share: Part | None = Unset
    quiescent_limit: Ampere | None = Unset
    battery_share: Part | None = Unset

    def given(self) -> Mapping[str, Any]:
        """Return the figures that were given, as ``Figures`` holds them, by name."""
        values = {name: getattr(self, name) for name in type(self).model_fields}
        return {name: _as_held(value) for name, value in values.items() if value is not None and value != {}}

    def over(self, published: Figures) -> Figures:
        """Return the figures in force: those given here, else the published ones."""
        given = self.given()
        return published.with_own(given) if given else published


def _as_held(value: Any) -> Any:
    if isinstance(value, OwnGate):
        return value.earliest, value.latest
    return {key: _as_held(cell) for key, cell in value.items()} if isinstance(value, dict) else value
