"""
The safety rules on fuses: each protects its wire and carries its load, by this room's own sums.

The wire's current comes from ``wire_current.py``, the load from ``design_current.py``; the sizing table's own figures
are compared with them and never believed.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator import figures
from allocator.requirements.catalogue import FuseFormat
from allocator.verifying.design_current import need_load_ma, num_terms
from allocator.verifying.exact import amperes, exact, milliamperes, share
from allocator.verifying.findings import Finding
from allocator.verifying.loads import Loads
from allocator.verifying.records import WayRecord
from allocator.verifying.view import View
from allocator.verifying.wire_current import wire_limit_ma


def _wire_text(view: View, wire: str, panel: str, rating_ma: Fraction, bundle_percent: float = 100) -> str:
    """Return how far a wire at a panel falls short of what protects it; empty if it does not."""
    if wire not in view.wires:
        return f'wire "{wire}" is not in the catalogue'
    allowed = wire_limit_ma(view.wires[wire], view.panels[panel].ambient, bundle_percent)
    if rating_ma <= allowed:
        return ""
    return f'{amperes(rating_ma)} protect wire "{wire}", which may carry {amperes(allowed)} there'


def fuse_protects_wire(view: View) -> Iterator[Finding]:
    """Report fuses above what their wire may carry in its place, in circuits, feed cables and feed tails."""
    for way in view.ways:
        fuse = view.fuses.get(way.used.fuse or "")
        if fuse is None or way.place is None or way.place.panel not in view.panels:
            continue
        option = view.option_of(way.need)
        jumper = None if option is None or way.need not in view.socket_of else option.jumper_wire
        wires = [("load wire", way.used.wire, view.rules.bundle_factor), ("jumper", jumper, 100)]
        for name, wire, percent in wires:
            rating = milliamperes(fuse.rating)
            text = "" if wire is None else _wire_text(view, wire, way.place.panel, rating, percent)
            if text:
                yield Finding("fuse-protects-wire", way.name, f"{name}: {text}")
    for feed, panel in dict.fromkeys((entry.piece.feed, entry.panel) for entry in view.entries):
        if feed in view.feeds and panel is not None and panel in view.panels:
            yield from _feed_wires(view, feed, panel)


def _feed_wires(view: View, name: str, panel: str) -> Iterator[Finding]:
    sized, tail_fuse = view.sized.feeds[name], view.feeds[name].tail_fuse
    protection = protection_ma(view, name)
    tail_protection = protection if tail_fuse is None else milliamperes(tail_fuse)
    for part, wire, rating_ma in (("cable", sized.cable_wire, protection), ("tail", sized.tail_wire, tail_protection)):
        text = _wire_text(view, wire, panel, rating_ma)
        if text:
            yield Finding("fuse-protects-wire", f'feed "{name}" at panel "{panel}"', f"{part}: {text}")


def protection_ma(view: View, name: str, below: tuple[str, ...] = ()) -> Fraction:
    """
    Return the rating of what stands upstream of a feed's cable, mA.

    That is the main fuse of a root feed, the fuse that the plan puts in a branch's own way, and for a branch with a
    relay only what protects the tail of its source.
    """
    feed = view.feeds[name]
    way = view.way_of.get(("feed", name))
    fuse = None if way is None else view.fuses.get(way.used.fuse or "")
    if fuse is not None:
        return milliamperes(fuse.rating)
    source = view.feeds.get(feed.source or "")
    if source is None or feed.fuse_format is not None or source.name in below:
        return milliamperes(feed.rating)
    if source.tail_fuse is not None:
        return milliamperes(source.tail_fuse)
    return protection_ma(view, source.name, (*below, name))


def fuse_share(fuse_format: FuseFormat, ambient_c: float) -> Fraction:
    """
    Return the share of its rating that a fuse may carry for ever at an ambient temperature, by its type alone.

    Notes
    -----
    Source: ``figures.FUSE_SHARE``, read at the next higher column, nothing past the last one; a type without a curve
    of its own gets the least of all curves.
    """
    curves = figures.FUSE_SHARE.value
    chosen = [curves[fuse_format]] if fuse_format in curves else list(curves.values())
    return min(next((exact(left) for column, left in steps if ambient_c <= column), Fraction()) for steps in chosen)


def fuse_carries_load(view: View) -> Iterator[Finding]:
    """Report loads above the allowed share of their fuse, and loads that the sizing table has wrong."""
    for need in view.sized_needs:
        if need in view.known_needs:
            yield from _compare_load(view, need)
    loads = Loads(view)
    for way in view.ways:
        fuse = view.fuses.get(way.used.fuse or "")
        if fuse is None or way.place is None or way.place.panel not in view.panels or way.need not in view.known_needs:
            continue
        load, allowed_share = _load_and_share(view, loads, way, fuse.fuse_format, view.panels[way.place.panel].ambient)
        allowed = milliamperes(fuse.rating) * allowed_share
        if load > allowed:
            text = f'draws {amperes(load)}; fuse "{fuse.id}" may carry {amperes(allowed)} there'
            yield Finding("fuse-carries-load", way.name, text)


def _load_and_share(
    view: View, loads: Loads, way: WayRecord, fuse_format: FuseFormat, ambient_c: float
) -> tuple[Fraction, Fraction]:
    """Return the largest load through a way, mA, and the share of its fuse's rating that the rules allow."""
    if way.used.kind == "feed":
        return Fraction(max(loads.of_feed(way.used.need))), share(view.rules.feed_loading)
    allowed = min(share(view.rules.loading_factor), fuse_share(fuse_format, ambient_c))
    return max(need_load_ma(view, way.need)), allowed


def _compare_load(view: View, need: tuple[str, str]) -> Iterator[Finding]:
    tolerance = num_terms(view, need)
    for case, own, stated in zip(
        view.scenario.load_cases, need_load_ma(view, need), view.sized_needs[need].load_ma_by_case, strict=True
    ):
        if abs(own - stated) > tolerance:
            text = f'draws {amperes(own)} in load case "{case.name}"; the sizing table says {amperes(stated)}'
            yield Finding("fuse-carries-load", f'{need[0]} "{need[1]}"', text)
