"""
The rule that wires are of the system that the rules name: metric sizes, or gauges.

Comes in as a plan and the requirements; goes out as findings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from allocator.figures import PUBLISHED, Figures
from allocator.verifying.drop import gauge_mm2
from allocator.verifying.findings import Finding
from allocator.verifying.limits import tail_of
from allocator.verifying.view import View

_MM2_OF_CIRCULAR_MIL = math.pi / 4 * 0.0254**2
_ALIKE = 1e-3


def is_gauge(area_mm2: float, figures: Figures = PUBLISHED) -> bool:
    """Say whether an area is that of an AWG or SAE gauge, to a thousandth; any other is metric."""
    awg = (gauge_mm2(number) for number in range(-3, 41))
    sae = (mils * _MM2_OF_CIRCULAR_MIL for mils in figures.sae_area.value.values())
    return any(math.isclose(area_mm2, area, rel_tol=_ALIKE) for area in (*awg, *sae))


def wires_of_system(view: View) -> Iterator[Finding]:
    """Report wires of another system than the rules name."""
    system = view.rules.wire_system
    if system == "any":
        return
    for where, name in _wires(view):
        wire = view.wires.get(name)
        if wire is not None and is_gauge(wire.area, view.figures) != (system == "awg"):
            yield Finding("wires-of-system", where, f'wire "{name}" is not of the system {system}')


def _wires(view: View) -> Iterator[tuple[str, str]]:
    for way in view.ways:
        yield way.name, way.used.wire or ""
    for need in view.known_needs:
        option = view.option_of(need)
        if option is not None:
            where = " ".join(need)
            yield from ((where, name) for name in (option.jumper_wire or "", *(cut.wire for cut in option.wires)))
    for entry in view.entries:
        feed, tail = view.sized.feeds.get(entry.piece.feed), tail_of(view, entry)
        yield f"cable of feed {entry.piece.feed}", "" if feed is None else feed.cable_wire
        yield f"tail at {entry.at}", "" if tail is None else tail.wire
