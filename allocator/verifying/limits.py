"""
How much a row, a module or a feed entry may carry where it stands, by this room's own reading of the catalogue.

The lower of these and of the sizing table's figure binds, so that an error of the sizing table does not hide here.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from allocator.requirements.catalogue import DeratingStep, Module, Terminal
from allocator.sizing.sized import Entry, Tail
from allocator.verifying.exact import exact, milliamperes, number, share
from allocator.verifying.fuse_current import fuse_limit_ma
from allocator.verifying.records import EntryRecord
from allocator.verifying.view import View
from allocator.verifying.wire_current import wire_limit_ma


def derated_ma(
    limit_a: float | None, stated_c: float, steps: Sequence[DeratingStep], ambient_c: float
) -> Fraction | None:
    """
    Return the share of a limit that a part may use at an ambient temperature, mA.

    Up to the stated ambient that is all of it; above, the share of the first step that is not below the ambient, and
    nothing past the last step. None where the part has no limit.
    """
    if limit_a is None:
        return None
    if ambient_c <= stated_c:
        return milliamperes(limit_a)
    factors = sorted((step.ambient, step.factor) for step in steps if step.ambient >= ambient_c)
    return milliamperes(limit_a) * min(Fraction(1), share(factors[0][1])) if factors else Fraction()


def _least(*limits: Fraction | int | None) -> Fraction | None:
    return min((Fraction(limit) for limit in limits if limit is not None), default=None)


def _in_module_ma(view: View, panel: str, module: Module, limit_a: float | None) -> Fraction | None:
    site = view.panels.get(panel)
    return None if site is None else derated_ma(limit_a, module.stated_ambient, module.derating, site.ambient)


def row_limit_ma(view: View, panel: str, module: Module, row: int) -> Fraction | None:
    """Return what the ways of a row may carry together at a panel, mA; None: no limit."""
    own = _in_module_ma(view, panel, module, module.rows[row].limit)
    return _least(own, view.sized.row_limit_ma.get((panel, module.id, row)))


def module_limit_ma(view: View, panel: str, module: Module) -> Fraction | None:
    """Return what the ways of a module may carry together at a panel, mA; None: no limit."""
    own = _in_module_ma(view, panel, module, module.limit)
    return _least(own, view.sized.module_limit_ma.get((panel, module.id)))


def sized_entry(view: View, entry: EntryRecord) -> Entry | None:
    """Return what the sizing table says of a feed entry; None at a socket, and where the table has no such entry."""
    if entry.panel is None or entry.module is None or entry.group is None:
        return None
    return view.sized.entries.get((entry.panel, entry.module.id, entry.group, entry.piece.feed))


def terminal_of(view: View, entry: EntryRecord) -> Terminal | None:
    """Return the terminal at the panel's end of the tail of a feed entry; None where the sizing table has none."""
    sized = sized_entry(view, entry)
    return None if sized is None else view.terminals.get(sized.terminal)


def tail_of(view: View, entry: EntryRecord) -> Tail | None:
    """Return the tail of a feed entry by the sizing table, its own or the feed's; None where it has no such feed."""
    feed, own = view.sized.feeds.get(entry.piece.feed), sized_entry(view, entry)
    if feed is None or entry.panel is None or entry.module is None:
        return None
    return feed.tail if own is None or own.tail is None else own.tail


def wire_at(view: View, entry: EntryRecord) -> str | None:
    """
    Return the wire that comes in at a feed entry: its tail's, or its cable's where that goes straight there.

    It does where the feed has no other entry at the panel and no fuse in this one's tail.
    """
    tail = tail_of(view, entry)
    if tail is None:
        return None
    straight = tail.fuse is None and len(view.arrivals[entry.piece.feed, entry.panel or ""]) == 1
    return view.sized.feeds[entry.piece.feed].cable_wire if straight else tail.wire


def tail_limit_ma(view: View, entry: EntryRecord) -> Fraction | None:
    """Return what the tail of a feed entry may carry, mA: its wire, and the in-line fuse that the plan puts there."""
    tail, site = tail_of(view, entry), view.panels.get(entry.panel or "")
    if tail is None or site is None or tail.wire not in view.wires:
        return None
    wire = wire_limit_ma(view.wires[tail.wire], site.ambient, figures=view.figures)
    fuse = view.fuses.get(entry.piece.tail_fuse or "")
    if fuse is None:
        return wire
    return min(wire, fuse_limit_ma(fuse, site.ambient, view.rules.loading_factor, view.figures))


def inlet_limit_ma(view: View, entry: EntryRecord) -> Fraction | None:
    """Return what strip, inlet terminal and stud of a feed entry carry, mA; None: nothing is known of them."""
    module, site, terminal = entry.module, view.panels.get(entry.panel or ""), terminal_of(view, entry)
    if module is None or site is None or entry.group is None:
        return None
    row = module.rows[entry.ways[0].row or 0]
    strip = view.strips.get(row.strip or "") if entry.piece.kind == "strip" else None
    return _least(
        None if terminal is None else milliamperes(terminal.limit),
        None if strip is None else derated_ma(strip.limit, strip.stated_ambient, strip.derating, site.ambient),
        _in_module_ma(view, site.name, module, module.stud_limit) if entry.piece.kind == "stud" else None,
    )


def entry_limit_ma(view: View, entry: EntryRecord) -> Fraction | None:
    """Return what may flow in at a feed entry, mA: the least of strip, inlet, stud and tail; None: nothing is known."""
    sized = sized_entry(view, entry)
    return _least(tail_limit_ma(view, entry), inlet_limit_ma(view, entry), None if sized is None else sized.limit_ma)


def _tab(width_mm: float | None) -> str:
    return "of no width" if width_mm is None else f"of {number(exact(width_mm))} mm"


def misfit(view: View, entry: EntryRecord) -> str:
    """Return why the inlet of a feed entry does not take its feed's tail; empty if it does."""
    terminal, module = terminal_of(view, entry), entry.module
    if terminal is None or module is None:
        return "the sizing table has no terminal for it there"
    row = module.rows[entry.ways[0].row or 0]
    strip = view.strips.get(row.strip or "")
    wanted = {
        "strip": ("inlet", _tab(None if strip is None else strip.inlet_tab)),
        "single": ("tab", _tab(row.tab)),
        "stud": ("ring", f"{module.stud}"),
    }[row.bus]
    found = terminal.kind, f"{terminal.stud}" if terminal.kind == "ring" else _tab(terminal.tab)
    if found != wanted:
        return f'terminal "{terminal.id}" is a {" ".join(found)}; needed is a {" ".join(wanted)}'
    wire = view.wires.get(wire_at(view, entry) or "")
    if wire is not None and not terminal.smallest_wire <= wire.area <= terminal.largest_wire:
        return f'terminal "{terminal.id}" does not take a wire of {number(exact(wire.area))} mm2'
    return ""
