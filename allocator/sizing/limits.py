"""
What may flow into and through a module at a panel's ambient temperature.

What is on offer and the sized feeds come in; limits of feed entries, rows and modules go out, in whole milliamperes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from allocator.requirements.catalogue import DeratingStep, Module, Strip, Terminal, Wire
from allocator.requirements.scenario import PanelSite
from allocator.sizing.fuses import allowed_ma
from allocator.sizing.offer import Offer
from allocator.sizing.sized import Entry, SizedFeed, supply_groups
from allocator.units import limit_to_model


def derated_ma(limit_a: float, stated_c: float, steps: Sequence[DeratingStep], ambient_c: float) -> int:
    """
    Return what is left of a continuous limit at an ambient temperature.

    Parameters
    ----------
    limit_a, stated_c
        Limit, A, and the ambient temperature up to which it holds, degC.
    steps
        Derating table of the part, in any order; read at the next higher column, never interpolated.
    ambient_c
        Ambient temperature, degC.

    Returns
    -------
    int
        Limit, mA, rounded down; 0 above the stated temperature without a table, or past its last column.
    """
    if ambient_c <= stated_c:
        return limit_to_model(limit_a)
    columns = sorted((step.ambient, step.factor) for step in steps)
    share = next((factor for column, factor in columns if ambient_c <= column), 0.0)
    return limit_to_model(limit_a * min(share, 100.0) / 100)


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
        By (panel, module type, supply group, feed). A key is missing where no terminal takes the tail, or nothing may
        flow.
    """
    wires = {wire.id: wire for wire in offer.catalogue.wires}
    found: dict[tuple[str, str, int, str], Entry] = {}
    for feed in feeds.values():
        for name in feed.panels:
            panel = offer.panel_by_name[name]
            tail_ma = _tail_ma(offer, feed, panel)
            for module in offer.catalogue.modules:
                for group, rows in enumerate(supply_groups(module)):
                    entry = _entry(offer, module, rows[0], panel, wires[feed.tail_wire], tail_ma)
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


def inlet_of(offer: Offer, module: Module, row: int) -> tuple[str, float | str | None]:
    """Return the kind of terminal that feeds a row, with its tab, mm, or its stud; None where the strip is not on "
    "offer."""
    bus = module.rows[row].bus
    if bus == "single":
        return "tab", module.rows[row].tab
    if bus == "stud":
        return "ring", module.stud
    strip = _strip(offer, module, row)
    return "inlet", None if strip is None else strip.inlet_tab


def _strip(offer: Offer, module: Module, row: int) -> Strip | None:
    return next((strip for strip in offer.catalogue.strips if strip.id == module.rows[row].strip), None)


def _entry(offer: Offer, module: Module, row: int, panel: PanelSite, tail: Wire, tail_ma: int) -> Entry | None:
    kind, size = inlet_of(offer, module, row)
    if size is None:
        return None
    inlet_ma = _inlet_ma(offer, module, row, panel)
    most_ma = tail_ma if inlet_ma is None else min(tail_ma, inlet_ma)

    def limit_ma(terminal: Terminal) -> int:
        return min(most_ma, limit_to_model(terminal.limit))

    # What an entry carries decides how many tails are needed, so it comes before the price of the terminal.
    best = min(
        offer.terminals(kind, size, tail),
        key=lambda terminal: (-limit_ma(terminal), terminal.price, terminal.id),
        default=None,
    )
    return None if best is None or limit_ma(best) <= 0 else Entry(limit_ma(best), best.id)


def _inlet_ma(offer: Offer, module: Module, row: int, panel: PanelSite) -> int | None:
    """Return the limit of the strip or stud that a terminal sits on, mA; None for a way of its own."""
    bus = module.rows[row].bus
    if bus == "single":
        return None
    if bus == "stud":
        return _module_ma(module, module.stud_limit, panel)
    strip = _strip(offer, module, row)
    return 0 if strip is None else derated_ma(strip.limit, strip.stated_ambient, strip.derating, panel.ambient)
