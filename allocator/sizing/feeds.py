"""
Feeds with their limits, cables, tails and distribution studs, and what a branch takes in the panel.

What is on offer and the feeds come in; a ``SizedFeed`` for each, and a need for each that branches from another, go
out. Cables and tails are taken as laid on their own, out of the bundles, at the hottest panel that the feed reaches.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from allocator.errors import Fault, SizingError
from allocator.requirements.catalogue import Fuse, Holder, Stud, Terminal, Wire
from allocator.requirements.scenario import Feed
from allocator.sizing.offer import Offer
from allocator.sizing.sized import SizedFeed
from allocator.units import limit_to_model, to_model

MM_PER_M = 1000
_Joint = tuple[Wire, Stud, Terminal, Terminal]
"""Tail wire, distribution stud, ring of a tail, ring of the cable."""


class FeedTree:
    """
    Which feed branches from which, and where.

    Parameters
    ----------
    offer
        What is on offer, with the scenario.
    """

    def __init__(self, offer: Offer) -> None:
        self.offer = offer
        self.feeds: Mapping[str, Feed] = {feed.name: feed for feed in offer.scenario.feeds}

    def panels(self, feed: Feed) -> tuple[str, ...]:
        """Return the panels that a feed reaches, in the scenario's order."""
        return tuple(name for name in self.offer.panel_by_name if not feed.panels or name in feed.panels)

    def chain(self, feed: Feed) -> tuple[Feed, ...]:
        """
        Return the feed, its source, the source of that, and so on up to the root.

        Raises
        ------
        SizingError
            If they form a circle.
        """
        chain = [feed]
        while chain[-1].source is not None:
            source = self.feeds[chain[-1].source]
            if source in chain:
                raise SizingError(
                    "branches from itself: " + " from ".join([item.name for item in chain] + [source.name]),
                    rule="feed-loop",
                    hint="let one of them come from the supply",
                )
            chain.append(source)
        return tuple(chain)

    def works_key_out(self, feed: Feed) -> bool:
        """Say whether a feed is live with the key out: permanent up to the root, and no relay on the way."""
        return all(item.kind == "permanent" and item.relay_class is None for item in self.chain(feed))

    def protection_a(self, feed: Feed) -> float:
        """Return the rating, A, of the fuse that protects the cable of a feed."""
        if feed.source is None or feed.fuse_format is not None:
            return feed.rating
        return self.tail_protection_a(self.feeds[feed.source])

    def tail_protection_a(self, feed: Feed) -> float:
        """Return the rating, A, of the fuse that protects each tail of a feed."""
        return feed.tail_fuse if feed.tail_fuse is not None else self.protection_a(feed)

    def home(self, feed: Feed) -> str:
        """
        Return the panel where the own fuse and relay of a branch are.

        Raises
        ------
        SizingError
            If it is open, or its source does not reach it.
        """
        above = self.panels(self.feeds[str(feed.source)])
        if feed.home is not None:
            if feed.home in above:
                return feed.home
            raise SizingError(
                f"has its home at panel {feed.home}, which its source {feed.source} does not reach",
                rule="home-unreached",
                known=f"{feed.source} reaches {', '.join(above)}",
                hint="choose one of these as home",
            )
        common = [name for name in self.panels(feed) if name in above]
        if len(common) == 1:
            return common[0]
        raise SizingError(
            "has no home: its own fuse or relay could be at " + (" or ".join(common) or "no panel"),
            rule="home-open",
            known=f"it reaches {', '.join(self.panels(feed))}; its source {feed.source} reaches {', '.join(above)}",
            hint='name one panel as its "home"',
        )

    def hottest_c(self, feed: Feed) -> float:
        """Return the highest ambient temperature among the panels that a feed reaches, its home included, degC."""
        names = list(self.panels(feed))
        if feed.source is not None:
            names.append(self.home(feed))
        return max(self.offer.panel_by_name[name].ambient for name in names)

    def cable_mm(self, feed: Feed) -> Mapping[str, int]:
        """Return the length of the cable of a feed to each panel that it reaches, mm."""
        site, catalogue = self.offer.panel_by_name, self.offer.catalogue
        lengths = {name: site[name].supply_distance for name in self.panels(feed)}
        if feed.source is not None:
            home = self.home(feed)
            lengths = {name: catalogue.tail_length if name == home else site[home].supply_distance + length
                       for name, length in lengths.items()}  # fmt: skip
        return {name: round(length * MM_PER_M) for name, length in lengths.items()}


def size_feed(tree: FeedTree, feed: Feed, cable_ends: Callable[[Wire], bool]) -> SizedFeed:
    """
    Size the cable, the tails and the distribution stud of a feed.

    Parameters
    ----------
    tree
        All feeds.
    feed
        The feed.
    cable_ends
        Whether the start of the cable fits a wire: the output of its own fuse or relay.

    Returns
    -------
    SizedFeed
        With the thinnest wires that its protection allows and that studs and rings on offer take.

    Raises
    ------
    SizingError
        If a wire, stud, ring, tail fuse or holder is missing.
    """
    offer = tree.offer
    cable, joint = _cable(tree, feed, cable_ends)
    tail, stud, tail_ring, cable_ring = joint
    holder, fuse = _tail_fuse(offer, feed) if feed.tail_fuse is not None else (None, None)
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
    )


def _cable(tree: FeedTree, feed: Feed, cable_ends: Callable[[Wire], bool]) -> tuple[Wire, _Joint]:
    """Return the thinnest cable that bears its protection, with the joint to its tails."""
    offer, hot_c = tree.offer, tree.hottest_c(feed)
    cable_a, tail_a = tree.protection_a(feed), tree.tail_protection_a(feed)
    bearing = _wires_for(offer, cable_a, hot_c)
    ending = [wire for wire in bearing if cable_ends(wire)]
    for cable in ending:
        tails = [cable] if feed.tail_fuse is None else _wires_for(offer, tail_a, hot_c)
        joints = (_joint(offer, feed, cable, cable_a, tail, tail_a) for tail in tails)
        joint = next((joint for joint in joints if joint is not None), None)
        if joint is not None:
            return cable, joint
    if not bearing:
        what, hint = f"no wire on offer bears its protection of {cable_a:g} A at {hot_c:g} degC", "offer thicker wire"
    elif not ending:
        what = (
            f"no terminal at its own fuse or relay takes {bearing[0].label} and bears its protection of {cable_a:g} A"
        )
        hint = "take a larger fuse format or relay class"
    else:
        what = f"no stud on offer for {feed.rating:g} A has rings that take {ending[0].label} and its tails"
        hint = "offer a larger stud or rings"
    raise SizingError(
        f"gets no cable: {what}",
        rule="no-feed-cable",
        known=f"{cable_a:g} A is the rating of the fuse that stands before its cable, {tail_a:g} A before its tails",
        hint=f"{hint}, or lower the protection with an own fuse or a tail fuse on its source",
    )


def check_feed(feed: Feed) -> None:
    """Raise SizingError if the fuse, relay and source of a feed do not make sense together."""
    own = feed.fuse_format is not None or feed.relay_class is not None
    if feed.source is None and own:
        raise SizingError(
            "comes from the supply, so it takes no fuse or relay in the panel",
            rule="root-with-parts",
            hint="name its source, or leave out fuse_format and relay_class",
        )
    if feed.source is not None and not own:
        raise SizingError(
            f"branches from {feed.source} with neither fuse nor relay: it is the same conductor",
            rule="branch-without-parts",
            hint="give it a fuse_format or a relay_class",
        )
    if feed.relay_class is not None and feed.fuse_format is None and feed.control is None:
        raise SizingError(
            "has a relay whose coil hangs on no fuse",
            rule="coil-unprotected",
            hint="name a control circuit, or give the feed its own fuse",
        )


def _wires_for(offer: Offer, rating_a: float, ambient_c: float) -> list[Wire]:
    return [item.part for item in offer.wires(ambient_c, bundled=False) if item.limit_ma >= to_model(rating_a)]


def _joint(offer: Offer, feed: Feed, cable: Wire, cable_a: float, tail: Wire, tail_a: float) -> _Joint | None:
    """Return the cheapest stud that takes both rings and the rating of the feed, with these rings."""
    for stud in sorted(offer.catalogue.studs, key=lambda stud: (stud.price, stud.id)):
        if stud.limit < feed.rating:
            continue
        tail_ring = offer.terminal("ring", stud.size, tail, to_model(tail_a))
        cable_ring = offer.terminal("ring", stud.size, cable, to_model(cable_a))
        if tail_ring is not None and cable_ring is not None:
            return tail, stud, tail_ring, cable_ring
    return None


def _tail_fuse(offer: Offer, feed: Feed) -> tuple[Holder, Fuse]:
    offered: list[str] = []
    found: list[tuple[int, str, str, Holder, Fuse]] = []
    for holder in offer.catalogue.holders:
        try:
            fuses = offer.fuses(holder.fuse_format)
        except SizingError:
            continue  # said below: this holder brings no rating
        fitting = [fuse for fuse in fuses if fuse.rating <= holder.limit]
        offered += [f"{fuse.rating:g}" for fuse in fitting]
        found += [(holder.price + f.price, holder.id, f.id, holder, f) for f in fitting if f.rating == feed.tail_fuse]
    if found:
        return min(found, key=lambda item: item[:3])[3:]
    raise SizingError(
        f"wants a tail fuse of {feed.tail_fuse:g} A, and no in-line holder on offer takes one for this net",
        rule="tail-fuse-not-offered",
        known="ratings that a holder takes: " + (", ".join(sorted(set(offered), key=float)) or "none") + " A",
        hint="choose one of these, or offer a holder and fuse",
    )


def feed_fault(feed: Feed, refusal: SizingError) -> Fault:
    """Return the fault of a feed that cannot be sized."""
    message = f'feed "{feed.name}" {refusal}'
    return Fault(refusal.rule, message, f'scenario.toml, feed "{feed.name}"', refusal.known, refusal.hint)
