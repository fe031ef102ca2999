"""
Which fuse of the plan opens when a wire is shorted: before coil leads, feed cables and feed entries.

Comes in as the view and a need, a feed or an entry; goes out as a fuse of the catalogue, or None where the plan has
none there or it is not known.
"""

from __future__ import annotations

from collections import Counter

from allocator.requirements.catalogue import Fuse
from allocator.sizing.sized import Option
from allocator.verifying.records import EntryRecord, NeedKey
from allocator.verifying.view import View

COIL_SIDES = ("85", "86", "31")
"""Designations of a socket whose wires carry the coil's current only."""


def coil_wires(option: Option) -> tuple[str, ...]:
    """Return the wires of the leads of an option's coil, each once."""
    return tuple(dict.fromkeys(cut.wire for cut in option.wires if cut.start in COIL_SIDES))


def inline_before_coil(view: View, option: Option) -> list[Fuse]:
    """Return the fuses among the parts of an option beside its own, which may be of the same kind."""
    fuses = Counter({part: count for part, count in option.parts.items() if part in view.fuses})
    fuses.subtract([] if option.fuse is None else [option.fuse])
    return [view.fuses[part] for part in fuses.elements()]


def fuse_before_coil(view: View, need: NeedKey) -> Fuse | None:
    """
    Return the fuse before the leads of a coil.

    That is an in-line fuse of their own, else the fuse of the control circuit, else that of the need itself (of a
    flasher always, as its timer hangs on its load's supply).
    """
    option = view.option_of(need)
    inline = [] if option is None else inline_before_coil(view, option)
    if inline:
        return max(inline, key=lambda fuse: fuse.rating)
    control = control_of(view, need)
    way = view.way_of.get(need if control is None else ("circuit", control))
    return None if way is None else view.fuses.get(way.used.fuse or "")


def control_of(view: View, need: NeedKey) -> str | None:
    """Return the circuit that supplies the coil of a need; None where the need's own fuse does."""
    if need[0] == "feed":
        return view.feeds[need[1]].control if need[1] in view.feeds else None
    circuit = view.circuits.get(need[1])
    return None if circuit is None or circuit.switching == "flasher" else circuit.control


def coil_panels(view: View, need: NeedKey, panel: str) -> tuple[str, ...]:
    """Return the panels that the leads of a coil touch: its own, and that of the circuit that supplies it."""
    control = control_of(view, need)
    way = None if control is None else view.way_of.get(("circuit", control))
    if way is None or way.place is None or way.place.panel not in view.panels:
        return (panel,)
    return panel, way.place.panel


def fuse_before_cable(view: View, name: str, below: tuple[str, ...] = ()) -> Fuse | None:
    """Return the fuse before the cable of a feed: main fuse, in its own way, else what stands before its relay."""
    feed = view.feeds[name]
    source = view.feeds.get(feed.source or "")
    if feed.fuse_format is not None:
        way = view.way_of.get(("feed", name))
        return None if way is None else view.fuses.get(way.used.fuse or "")
    if source is None or source.name in below:
        main = view.sized.feeds[name].main if name in view.sized.feeds else None
        return view.fuses.get("" if main is None else main.fuse)
    entered = (view.fuses.get(e.piece.tail_fuse or "") for e in view.entries if name in view.feeds_entered_by(e))
    return next(filter(None, entered), None) or fuse_before_cable(view, source.name, (*below, name))


def fuse_before_entry(view: View, entry: EntryRecord) -> Fuse | None:
    """Return the fuse next before a feed entry: the plan's in its tail, else that of its feed's cable."""
    own = view.fuses.get(entry.piece.tail_fuse or "")
    return own if own is not None else fuse_before_cable(view, entry.piece.feed)
