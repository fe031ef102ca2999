"""
What may flow into and through a module at a panel's ambient temperature.

What is on offer and the sized feeds come in; limits of feed entries, rows and modules go out, in whole milliamperes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from allocator.requirements.catalogue import Module, Terminal
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.fuses import allowed_ma
from allocator.sizing.inlets import Inlet, derated_ma, inlet_of
from allocator.sizing.offer import Offer
from allocator.sizing.sized import Entry, Need, SizedFeed, supply_groups
from allocator.sizing.tails import TailFuses
from allocator.units import limit_to_model, to_model


def row_limits(offer: Offer) -> Mapping[tuple[str, str, int], int | None]:
    """Return the limit of every row by (panel, module type, row index), mA; None: no limit of its own."""
    return {
        (panel.name, module.id, index): _module_ma(module, row.limit, panel)
        for panel in offer.scenario.panels
        for module in offer.catalogue.modules
        for index, row in enumerate(module.rows)
    }


def module_limits(offer: Offer) -> Mapping[tuple[str, str], int | None]:
    """Return the limit of every module by (panel, module type), mA; None: no limit of its own."""
    return {
        (panel.name, module.id): _module_ma(module, module.limit, panel)
        for panel in offer.scenario.panels
        for module in offer.catalogue.modules
    }


def socket_limits(offer: Offer, feeds: Mapping[str, SizedFeed], needs: Sequence[Need]) -> Mapping[str, int]:
    """Return what may flow in at the socket of every branch that its source enters there, mA, by branch."""
    return {
        need.supplies: _tail_ma(offer, feeds[need.feeds[0]], offer.panel_by_name[need.options[0].panel])
        for need in needs
        if need.supplies is not None and not need.takes_way
    }


def entries(offer: Offer, feeds: Mapping[str, SizedFeed]) -> Mapping[tuple[str, str, int, str], Entry]:
    """
    Return how each feed enters each supply group.

    Parameters
    ----------
    offer
        What is on offer.
    feeds
        Sized feeds by name.

    Returns
    -------
    Mapping
        By (panel, module type, supply group, feed). A key is missing where no terminal takes a tail, where nothing may
        flow, or where no fuse on offer protects what the tail enters.
    """
    fuses = TailFuses(offer)
    found: dict[tuple[str, str, int, str], Entry] = {}
    for feed in feeds.values():
        for name in feed.panels:
            panel = offer.panel_by_name[name]
            for module in offer.catalogue.modules:
                for group, rows in enumerate(supply_groups(module)):
                    inlet = inlet_of(offer, module, rows[0], panel)
                    entry = _unfused(offer, feed, panel, inlet) or fuses.entry(feed, panel, inlet)
                    if entry is not None:
                        found[name, module.id, group, feed.name] = entry
    return found


def _module_ma(module: Module, limit_a: float | None, panel: PanelSite) -> int | None:
    if limit_a is None:
        return None
    return derated_ma(limit_a, module.stated_ambient, module.derating, panel.ambient)


def _tail_ma(offer: Offer, feed: SizedFeed, panel: PanelSite) -> int:
    limits = {item.part.id: item.limit_ma for item in offer.wires(panel.ambient, bundled=False)}
    if feed.tail_fuse is None:
        return limits[feed.tail_wire]
    fuse = next(fuse for fuse in offer.catalogue.fuses if fuse.id == feed.tail_fuse)
    return min(
        limits[feed.tail_wire],
        allowed_ma(fuse.fuse_format, fuse.rating, panel.ambient, offer.loading_share, offer.figures),
    )


def _unfused(offer: Offer, feed: SizedFeed, panel: PanelSite, inlet: Inlet) -> Entry | None:
    """Return how the feed's own tail enters; None where strip, stud or terminal carry less than what protects it."""
    protection_ma = to_model(feed.tail_protection_a)
    if not inlet.bears(protection_ma):
        return None
    tail = next(wire for wire in offer.catalogue.wires if wire.id == feed.tail_wire)
    tail_ma = _tail_ma(offer, feed, panel)
    most_ma = tail_ma if inlet.limit_ma is None else min(tail_ma, inlet.limit_ma)

    def limit_ma(terminal: Terminal) -> int:
        return min(most_ma, limit_to_model(terminal.limit))

    # What an entry carries decides how many tails are needed, so it comes before the price of the terminal.
    bearing = inlet.terminals(offer, tail, protection_ma)
    best = min(bearing, key=lambda terminal: (-limit_ma(terminal), terminal.price, terminal.id), default=None)
    return None if best is None else Entry(limit_ma(best), best.id)
