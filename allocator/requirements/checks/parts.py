"""The catalogue: every part says what its kind needs, and modules, strips and studs fit each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from allocator.requirements.catalogue import DeratingStep, Module, RelayTabs, Row, Strip, Terminal
from allocator.requirements.checks.names import double_faults, unknown_fault
from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, Spot, quoted, shown

_DESIGNATIONS = {
    "make": ("30", "87", "85", "86"),
    "changeover": ("30", "87", "87a", "85", "86"),
    "flasher": ("49", "49a"),
}
"""Terminals that a relay of each function needs (DIN 72552); a flasher may have its earth, 31, as well."""


def part_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of the catalogue."""
    yield from double_faults((item for _, item in draft.part_items()), "id")
    yield from _jumpers(draft)
    for item in draft.modules:
        yield from _module(draft, item)
    for item in [*draft.modules, *draft.parts("strips")]:
        yield from _derating(item.spot, item.value.stated_ambient, item.value.derating)
    for strip in draft.parts("strips"):
        yield from _offcuts(strip)
    for terminal in draft.parts("terminals"):
        yield from _terminal(terminal)
    yield from _tabs_of_one_width(draft)
    yield from _relay_tabs(draft)
    yield from _relays(draft)


def _jumpers(draft: Draft) -> Iterator[PlacedFault]:
    """Nothing that bounds a price or copper from below holds where a way to another module is the shorter one."""
    for item in draft.parts(""):
        short, long = item.value.short_jumper, item.value.long_jumper
        if long < short:
            message = f"the jumper to another module, {long:g} m, is shorter than the one within a module, {short:g} m"
            yield item.spot.fault("short-long-jumper", message, "long_jumper", known=f"expected at least {short:g} m")


def _module(draft: Draft, item: Item[Module]) -> Iterator[PlacedFault]:
    module, spot = item.value, item.spot
    if not module.rows and not module.sockets:
        yield spot.fault("empty-module", f"{spot.subject} has neither rows nor sockets", "rows")
    for number, row in enumerate(module.rows, start=1):
        yield from _row(draft, spot, number, row)
    on_stud = any(row.bus == "stud" for row in module.rows)
    for field in ("stud", "stud_limit"):
        if on_stud != (getattr(module, field) is not None):
            message = f'{spot.subject} has a row on a stud and no "{field}"'
            if not on_stud:
                message = f'{spot.subject} has "{field}" and no row on a stud'
            yield spot.fault("stud-and-rows", message, field)
    classes = [sockets.relay_class for sockets in module.sockets]
    for relay_class in dict.fromkeys(classes):
        if classes.count(relay_class) > 1:
            message = f"{spot.subject} lists {relay_class} sockets twice"
            yield spot.fault("listed-twice", message, "sockets", hint="write one count for each class")
    bays = [carrier.value.bays for carrier in draft.parts("carriers")]
    if bays and module.bays > max(bays):
        message = f"{spot.subject} is wider than every carrier"
        yield spot.fault("no-carrier-fits", message, "bays", known=f"the widest carrier has {max(bays)} bays")


def _row(draft: Draft, spot: Spot, number: int, row: Row) -> Iterator[PlacedFault]:
    field = f"rows no. {number}, strip"
    if row.bus == "strip" and row.strip is None:
        yield spot.fault("row-and-strip", f"row no. {number} of {spot.subject} takes a strip and names none", field)
    elif row.bus != "strip" and row.strip is not None:
        message = f"row no. {number} of {spot.subject} names a strip and takes none"
        yield spot.fault("row-and-strip", message, field, hint='leave out "strip", or write bus = "strip"')
    elif row.strip is not None and row.strip not in (known := draft.names("strips") or []):
        yield unknown_fault(spot, field, "strip", row.strip, known)


def _derating(spot: Spot, stated_c: float, steps: tuple[DeratingStep, ...]) -> Iterator[PlacedFault]:
    ambients = [stated_c, *(step.ambient for step in steps)]
    factors = [100.0, *(step.factor for step in steps)]
    if any(later <= earlier for earlier, later in pairwise(ambients)):
        message = f"the ambient temperatures in the derating table of {spot.subject} do not rise"
        known = f"expected each above the one before, the first above the stated {stated_c:g} degC"
        yield spot.fault("derating-order", message, "derating", known=known)
    if any(later > earlier for earlier, later in pairwise(factors)):
        message = f"the factors in the derating table of {spot.subject} rise"
        yield spot.fault("derating-order", message, "derating", known="expected each no larger than the one before")


def _offcuts(item: Item[Strip]) -> Iterator[PlacedFault]:
    strip, spot = item.value, item.spot
    if max(strip.offcuts, default=0) >= strip.ways:
        message = f"an offcut of {spot.subject} is no shorter than a whole length"
        yield spot.fault("offcut-too-long", message, "offcuts", known=f"a length has {strip.ways} ways")


def _terminal(item: Item[Terminal]) -> Iterator[PlacedFault]:
    terminal, spot = item.value, item.spot
    needed, other = ("stud", "tab") if terminal.kind == "ring" else ("tab", "stud")
    if getattr(terminal, needed) is None:
        message = f'{spot.subject} is of kind "{terminal.kind}" and has no "{needed}"'
        yield spot.fault("terminal-kind", message, needed)
    if getattr(terminal, other) is not None:
        message = f'{spot.subject} is of kind "{terminal.kind}", which has no "{other}"'
        yield spot.fault("terminal-kind", message, other)
    if terminal.smallest_wire > terminal.largest_wire:
        message = f"the smallest wire of {spot.subject} is larger than its largest"
        yield spot.fault("wire-range", message, "smallest_wire")


def _tabs_of_one_width(draft: Draft) -> Iterator[PlacedFault]:
    """A circuit's terminal is chosen with its fuse, before its row: rows of one format must take the same terminals."""
    first: dict[str, tuple[float, str]] = {}
    for item in draft.modules:
        for number, row in enumerate(item.value.rows, start=1):
            tab, place = first.setdefault(row.fuse_format, (row.tab, f"{item.spot.place}, row no. {number}"))
            if tab != row.tab:
                message = f"rows of fuse format {shown(row.fuse_format)} have tabs of different widths"
                known = f"{tab:g} mm at {place}, {row.tab:g} mm here"
                yield item.spot.fault("tab-of-format", message, f"rows no. {number}, tab", known=known)


def _relay_tabs(draft: Draft) -> Iterator[PlacedFault]:
    first: dict[tuple[str, str], Spot] = {}
    for item in draft.parts("relay_tabs"):
        tabs: RelayTabs = item.value
        what = f"{tabs.relay_class} {tabs.function} relays"
        spot = first.setdefault((tabs.relay_class, tabs.function), item.spot)
        if spot is not item.spot:
            yield item.spot.fault(
                "duplicate-tabs", f"the tabs of {what} are there twice", "tabs", known=f"first: {spot.place}"
            )
        missing = [name for name in _DESIGNATIONS[tabs.function] if name not in tabs.tabs]
        if missing:
            yield item.spot.fault("tabs-missing", f"the tabs of {what} lack {quoted(missing)}", "tabs")


def _relays(draft: Draft) -> Iterator[PlacedFault]:
    if draft.catalogue is None or "relay_tabs" in draft.catalogue.broken:
        return  # what seems to lack may stand in an entry that is broken
    all_tabs: list[RelayTabs] = [item.value for item in draft.parts("relay_tabs")]
    by_function = [(tabs.relay_class, tabs.function) for tabs in all_tabs]
    for item in draft.parts("relays"):
        if (item.value.relay_class, item.value.function) not in by_function:
            message = f"no entry of relay_tabs says which tabs {item.spot.subject} has"
            known = f"expected one for relay_class {item.value.relay_class}, function {item.value.function}"
            yield item.spot.fault("relay-without-tabs", message, known=known)
    classes = [tabs.relay_class for tabs in all_tabs]
    for item in draft.modules:
        for sockets in item.value.sockets:
            if sockets.relay_class not in classes:
                which = f"the {sockets.relay_class} sockets of {item.spot.subject}"
                message = f"no entry of relay_tabs says which tabs {which} have"
                yield item.spot.fault("sockets-without-tabs", message, "sockets")
