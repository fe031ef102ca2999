"""
What a feed that branches from another takes in the panel: its own fuse, its own relay, or both.

The feed tree, the loads and a feed come in; its one option goes out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, Relay, Wire
from allocator.requirements.vehicle import Feed, PanelSite
from allocator.sizing.coils import CoilLeads, coil_leads
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.fuse_choice import possible_fuses
from allocator.sizing.loads import Loads
from allocator.sizing.offer import Offer
from allocator.sizing.sized import Need, Option, Reason, SizedFeed
from allocator.sizing.suppression import coil_advice
from allocator.units import from_model, to_model


class Branch:
    """
    The own fuse and relay of one feed.

    Parameters
    ----------
    tree, loads
        All feeds, and what everything draws.
    feed
        A feed with a source.

    Raises
    ------
    SizingError
        If its home is open, or the fuse or relay is not on offer.
    """

    def __init__(self, tree: FeedTree, loads: Loads, feed: Feed) -> None:
        self._tree, self._loads, self._feed = tree, loads, feed
        self._offer: Offer = tree.offer
        self.panel: PanelSite = self._offer.panel_by_name[tree.home(feed)]
        self._fuse = self._own_fuse() if feed.fuse_format is not None else None
        self._relay: Relay | None = loads.feed_relay(feed) if feed.relay_class is not None else None
        self._tabs = {} if self._relay is None else self._offer.tabs(self._relay.relay_class, "make")
        self._protection_ma = to_model(tree.protection_a(feed))

    def takes_cable(self, wire: Wire) -> bool:
        """Say whether the output of the fuse, or the relay's 87, takes a wire."""
        width = self._tabs["87"] if self._relay is not None else self._way_mm()
        return self._terminal(width, wire) is not None

    def need(self, sized: SizedFeed, source: SizedFeed) -> Need:
        """
        Return the need of the feed.

        Parameters
        ----------
        sized, source
            The feed and the one that it branches from, sized.

        Raises
        ------
        SizingError
            If a jumper, terminal or coil lead is not on offer.
        """
        coil_ma = self._loads.feed_coil_ma(self._feed) if self._feed.control is None else 0
        return Need(
            id=self._feed.name,
            kind="feed",
            label=self._feed.label or self._feed.name,
            feeds=(source.name,),
            load_ma_by_case=(coil_ma,) * len(self._offer.scenario.load_cases),
            options=(self._option(sized, source),),
            supplies=self._feed.name,
            takes_way=self._fuse is not None,
        )

    def _option(self, sized: SizedFeed, source: SizedFeed) -> Option:
        wire_by_id = {wire.id: wire for wire in self._offer.catalogue.wires}
        cable = wire_by_id[sized.cable_wire]
        limits = {
            item.part.id: item.limit_ma for item in self._offer.wires(self._tree.hottest_c(self._feed), bundled=False)
        }
        ends: dict[str, tuple[float, Wire]]
        jumper: Wire | None = None
        if self._relay is None:
            ends = {"way": (self._way_mm(), cable)}
        elif self._fuse is None:
            ends = {"30": (self._tabs["30"], wire_by_id[source.tail_wire]), "87": (self._tabs["87"], cable)}
        else:
            jumper = self._jumper(self._fuse)
            ends = {"way": (self._way_mm(), jumper), "30": (self._tabs["30"], jumper), "87": (self._tabs["87"], cable)}
        terminals = {place: self._needed(place, width, wire) for place, (width, wire) in ends.items()}
        leads = self._coil(terminals)
        own = [part.id for part in (self._fuse, self._relay) if part is not None]
        parts = Counter([*own, *terminals.values(), *(() if leads is None else leads.inline_parts)])
        return Option(
            panel=self.panel.name,
            fuse_format=self._feed.fuse_format,
            relay_class=self._feed.relay_class,
            fuse=None if self._fuse is None else self._fuse.id,
            fuse_rating_a=0.0 if self._fuse is None else self._fuse.rating,
            relay=None if self._relay is None else self._relay.id,
            wire=cable.id,
            wire_limit_a=from_model(limits[cable.id]),
            jumper_wire=None if jumper is None else jumper.id,
            cavities=len(terminals),
            parts=dict(sorted(parts.items())),
            wires=() if leads is None else leads.cuts,
            terminal_by_designation=terminals,
            reasons=self._reasons(cable, limits[cable.id], terminals),
            coil_fuse=None if leads is None else leads.inline,
        )

    def _own_fuse(self) -> Fuse:
        fuses = self._offer.fuses(str(self._feed.fuse_format))
        if self._feed.fuse_format not in self._offer.formats:
            raise SizingError(
                f"wants a fuse of format {self._feed.fuse_format}, which no module on offer takes",
                rule="format-not-offered",
                known=f"formats on offer: {', '.join(self._offer.formats)}",
                hint="choose one of these",
            )
        for fuse in fuses:
            if fuse.rating == self._feed.rating:
                return fuse
        raise SizingError(
            f"wants its own fuse of {self._feed.rating:g} A in format {self._feed.fuse_format}, which is not on offer",
            rule="feed-fuse-not-offered",
            known="ratings on offer: " + ", ".join(dict.fromkeys(f"{fuse.rating:g}" for fuse in fuses)) + " A",
            hint="choose one of these as the rating of the feed",
        )

    def _way_mm(self) -> float:
        return self._offer.tab_by_format[str(self._feed.fuse_format)]

    def _terminal(self, width: float, wire: Wire) -> str | None:
        terminal = self._offer.terminal("tab", width, wire, self._protection_ma)
        return None if terminal is None else terminal.id

    def _needed(self, place: str, width: float, wire: Wire) -> str:
        terminal = self._terminal(width, wire)
        if terminal is None:
            raise SizingError(
                f"finds no terminal of {width:g} mm on offer that takes {wire.label} at {place} "
                f"and carries its protection of {from_model(self._protection_ma):g} A",
                rule="no-terminal",
                known=f"what stands before this point is a fuse of {from_model(self._protection_ma):g} A",
                hint="accept a larger relay class, give the feed its own fuse, or offer such a terminal",
            )
        return terminal

    def _jumper(self, fuse: Fuse) -> Wire:
        widths = (self._way_mm(), self._tabs["30"])
        for item in self._offer.wires(self.panel.ambient, bundled=False):
            if self._offer.bears(item, fuse) and all(self._terminal(width, item.part) for width in widths):
                return item.part
        raise SizingError(
            f"finds no wire on offer for the jumper behind its fuse of {self._feed.rating:g} A",
            rule="no-jumper",
            known=f"it must fit tabs of {' and '.join(f'{width:g}' for width in widths)} mm",
            hint="accept a larger relay class, or offer terminals for such a wire",
        )

    def _coil(self, terminals: dict[str, str]) -> CoilLeads | None:
        if self._relay is None:
            return None
        control = self._feed.control
        upstream: tuple[Fuse, ...] = () if self._fuse is None else (self._fuse,)
        if control is not None:
            upstream = possible_fuses(self._offer, self._loads, control)
        leads = coil_leads(self._offer, self.panel, self._tabs, self._loads.feed_coil_ma(self._feed), upstream, control)
        terminals.update(leads.terminal_by_designation)
        return leads

    def _reasons(self, cable: Wire, limit_ma: int, terminals: Mapping[str, str]) -> tuple[Reason, ...]:
        protection = from_model(self._protection_ma)
        allowed = self._feed.rating * self._offer.rules.feed_loading / 100
        reasons = [Reason("current", f"feed of {self._feed.rating:g} A, loaded up to {allowed:g} A")]
        if self._fuse is not None:
            reasons.append(Reason("fuse", f"{self._fuse.label}: the rating of the feed"))
        if self._relay is not None:
            rating = f"its contact carries {self._relay.resistive:g} A"
            reasons.append(Reason("relay", f"{self._relay.label}: {rating} for a load up to {allowed:g} A"))
            reasons.append(Reason("surge", coil_advice(self._relay, None, self._offer.figures)))
        carried = f"{cable.label} carries {from_model(limit_ma):.4g} A on its own behind {protection:g} A"
        listed = ", ".join(f"{place} {terminal}" for place, terminal in terminals.items())
        return (*reasons, Reason("wire", carried), Reason("terminal", listed))
