"""
Which figures behind a sizing table a reader should know of: a vehicle's own, and those that no source confirms.

A sizing table comes in; one record for each such figure goes out, for cautions, reports and the command line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from allocator.figures import PUBLISHED, Confidence, Figure
from allocator.requirements.lamps import discharge_names
from allocator.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class OwnCell:
    """One number of a vehicle's own: its place in a table (empty for a figure that is one number), it, the other."""

    cell: str
    value: str
    published: str
    """Empty where nothing was published for that cell."""

    @property
    def text(self) -> str:
        """The cell and what stands in it."""
        instead = f"in place of {self.published}" if self.published else "where nothing is published"
        return f"{self.cell}: {self.value} {instead}" if self.cell else f"{self.value} {instead}"


@dataclass(frozen=True, slots=True)
class FigureTold:
    """
    A figure to know of.

    ``confidence`` is U for the vehicle's own (``own`` says what differs), M for a figure from memory, P for common
    practice; ``source`` is that of the published figure, ``value`` empty for a table.
    """

    name: str
    confidence: Confidence
    value: str
    source: str
    own: tuple[OwnCell, ...] = ()

    @property
    def mark(self) -> str:
        """The confidence in words."""
        return {"U": "this vehicle's own", "M": "from memory", "P": "common practice"}[self.confidence]


def figures_told(sized: Sized) -> tuple[FigureTold, ...]:
    """Return every figure of the vehicle's own, then those from memory that the sums used, then common practice."""
    figures, given = sized.requirements.figures.by_name(), sized.requirements.scenario.rules.figures.given()
    published = PUBLISHED.by_name()
    own = [
        FigureTold(
            name, "U", _value(figures[name]), published[name].source, tuple(_cells(value, published[name].value, name))
        )
        for name, value in given.items()
    ]
    recalled = [name for name, applies in _recalled_and_used(sized).items() if applies and name not in given]
    usual = [name for name, figure in figures.items() if figure.confidence == "P"]
    return (*own, *(_as_published(name) for name in (*recalled, *usual)))


def _as_published(name: str) -> FigureTold:
    figure = PUBLISHED.by_name()[name]
    return FigureTold(name, figure.confidence, _value(figure), figure.source)


def _recalled_and_used(sized: Sized) -> Mapping[str, bool]:
    """Say of every figure from memory whether this vehicle's sums used it."""
    circuits, figures = sized.requirements.circuits, sized.requirements.figures
    watts = figures.lamp_watts.value.get(sized.requirements.scenario.vehicle.nominal_voltage, {})
    formats = {option.fuse_format for need in sized.needs if need.kind == "circuit" for option in need.options}
    kinds = {circuit.load_type for circuit in circuits}
    lamps = {name for circuit in circuits for name in circuit.load.lamps}
    discharge = lamps & set(discharge_names())
    return {
        "adiabatic_longest": any(letter in figures.fuse_gates.value for letter in formats),
        "fuse_ratings_recalled": bool(
            formats & set(figures.fuse_ratings_recalled.value) - set(figures.fuse_ratings.value)
        ),
        "lamp_watts_recalled": any(name not in watts for name in lamps if name not in discharge_names()),
        "discharge_watts_recalled": bool(discharge - set(figures.discharge_watts.value)),
        "discharge_ballast": bool(discharge),
        "lamp_inrush_time": "filament-lamp" in kinds,
        "motor_stall": any(circuit.load_type == "motor" and circuit.stall is None for circuit in circuits),
        "motor_inrush_time": "motor" in kinds,
    }


def _value(figure: Figure[Any]) -> str:
    return "" if isinstance(figure.value, Mapping) else _text(figure.value, figure.unit)


def _cells(own: Any, published: Any, name: str, path: str = "") -> Iterator[OwnCell]:
    if isinstance(own, Mapping):
        table = published if isinstance(published, Mapping) else {}
        for key, value in own.items():
            step = key if isinstance(key, str) else f"{key:g}"
            yield from _cells(value, table.get(key), name, f"{path}, {step}" if path else step)
    elif own != published:
        unit = PUBLISHED.by_name()[name].unit
        yield OwnCell(path, _text(own, unit), "" if published is None else _text(published, unit))


def _text(value: Any, unit: str) -> str:
    parts = value if isinstance(value, tuple) else (value,)
    shown = ", ".join("none" if part is None else f"{part:g}" for part in parts)
    return shown if unit == "1" else f"{shown} {unit}"
