"""
The main fuse of a root feed: the fuse of the feed's rating, a holder, the ring terminals, and the lead before it.

The feed tree and a root feed come in; a ``MainFuse`` goes out. It stands at the source, so it breaks what the source
can deliver there.
"""

from __future__ import annotations

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, MainHolder, Wire
from allocator.requirements.vehicle import Feed
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.sized import MainFuse
from allocator.units import to_model, whole_mm


class MainFuses:
    """
    What is on offer for the main fuse of one root feed.

    Parameters
    ----------
    tree
        All feeds.
    feed
        A feed without a source.

    Raises
    ------
    SizingError
        If no fuse of its rating suits the net and the fault current at the source in a holder on offer.
    """

    def __init__(self, tree: FeedTree, feed: Feed) -> None:
        self._offer, self._feed = tree.offer, feed
        self._stud = tree.offer.scenario.supply.stud
        self._num_panels = len(tree.panels(feed))
        self._pairs = self._suiting()

    def takes_cable(self, cable: Wire) -> bool:
        """Say whether a holder, and the source if there is a lead, have rings for a cable that outlives its fuse."""
        return self._choices(cable) != []

    def choose(self, cable: Wire) -> MainFuse:
        """Return the cheapest fuse and holder whose rings take a cable; ``takes_cable`` must have said yes."""
        return min(self._choices(cable), key=lambda choice: choice[0])[1]

    def _choices(self, cable: Wire) -> list[tuple[tuple[int, str, str], MainFuse]]:
        found = []
        lead_mm = whole_mm(self._feed.main_fuse_distance or 0.0)
        for holder, fuse in self._pairs:
            ring, at_source = (self._ring(size, cable) for size in (holder.stud, self._stud or holder.stud))
            ends = ring is not None and (at_source is not None or not lead_mm)
            if ends and self._offer.outlives(cable, fuse, self._offer.source_fault_a):
                lead_rings = (str(at_source), str(ring)) if lead_mm else ()
                order = holder.price + fuse.price, holder.id, fuse.id
                found.append((order, MainFuse(fuse.id, holder.id, str(ring), lead_mm, lead_rings)))
        return found

    def _ring(self, size: str, cable: Wire) -> str | None:
        ring = self._offer.terminal("ring", size, cable, to_model(self._feed.rating))
        return None if ring is None else ring.id

    def _suiting(self) -> list[tuple[MainHolder, Fuse]]:
        offered = [
            (holder, fuse)
            for holder in self._offer.catalogue.main_holders
            for fuse in self._offer.catalogue.fuses
            if fuse.fuse_format == holder.fuse_format
            and fuse.rating <= holder.limit
            and fuse.voltage >= self._offer.maximum_v
            and fuse.breaking_capacity >= self._offer.source_fault_a
            and holder.stack >= self._num_panels
        ]
        found = [(holder, fuse) for holder, fuse in offered if fuse.rating == self._feed.rating]
        if found:
            return found
        ratings = ", ".join(f"{rating:g}" for rating in sorted({fuse.rating for _, fuse in offered}))
        raise SizingError(
            f"finds no main fuse of {self._feed.rating:g} A on offer for {self._offer.maximum_v:g} V and "
            f"{self._offer.source_fault_a:g} A at the source, in a holder for {self._num_panels} "
            f"cable{'s' if self._num_panels > 1 else ''}",
            rule="no-main-fuse",
            known=f"ratings on offer that would do otherwise: {ratings + ' A' if ratings else 'none'}",
            hint="choose one of these as the rating of the feed, or offer such a fuse and main holder",
        )
