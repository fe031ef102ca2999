"""
What a load draws at its start and while it is held fast, and what shows that its fuse stays whole.

A circuit and its steady current come in; peak, duration and the published evidence go out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import LoadType
from allocator.requirements.lamps import discharge_names
from allocator.requirements.scenario import Circuit
from allocator.sizing.fuses import melting_a2s, opening_time_s

Evidence = Literal["gate", "melting", "none"]


@dataclass(frozen=True, slots=True)
class Inrush:
    """
    The start of one load.

    Attributes
    ----------
    steady_a, peak_a
        Steady current and that of the start, A.
    time_s
        How long the start lasts, s; the peak is taken as constant.
    stall_a
        What a motor draws while it is held fast, A; None for other loads.
    """

    steady_a: float
    peak_a: float
    time_s: float
    stall_a: float | None = None


def starts(figures: Figures) -> Mapping[LoadType, tuple[float, float]]:
    """Return how many times its current a kind of load draws when it starts, and for how long, s; others do not."""
    return {
        "filament-lamp": (figures.lamp_inrush.value, figures.lamp_inrush_time.value),
        "motor": (figures.motor_inrush.value, figures.motor_inrush_time.value),
    }


def inrush_of(circuit: Circuit, steady_a: float, figures: Figures = PUBLISHED) -> Inrush | None:
    """
    Return the start of a circuit's load, or None for a kind of load that starts with its steady current.

    Parameters
    ----------
    circuit
        The circuit; the stall current that it states replaces the ratios.
    steady_a
        Its steady current, A.
    figures
        The figures in force.
    """
    num_discharge = circuit.load.num_of(discharge_names())
    if num_discharge:
        peak_a = num_discharge * figures.discharge_start.value
        return Inrush(steady_a, max(peak_a, steady_a), figures.discharge_start_time.value)
    known = starts(figures)
    if circuit.load_type not in known:
        return None
    ratio, time_s = known[circuit.load_type]
    if circuit.load_type != "motor":
        return Inrush(steady_a, steady_a * ratio, time_s)
    if circuit.stall is not None:  # a motor at rest draws what it draws when it is held fast
        return Inrush(steady_a, circuit.stall, time_s, circuit.stall)
    return Inrush(steady_a, steady_a * ratio, time_s, steady_a * figures.motor_stall.value)


def evidence(fuse_format: str, rating_a: float, inrush: Inrush, figures: Figures = PUBLISHED) -> Evidence:
    """
    Say which published figure shows that a fuse stays whole at the start of its load.

    Parameters
    ----------
    fuse_format, rating_a
        Type letter and rating, A.
    inrush
        The start.
    figures
        The figures in force.

    Returns
    -------
    {"gate", "melting", "none"}
        ``gate``: it ends before the earliest opening time. ``melting``: its integral stays below the melting integral
        of this or a smaller rating of the type. ``none``: not shown, which does not say that the fuse opens.
    """
    if opening_time_s(fuse_format, rating_a, inrush.peak_a, figures)[0] > inrush.time_s:
        return "gate"
    melting = melting_a2s(fuse_format, rating_a, figures)
    return "melting" if melting is not None and inrush.peak_a**2 * inrush.time_s < melting else "none"


def opens_at_start(fuse_format: str, rating_a: float, inrush: Inrush, figures: Figures = PUBLISHED) -> bool:
    """Say whether a published gate shows that a fuse opens before the start of its load is over."""
    return opening_time_s(fuse_format, rating_a, inrush.peak_a, figures)[1] <= inrush.time_s
