"""
The rule on terminals at ways and relay sockets: one in each cavity, for its tab, the wire there and the fuse before it.

Comes in as a plan and the requirements; goes out as findings. Which cavities are used follows from the switching and
from the tabs of the relay, not from the sizing table. Terminals of feed entries are in ``pieces.py``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from allocator.requirements.catalogue import Fuse, RelayFunction, Terminal
from allocator.sizing.sized import Option
from allocator.verifying.exact import exact, number
from allocator.verifying.findings import Finding
from allocator.verifying.fuses_before import COIL_SIDES, fuse_before_coil, fuse_before_entry
from allocator.verifying.limits import wire_at
from allocator.verifying.records import NeedKey
from allocator.verifying.view import View

OUTLETS: dict[RelayFunction, tuple[str, ...]] = {"make": ("87",), "changeover": ("87", "87a"), "flasher": ("49a",)}
"""Designations from which current goes on to the load, by function of the relay (DIN 72552)."""
INLETS = ("30", "49")


@dataclass(frozen=True, slots=True)
class Cavity:
    """A terminal position in use: where, its tab, mm, the wire there and the fuse before it, as far as known."""

    at: str
    designation: str
    tab_mm: float
    wire: str | None
    fuse: Fuse | None


def terminal_fits(view: View) -> Iterator[Finding]:
    """Report cavities without a terminal, terminals that do not fit, and those that are nowhere or not ordered."""
    for need, option in view.options_in_use.items():
        cavities = tuple(_cavities(view, need, option))
        for cavity in cavities:
            text = _misfit(view, cavity, option.terminal_by_designation.get(cavity.designation))
            if text:
                yield Finding("terminal-fits", f"{cavity.at} ({need[0]} {need[1]})", f"{cavity.designation}: {text}")
        for text in _miscounted(option, [cavity.designation for cavity in cavities]):
            yield Finding("terminal-fits", f'{need[0]} "{need[1]}"', text)


def _cavities(view: View, need: NeedKey, option: Option) -> Iterator[Cavity]:
    way, socket = view.way_of.get(need), view.socket_of.get(need)
    (inlet, fuse), outlet = _supply(view, need, option), _wire_out(view, need)
    if way is not None and way.row is not None:
        yield Cavity(way.at, "way", way.row.tab, outlet if socket is None else inlet, fuse)
    function = view.relay_function(need)
    if socket is None or function is None:
        return
    for designation, tab_mm in view.relay_tabs.get((socket.relay_class, function), {}).items():
        if designation in COIL_SIDES:
            coil = next((cut.wire for cut in option.wires if cut.start == designation), None)
            yield Cavity(socket.at, designation, tab_mm, coil, fuse_before_coil(view, need))
        elif designation in INLETS or designation in OUTLETS[function]:
            wire = inlet if designation in INLETS else outlet
            yield Cavity(socket.at, designation, tab_mm, wire, fuse)


def _supply(view: View, need: NeedKey, option: Option) -> tuple[str | None, Fuse | None]:
    """Return the wire at 30 or 49 and the fuse before it: a jumper, or what a feed enters with at the socket."""
    if not view.enters_at_socket(need):
        way = view.way_of.get(need)
        return option.jumper_wire, None if way is None else view.fuses.get(way.used.fuse or "")
    entering = (entry for entry in view.entries if need[1] in view.feeds_entered_by(entry))
    return next(((wire_at(view, entry), fuse_before_entry(view, entry)) for entry in entering), (None, None))


def _wire_out(view: View, need: NeedKey) -> str | None:
    """Return the wire that goes on from the fuse or relay of a need: a circuit's run, a feed's cable."""
    if need[0] == "feed":
        feed = view.sized.feeds.get(need[1])
        return None if feed is None else feed.cable_wire
    way = view.way_of.get(need)
    return None if way is None else way.used.wire


def _misfit(view: View, cavity: Cavity, name: str | None) -> str:
    """Return what is wrong with the terminal of a cavity; empty if nothing is."""
    if name is None:
        return "has no terminal"
    terminal = view.terminals.get(name)
    if terminal is None:
        return f'terminal "{name}" is not in the catalogue'
    if terminal.kind != "tab" or terminal.tab != cavity.tab_mm:
        return f'terminal "{name}" is none for a tab of {number(exact(cavity.tab_mm))} mm'
    return _overtaxed(view, cavity, terminal)


def _overtaxed(view: View, cavity: Cavity, terminal: Terminal) -> str:
    wire = view.wires.get(cavity.wire or "")
    if wire is not None and not terminal.smallest_wire <= wire.area <= terminal.largest_wire:
        return f'terminal "{terminal.id}" does not take a wire of {number(exact(wire.area))} mm2'
    if cavity.fuse is not None and cavity.fuse.rating > terminal.limit:
        carries = f'terminal "{terminal.id}" carries {number(exact(terminal.limit))} A'
        return f"{carries} behind a fuse of {number(exact(cavity.fuse.rating))} A"
    return ""


def _miscounted(option: Option, used: list[str]) -> Iterator[str]:
    stated = option.terminal_by_designation
    for designation in stated:
        if designation not in used:
            yield f"has a terminal at {designation}, where no wire ends"
    if option.cavities != len(stated):
        yield f"has {len(stated)} terminals, and the sizing table counts {option.cavities} cavities"
    for name, count in Counter(stated.values()).items():
        if option.parts.get(name, 0) != count:
            yield f'has {count} of terminal "{name}", and {option.parts.get(name, 0)} among its parts'
