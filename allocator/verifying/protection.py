"""
The safety rules on fuses: each protects its wires and carries its load, by this room's own sums.

The wire's current comes from ``wire_current.py``, the fuse's from ``fuse_current.py``, the load from
``design_current.py``; the sizing table's own figures are compared with them and never believed.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator.requirements.catalogue import Fuse
from allocator.verifying.design_current import need_load_ma, num_terms, switched_ma, unplaced_coils_ma
from allocator.verifying.exact import amperes, exact, milliamperes, share
from allocator.verifying.findings import Finding
from allocator.verifying.fuse_current import fuse_limit_ma
from allocator.verifying.fuses_before import coil_panels, coil_wires, fuse_before_coil
from allocator.verifying.limits import inlet_limit_ma, tail_of
from allocator.verifying.loads import Loads
from allocator.verifying.net import suits_panel
from allocator.verifying.records import EntryRecord, NeedKey, WayRecord
from allocator.verifying.runs import bundle_percent
from allocator.verifying.view import View
from allocator.verifying.wire_current import wire_limit_ma


def _too_thin(view: View, wire: str, panels: tuple[str, ...], rating_ma: Fraction, bundle_percent: float = 100) -> str:
    """Return how far a wire falls short of the fuse before it at the hottest of some panels; empty if it does not."""
    if wire not in view.wires:
        return f'wire "{wire}" is not in the catalogue'
    ambient_c = max(view.panels[panel].ambient for panel in panels)
    allowed = wire_limit_ma(view.wires[wire], ambient_c, bundle_percent, view.figures)
    if rating_ma <= allowed:
        return ""
    return f'a fuse of {amperes(rating_ma)} protects wire "{wire}", which may carry {amperes(allowed)} there'


def fuse_protects_wire(view: View) -> Iterator[Finding]:
    """Report fuses above what a wire may carry in its place: runs, jumpers, coil leads, feed cables and feed tails."""
    for way in view.ways:
        yield from _way_wires(view, way)
    for need in view.socket_of:
        yield from _coil_leads(view, need)
    for entry in view.entries:
        if entry.piece.feed in view.feeds and entry.panel is not None and entry.panel in view.panels:
            yield from _feed_wires(view, entry, entry.panel)


def _way_wires(view: View, way: WayRecord) -> Iterator[Finding]:
    fuse = view.fuses.get(way.used.fuse or "")
    if fuse is None or way.place is None or way.place.panel not in view.panels:
        return
    option = view.option_of(way.need)
    jumper = None if option is None or way.need not in view.socket_of else option.jumper_wire
    # Only the runs to the loads are in bundles; jumpers and feed cables lie on their own.
    run_percent = bundle_percent(view, way.used.need) if way.used.kind == "circuit" else 100
    for name, wire, percent in (("run", way.used.wire, run_percent), ("jumper", jumper, 100)):
        panels = (way.place.panel,)
        text = "" if wire is None else _too_thin(view, wire, panels, milliamperes(fuse.rating), percent)
        if text and name == "run" and _small_craft_allows(view, way, fuse):
            continue
        if text:
            yield Finding("fuse-protects-wire", way.name, f"{name}: {text}")


def _small_craft_allows(view: View, way: WayRecord, fuse: Fuse) -> bool:
    """
    Say whether the run of a circuit may stand behind a fuse above what it carries.

    By 33 CFR 183.455(c) a fuse is rated up to 150 % of that below 50 V; the wire still carries the load without end.
    """
    wire, name = view.wires.get(way.used.wire or ""), way.used.need
    if view.rules.fuse_over_wire == "never" or wire is None or way.place is None or way.need not in view.known_needs:
        return False
    if way.used.kind != "circuit" or exact(view.scenario.vehicle.operating_voltage) >= exact(
        view.figures.small_craft_below.value
    ):
        return False
    carries = wire_limit_ma(wire, view.panels[way.place.panel].ambient, bundle_percent(view, name), view.figures)
    most = carries * exact(view.figures.small_craft_share.value)
    return milliamperes(fuse.rating) <= most and max(switched_ma(view, name)) <= carries


def _coil_leads(view: View, need: NeedKey) -> Iterator[Finding]:
    option, fuse = view.option_of(need), fuse_before_coil(view, need)
    if option is None or fuse is None or option.panel not in view.panels:
        return
    for wire in coil_wires(option):
        panels = coil_panels(view, need, option.panel)
        text = _too_thin(view, wire, panels, milliamperes(fuse.rating), view.rules.bundle_factor)
        if text:
            yield Finding("fuse-protects-wire", view.socket_of[need].at, f'coil lead of {need[0]} "{need[1]}": {text}')


def _feed_wires(view: View, entry: EntryRecord, panel: str) -> Iterator[Finding]:
    name, feed, tail = entry.piece.feed, view.feeds[entry.piece.feed], tail_of(view, entry)
    home = view.home(feed)
    cable_panels = (panel,) if home is None or home not in view.panels else (panel, home)
    sized = view.sized.feeds.get(name)
    text = "" if sized is None else _too_thin(view, sized.cable_wire, cable_panels, protection_ma(view, name))
    if text:
        yield Finding("fuse-protects-wire", f'feed "{name}" at panel "{panel}"', f"cable: {text}")
    text = "" if tail is None else _too_thin(view, tail.wire, (panel,), entry_protection_ma(view, entry))
    if text:
        yield Finding("fuse-protects-wire", f'feed "{name}" at panel "{panel}"', f"tail: {text}")


def entry_protection_ma(view: View, entry: EntryRecord) -> Fraction:
    """Return the rating of the fuse next before a feed entry, mA: the plan's in its tail, else that of its cable."""
    fuse = view.fuses.get(entry.piece.tail_fuse or "")
    return protection_ma(view, entry.piece.feed) if fuse is None else milliamperes(fuse.rating)


def inlet_protected(view: View) -> Iterator[Finding]:
    """Report feed entries whose strip, inlet or stud carries less than the fuse before them lets pass."""
    for entry in view.entries:
        carried = inlet_limit_ma(view, entry)
        if carried is None or entry.piece.feed not in view.feeds:
            continue
        rating = entry_protection_ma(view, entry)
        if entry.piece.kind == "single" and entry.module is not None:
            rating = min(rating, _largest_fuse_ma(view, entry.module.rows[entry.ways[0].row or 0].fuse_format))
        if rating > carried:
            text = f"carries {amperes(carried)} behind a fuse of {amperes(rating)}"
            yield Finding("inlet-protected", f'{entry.at} (feed "{entry.piece.feed}")', text)


def _largest_fuse_ma(view: View, fuse_format: str) -> Fraction:
    """Return the largest rating that a way of a format may hold, mA: it cuts off what its own tail lets pass."""
    fitting = (fuse for fuse in view.fuses.values() if fuse.fuse_format == fuse_format and suits_panel(view, fuse))
    ratings = [milliamperes(fuse.rating) for fuse in fitting]
    return max(ratings, default=Fraction())


def protection_ma(view: View, name: str, below: tuple[str, ...] = ()) -> Fraction:
    """
    Return the rating of what stands upstream of a feed's cable, mA.

    That is the main fuse of a root feed, the fuse that the plan puts in a branch's own way, and for a branch with a
    relay only what protects the tail of its source.
    """
    feed = view.feeds[name]
    source = view.feeds.get(feed.source or "")
    if source is None or source.name in below:
        return milliamperes(feed.rating)
    if feed.fuse_format is not None:
        way = view.way_of.get(("feed", name))
        fuse = None if way is None else view.fuses.get(way.used.fuse or "")
        return milliamperes(feed.rating if fuse is None else fuse.rating)
    if source.tail_fuse is not None:
        return milliamperes(source.tail_fuse)
    return protection_ma(view, source.name, (*below, name))


def fuse_carries_load(view: View) -> Iterator[Finding]:
    """Report loads above the allowed share of their fuse, and loads that the sizing table has wrong."""
    for need in view.known_needs:
        if need in view.sized_needs:
            yield from _compare_load(view, need)
    loads = Loads(view)
    for way in view.ways:
        fuse = view.fuses.get(way.used.fuse or "")
        if fuse is None or way.place is None or way.place.panel not in view.panels or way.need not in view.known_needs:
            continue
        if way.used.kind == "feed":
            load = Fraction(max(loads.of_feed(way.used.need)))
            allowed = milliamperes(fuse.rating) * share(view.rules.feed_loading)
        else:
            load = max(need_load_ma(view, way.need))
            allowed = fuse_limit_ma(fuse, view.panels[way.place.panel].ambient, view.rules.loading_factor, view.figures)
        if load > allowed:
            text = f'draws {amperes(load)}; fuse "{fuse.id}" may carry {amperes(allowed)} there'
            yield Finding("fuse-carries-load", way.name, text)


def _compare_load(view: View, need: NeedKey) -> Iterator[Finding]:
    tolerance, above = num_terms(view, need), unplaced_coils_ma(view, need)
    for case, own, stated in zip(
        view.scenario.load_cases, need_load_ma(view, need), view.sized_needs[need].load_ma_by_case, strict=True
    ):
        if not own - tolerance <= stated <= own + above + tolerance:
            text = f'draws {amperes(own)} in load case "{case.name}"; the sizing table says {amperes(stated)}'
            yield Finding("fuse-carries-load", f'{need[0]} "{need[1]}"', text)
