"""
In-line fuses of feed tails: what holders and fuses on offer could protect, and the tail of an entry that needs its own.

What is on offer, a sized feed and an inlet come in; a holder with its fuse, or an entry with its tail, goes out. The
meaning is "Feed entries" in ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, Holder
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.fuses import allowed_ma
from allocator.sizing.inlets import Inlet
from allocator.sizing.offer import Offer
from allocator.sizing.sized import Entry, SizedFeed, Tail
from allocator.units import limit_to_model, to_model


@dataclass(frozen=True, slots=True)
class TailFuse:
    """A fuse in an in-line holder, with what it may carry without end in its place, mA."""

    holder: Holder
    fuse: Fuse
    limit_ma: int


class TailFuses:
    """
    The in-line fuses on offer.

    Parameters
    ----------
    offer
        What is on offer.
    """

    def __init__(self, offer: Offer) -> None:
        self._offer = offer
        self._at: dict[float, Sequence[TailFuse]] = {}

    def at(self, ambient_c: float) -> Sequence[TailFuse]:
        """Return every holder with every fuse that suits it and the net at an ambient temperature, degC."""
        if ambient_c not in self._at:
            found = [item for holder in self._offer.catalogue.holders for item in self._of(holder, ambient_c)]
            self._at[ambient_c] = sorted(found, key=_most_first)
        return self._at[ambient_c]

    def _of(self, holder: Holder, ambient_c: float) -> Sequence[TailFuse]:
        share = self._offer.loading_share
        try:
            return [
                TailFuse(holder, fuse, allowed_ma(fuse.fuse_format, fuse.rating, ambient_c, share, self._offer.figures))
                for fuse in self._offer.fuses(holder.fuse_format)
                if fuse.rating <= holder.limit
            ]
        except SizingError:
            return []  # no fuse of this format suits the net, or none is published for that temperature

    def entry(self, feed: SizedFeed, panel: PanelSite, inlet: Inlet) -> Entry | None:
        """
        Return how a feed enters with a tail and fuse of the entry's own.

        Parameters
        ----------
        feed, panel
            The feed, and where.
        inlet
            What it enters there.

        Returns
        -------
        Entry or None
            Behind the fuse that carries most of those that protect strip or stud, terminal and wire; None where there
            is none.
        """
        offer = self._offer
        stud = next(item for item in offer.catalogue.studs if item.id == feed.stud)
        for item in self.at(panel.ambient):
            rating_ma = to_model(item.fuse.rating)
            if item.fuse.rating > feed.tail_protection_a or item.limit_ma <= 0 or not inlet.bears(rating_ma):
                continue
            for wire in offer.wires(panel.ambient, bundled=False):
                terminals = inlet.terminals(offer, wire.part, rating_ma)
                ring = offer.terminal("ring", stud.size, wire.part, rating_ma)
                if offer.bears(wire, item.fuse) and terminals and ring is not None:
                    best = min(terminals, key=lambda terminal: (terminal.price, terminal.id))
                    tail = Tail(wire.part.id, ring.id, item.fuse.id, item.holder.id, item.fuse.rating)
                    return Entry(min(item.limit_ma, limit_to_model(best.limit)), best.id, tail)
        return None


def _most_first(item: TailFuse) -> tuple[int, int, str, str]:
    return -item.limit_ma, item.holder.price + item.fuse.price, item.holder.id, item.fuse.id
