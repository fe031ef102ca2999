"""
The colour of every wire: by the scenario's table, and behind it by a plain default of our own.

Comes in as a run of a plan with its requirements; goes out as base and tracer, in letter codes of IEC 60757. The
standard joins the codes of several colours in the order of its table (clause 5.1), which does not tell base from
tracer; here a stroke stands between them: ``RD/WH`` is red with a white tracer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from allocator.plan.wiring import Run
from allocator.requirements.markings import Colour, FeedKind, WireColour, WireFunction
from allocator.requirements.scenario import Requirements

NAMES: Mapping[Colour, str] = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
}  # fmt: skip
_BASE_BY_KIND: Mapping[FeedKind, Colour] = {"permanent": "RD", "ignition": "OG", "accessory": "VT", "switched": "BU"}
_TRACER_BY_FUNCTION: Mapping[WireFunction, Colour | None] = {
    "supply": None, "jumper": "BK", "load": "WH", "control": "GY",
}  # fmt: skip
_PLAIN: Mapping[WireFunction, Colour] = {"return": "BK", "earth": "BN"}
"""The negative side is one colour whatever feed its load is on."""


@dataclass(frozen=True, slots=True)
class WireLook:
    """Colour of a wire, and of its tracer where it has one."""

    colour: Colour
    tracer: Colour | None = None

    @property
    def code(self) -> str:
        """Letter codes, such as ``RD`` or ``RD/WH``."""
        return self.colour if self.tracer is None else f"{self.colour}/{self.tracer}"

    @property
    def words(self) -> str:
        """Colours in words, such as ``red, white tracer``."""
        name = NAMES[self.colour]
        return name if self.tracer is None else f"{name}, {NAMES[self.tracer]} tracer"


def function_of(run: Run) -> WireFunction:
    """Return what a wire does, as the table of colours names it."""
    if run.role != "wire":
        return "jumper" if run.role == "jumper" else "supply"
    if run.start.cavity == "86":
        return "control"
    if run.start.cavity in ("85", "31"):
        return "earth"
    return "return" if run.end.place == "return" else "load"


def default_look(function: WireFunction, kind: FeedKind) -> WireLook:
    """Return the colour that a wire has where the scenario says nothing of it."""
    if function in _PLAIN:
        return WireLook(_PLAIN[function])
    return WireLook(_BASE_BY_KIND[kind], _TRACER_BY_FUNCTION[function])


def look_of(run: Run, requirements: Requirements) -> WireLook:
    """
    Return the colour of a wire.

    Parameters
    ----------
    run
        The wire.
    requirements
        Its vehicle, with the table of wire colours.

    Returns
    -------
    WireLook
        That of the first row that fits, else the default of its function and of the kind of its feed.
    """
    kind = next(feed.kind for feed in requirements.scenario.feeds if feed.name == run.feed)
    function = function_of(run)
    for row in requirements.scenario.wire_colours:
        if _fits(row, run, function, kind):
            return WireLook(row.colour, row.tracer)
    return default_look(function, kind)


def _fits(row: WireColour, run: Run, function: WireFunction, kind: FeedKind) -> bool:
    return (
        (not row.functions or function in row.functions)
        and (not row.kinds or kind in row.kinds)
        and (not row.feeds or run.feed in row.feeds)
        and (not row.circuits or run.need in row.circuits)
    )
