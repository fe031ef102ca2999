"""
Rules on fuses and the net: voltage and breaking capacity of every fuse, and the main fuse of each root feed.

Comes in as a view of the plan; goes out as findings. The sizing table's choice is not believed.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator.requirements.catalogue import Fuse, MainHolder, Terminal, Wire
from allocator.requirements.vehicle import Feed
from allocator.sizing.sized import MainFuse
from allocator.verifying.exact import exact, milliamperes, number
from allocator.verifying.findings import Finding
from allocator.verifying.view import View


def highest_v(view: View) -> float:
    """Return the highest voltage of the net, V: by the table at the next higher nominal voltage, or as it is used."""
    vehicle, table = view.scenario.vehicle, view.figures.system_maximum.value
    enough = [nominal for nominal in table if nominal >= vehicle.nominal_voltage]
    usual = table[min(enough)] if enough else vehicle.nominal_voltage * view.figures.system_maximum_ratio.value
    return max(usual, vehicle.operating_voltage)


def suits_panel(view: View, fuse: Fuse) -> bool:
    """Say whether a fuse may stand in the panel: for its voltage, and for what a short circuit draws there."""
    return fuse.voltage >= highest_v(view) and fuse.breaking_capacity >= view.scenario.supply.fault_current


def fuse_suits_net(view: View) -> Iterator[Finding]:
    """Report fuses for a lower voltage than the net may have, and those that a short circuit could burst."""
    supply = view.scenario.supply
    for where, name in _fuses_in_panel(view):
        fuse = view.fuses.get(name)
        if fuse is not None:
            yield from _suits(view, fuse, where, supply.fault_current)
    for feed, main in _main_fuses(view):
        fuse = view.fuses.get("" if main is None else main.fuse)
        if fuse is not None:
            at_source_a = supply.fault_current if supply.source_fault_current is None else supply.source_fault_current
            yield from _suits(view, fuse, f'main fuse of feed "{feed.name}"', at_source_a)


def _fuses_in_panel(view: View) -> Iterator[tuple[str, str]]:
    """Yield where each fuse of the panel stands, and its id: in ways, before coils, in tails."""
    for way in view.ways:
        yield way.name, way.used.fuse or ""
    for need, socket in view.socket_of.items():
        option = view.option_of(need)
        if option is not None:  # the fuse in the need's own way is among its parts, too
            in_lead = [part for part, count in option.parts.items() if part != option.fuse or count > 1]
            yield from ((f"coil of {socket.at}", part) for part in in_lead)
    for entry in view.entries:
        yield f'tail of feed "{entry.piece.feed}" at {entry.at}', entry.piece.tail_fuse or ""


def _suits(view: View, fuse: Fuse, where: str, fault_a: float) -> Iterator[Finding]:
    volts = highest_v(view)
    if fuse.voltage < volts:
        text = f'fuse "{fuse.id}" is for {number(exact(fuse.voltage))} V; the net may have {number(exact(volts))} V'
        yield Finding("fuse-suits-net", where, text)
    if fuse.breaking_capacity < fault_a:
        breaks = f"breaks {number(exact(fuse.breaking_capacity))} A"
        text = f'fuse "{fuse.id}" {breaks}; a short circuit may draw {number(exact(fault_a))} A there'
        yield Finding("fuse-suits-net", where, text)


def _main_fuses(view: View) -> Iterator[tuple[Feed, MainFuse | None]]:
    """Yield each root feed that enters somewhere, with its main fuse by the sizing table."""
    for name in dict.fromkeys(entry.piece.feed for entry in view.entries):
        feed, sized = view.feeds.get(name), view.sized.feeds.get(name)
        if feed is not None and feed.source is None:
            yield feed, None if sized is None else sized.main


def main_fuse(view: View) -> Iterator[Finding]:
    """Report root feeds without a main fuse of their rating, and holders and rings that do not fit it or its cables."""
    for feed, main in _main_fuses(view):
        where = f'feed "{feed.name}"'
        fuse = view.fuses.get("" if main is None else main.fuse)
        holder = view.main_holders.get("" if main is None else main.holder)
        if main is None or fuse is None or holder is None:
            yield Finding("main-fuse", where, "has no main fuse and holder of the catalogue")
            continue
        for text in (*_misfits(feed, fuse, holder), *_wiring_misfits(view, feed, main, holder)):
            yield Finding("main-fuse", where, text)


def _misfits(feed: Feed, fuse: Fuse, holder: MainHolder) -> Iterator[str]:
    if fuse.rating != feed.rating:
        yield f"has a main fuse of {number(exact(fuse.rating))} A; its rating is {number(exact(feed.rating))} A"
    if fuse.fuse_format != holder.fuse_format or fuse.rating > holder.limit:
        yield f'holder "{holder.id}" does not take fuse "{fuse.id}"'


def _wiring_misfits(view: View, feed: Feed, main: MainFuse, holder: MainHolder) -> Iterator[str]:
    panels = {entry.panel for entry in view.entries if entry.piece.feed == feed.name}
    if len(panels) > holder.stack:
        yield f'holder "{holder.id}" takes {holder.stack} cables; {len(panels)} start there'
    lead_mm = round(1000 * exact(feed.main_fuse_distance or 0))
    if main.lead_mm != lead_mm or bool(main.lead_rings) != bool(lead_mm):
        yield f"its main fuse is {lead_mm} mm from the source; the sizing table has a lead of {main.lead_mm} mm"
    cable = view.wires.get(view.sized.feeds[feed.name].cable_wire)
    at_source = view.scenario.supply.stud or holder.stud
    rings = [(main.ring, holder.stud), *zip(main.lead_rings, (at_source, holder.stud), strict=False)]
    for ring, stud in rings:
        terminal = view.terminals.get(ring)
        if terminal is None or cable is None or not ring_fits(terminal, stud, cable, milliamperes(feed.rating)):
            yield f'terminal "{ring}" is no ring {stud} for its cable and {number(exact(feed.rating))} A'


def ring_fits(terminal: Terminal, stud: str, wire: Wire, rating_ma: Fraction) -> bool:
    """Say whether a terminal is a ring for a stud, takes a wire and carries the rating of the fuse before it, mA."""
    takes = terminal.smallest_wire <= wire.area <= terminal.largest_wire
    return terminal.kind == "ring" and terminal.stud == stud and takes and milliamperes(terminal.limit) >= rating_ma
