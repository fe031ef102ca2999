"""
Which feed branches from which, what protects it, and where its own fuse and relay are.

The scenario's feeds come in; panels, protections, homes and cable lengths go out, by the sections "Needs" and "Parts
and wires of a plan" of ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.errors import SizingError
from allocator.requirements.vehicle import Feed
from allocator.sizing.offer import Offer
from allocator.units import whole_mm


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
        before_m = feed.main_fuse_distance or 0.0
        lengths = {name: site[name].supply_distance - before_m for name in self.panels(feed)}
        if feed.source is not None:
            home = self.home(feed)
            lengths = {name: catalogue.tail_length if name == home else site[home].supply_distance + length
                       for name, length in lengths.items()}  # fmt: skip
        return {name: whole_mm(length) for name, length in lengths.items()}


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
