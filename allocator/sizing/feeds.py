"""
Feeds with their limits, cables, tails and distribution studs.

What is on offer and the feeds come in; a ``SizedFeed`` for each, and a need for each that branches from another, go
out. Cables and tails are taken as laid on their own, out of the bundles, at the hottest panel that the feed reaches.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, Holder, Stud, Terminal, Wire
from allocator.requirements.vehicle import Feed
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.inlets import inlet_of
from allocator.sizing.main_fuses import MainFuses
from allocator.sizing.offer import Offer
from allocator.sizing.sized import SizedFeed, supply_groups
from allocator.sizing.tails import TailFuses
from allocator.units import limit_to_model, to_model

_Joint = tuple[Wire, Stud, Terminal, Terminal]
"""Tail wire, distribution stud, ring of a tail, ring of the cable."""


def size_feed(
    tree: FeedTree,
    feed: Feed,
    cable_ends: Callable[[Wire], bool],
    main: MainFuses | None = None,
    before: Fuse | None = None,
) -> SizedFeed:
    """
    Size the cable, the tails and the distribution stud of a feed.

    Parameters
    ----------
    tree
        All feeds.
    feed
        The feed.
    cable_ends
        Whether the start of the cable fits a wire: the output of its own fuse or relay, the holder of a main fuse.
    main
        What is on offer for the main fuse of a root feed.
    before
        The fuse that opens when the cable of a branch is shorted; None where it is not known, and for a root feed.

    Returns
    -------
    SizedFeed
        With the thinnest cable and tail that their protection allows, that studs and rings on offer take, and whose
        terminals enter the most kinds of socket and supply group.

    Raises
    ------
    SizingError
        If a wire, stud, ring, tail fuse or holder is missing.
    """
    offer = tree.offer
    cable, joint = _cable(tree, feed, cable_ends, before)
    tail, stud, tail_ring, cable_ring = joint
    holder, fuse = tail_fuse(tree, feed) if feed.tail_fuse is not None else (None, None)
    return SizedFeed(
        name=feed.name,
        source=feed.source,
        panels=tree.panels(feed),
        rating_ma=limit_to_model(feed.rating),
        allowed_ma=limit_to_model(feed.rating) * Fraction(str(offer.rules.feed_loading)) / 100,
        tail_protection_a=tree.tail_protection_a(feed),
        tail_wire=tail.id,
        tail_fuse=None if fuse is None else fuse.id,
        tail_holder=None if holder is None else holder.id,
        cable_wire=cable.id,
        cable_mm_by_panel=tree.cable_mm(feed),
        stud=stud.id,
        stud_stack=stud.stack,
        tail_ring=tail_ring.id,
        cable_ring=cable_ring.id,
        main=None if main is None else main.choose(cable),
    )


def _cable(tree: FeedTree, feed: Feed, cable_ends: Callable[[Wire], bool], before: Fuse | None) -> tuple[Wire, _Joint]:
    """Return the thinnest cable, and its joint to the tails, of those that enter the most modules."""
    offer, hot_c = tree.offer, tree.hottest_c(feed)
    cable_a, tail_a = tree.protection_a(feed), tree.tail_protection_a(feed)
    bearing = _wires_for(offer, cable_a, hot_c, before)
    ending = [wire for wire in bearing if cable_ends(wire)]
    tails = _wires_for(offer, tail_a, hot_c, tail_fuse(tree, feed)[1] if feed.tail_fuse is not None else None)
    choices = [
        (_num_inlets(tree, feed, tail), joint, cable)
        for cable in ending
        for tail in (tails if feed.tail_fuse is not None else [cable])
        if (joint := _joint(offer, feed, cable, cable_a, tail, tail_a)) is not None
    ]
    if choices:
        # Where it can enter decides how small the panel gets, so that comes before the price of copper.
        _, joint, cable = max(choices, key=lambda choice: (choice[0], -choice[1][0].area, -choice[2].area))
        return cable, joint
    if not bearing:
        what, hint = f"no wire on offer bears its protection of {cable_a:g} A at {hot_c:g} °C", "offer thicker wire"
    elif not ending:
        what = (
            f"no terminal at its main fuse, own fuse or relay takes {bearing[0].label} and bears its protection of "
            f"{cable_a:g} A"
        )
        hint = "take a larger holder, fuse format or relay class"
    else:
        what = (
            f"no stud on offer for {max(feed.rating, cable_a):g} A has rings that take {ending[0].label} and its tails"
        )
        hint = "offer a larger stud or rings"
    raise SizingError(
        f"gets no cable: {what}",
        rule="no-feed-cable",
        known=f"{cable_a:g} A is the rating of the fuse that stands before its cable, {tail_a:g} A before its tails",
        hint=f"{hint}, or lower the protection with an own fuse or a tail fuse on its source",
    )


def _num_inlets(tree: FeedTree, feed: Feed, tail: Wire) -> tuple[int, int]:
    """Return how many branches at a socket, and how many supply groups at its panels, a tail enters with no more."""
    offer = tree.offer
    rating_ma = to_model(tree.tail_protection_a(feed))
    direct = [item for item in tree.feeds.values() if item.source == feed.name and item.fuse_format is None]
    tabs = [offer.tabs(str(item.relay_class), "make").get("30") for item in direct]
    sockets = [width for width in tabs if width is not None and offer.terminal("tab", width, tail, rating_ma)]
    inlets = [
        inlet_of(offer, module, rows[0], offer.panel_by_name[name])
        for name in tree.panels(feed)
        for module in offer.catalogue.modules
        for rows in supply_groups(module)
    ]
    return len(sockets), sum(
        inlet.bears(rating_ma) and bool(inlet.terminals(offer, tail, rating_ma)) for inlet in inlets
    )


def _wires_for(offer: Offer, rating_a: float, ambient_c: float, fuse: Fuse | None) -> list[Wire]:
    return [
        item.part
        for item in offer.wires(ambient_c, bundled=False)
        if item.limit_ma >= to_model(rating_a) and (fuse is None or offer.outlives(item.part, fuse))
    ]


def _joint(offer: Offer, feed: Feed, cable: Wire, cable_a: float, tail: Wire, tail_a: float) -> _Joint | None:
    """Return the cheapest stud that takes both rings, the feed and the fuse before its cable, with these rings."""
    for stud in sorted(offer.catalogue.studs, key=lambda stud: (stud.price, stud.id)):
        if stud.limit < max(feed.rating, cable_a):
            continue
        tail_ring = offer.terminal("ring", stud.size, tail, to_model(tail_a))
        cable_ring = offer.terminal("ring", stud.size, cable, to_model(cable_a))
        if tail_ring is not None and cable_ring is not None:
            return tail, stud, tail_ring, cable_ring
    return None


def fuse_before_cable(tree: FeedTree, feed: Feed, sized: Mapping[str, SizedFeed]) -> Fuse | None:
    """Return the fuse that opens when the cable of a feed is shorted; None where a feed above has none."""
    source = tree.feeds.get(feed.source or "")
    if feed.fuse_format is not None:
        fitting = tree.offer.fuses(feed.fuse_format)
        return next((fuse for fuse in fitting if fuse.rating == feed.rating), None)
    if source is None:
        main = sized[feed.name].main if feed.name in sized else None
        return next((fuse for fuse in tree.offer.catalogue.fuses if main is not None and fuse.id == main.fuse), None)
    return tail_fuse(tree, source)[1] if source.tail_fuse is not None else fuse_before_cable(tree, source, sized)


def tail_fuse(tree: FeedTree, feed: Feed) -> tuple[Holder, Fuse]:
    """
    Return the in-line holder and fuse of every tail of a feed that wants them.

    Raises
    ------
    SizingError
        If its rating is not on offer.
    """
    offered = TailFuses(tree.offer).at(tree.hottest_c(feed))
    ratings = sorted({item.fuse.rating for item in offered})
    found = [item for item in offered if item.fuse.rating == feed.tail_fuse]
    if found:
        best = min(found, key=lambda item: (item.holder.price + item.fuse.price, item.holder.id, item.fuse.id))
        return best.holder, best.fuse
    raise SizingError(
        f"wants a tail fuse of {feed.tail_fuse:g} A, and no in-line holder on offer takes one for this net",
        rule="tail-fuse-not-offered",
        known="ratings that a holder takes: "
        + (", ".join(f"{rating:g}" for rating in ratings) + " A" if ratings else "none"),
        hint="choose one of these, or offer a holder and fuse",
    )
