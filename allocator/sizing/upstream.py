"""
What is lost before the fuse of a circuit: along the cables and tails of its feed, up to the supply.

A sizing table, a feed and a panel come in; volts go out. Every wire is taken as hot as its insulation may be and as
loaded as its feed may be, so that what is lost in use is less.
"""

from __future__ import annotations

from allocator.sizing.sized import Sized
from allocator.sizing.wires import drop_v, resistance_ohm_per_m
from allocator.units import MM_PER_M, from_model


def upstream_drop_v(sized: Sized, feed: str, panel: str) -> float:
    """
    Return the voltage lost at most between the supply and an entry of a feed at a panel.

    Parameters
    ----------
    sized
        The sizing table.
    feed, panel
        Names of the feed and of a panel that it reaches.

    Returns
    -------
    float
        Drop, V: lead, cable and the worst tail of the feed at its allowed load, and those of its sources at its home;
        twice where the current comes back by wire.
    """
    requirements, part = sized.requirements, sized.feeds[feed]
    wires = {wire.id: wire for wire in requirements.catalogue.wires}
    load_a = from_model(part.allowed_ma)
    there_and_back = 2 if requirements.scenario.vehicle.return_path == "wire" else 1

    def lost_along_v(wire: str, length_m: float, current_a: float) -> float:
        ohm_per_m = resistance_ohm_per_m(wires[wire].area, wires[wire].insulation, requirements.figures)
        return drop_v(current_a, there_and_back * length_m, ohm_per_m)

    lead_mm = 0 if part.main is None else part.main.lead_mm
    own = [entry.tail for (at, *_, name), entry in sized.entries.items() if (at, name) == (panel, feed) and entry.tail]
    lost_v = lost_along_v(part.cable_wire, (lead_mm + part.cable_mm_by_panel[panel]) / MM_PER_M, load_a)
    lost_v += max(
        lost_along_v(tail.wire, requirements.catalogue.tail_length, min(load_a, tail.protection_a))
        for tail in (part.tail, *own)
    )
    if part.source is None:
        return lost_v
    return lost_v + upstream_drop_v(sized, part.source, sized.need_by_id[feed].options[0].panel)
