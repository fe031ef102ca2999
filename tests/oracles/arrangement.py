"""
Goal values of a finished arrangement, written from docs/definitions.md alone, for the oracles.

Comes in as who sits where; goes out as one exact number a goal. Nothing of the package's own measuring is used.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.requirements.catalogue import Module
from allocator.sizing.sized import Need, Option, Sized, Tail


@dataclass(frozen=True, order=True)
class Standing:
    """A module where it stands; ``bay`` is its first bay, or 0 where no address matters."""

    panel: str
    bay: int
    module: str


@dataclass(frozen=True)
class Seat:
    """Where one need sits: indices of modules, index of the row; None for what it does not take."""

    need: Need
    option: Option
    feed: str
    module: int | None
    row: int | None
    socket_module: int | None


@dataclass(frozen=True)
class FeedEntry:
    """
    One feed entry: its terminal (None at a socket), the strip it is cut from (None if it is no strip), and its own
    tail (None if the feed's brings the current).
    """

    panel: str
    feed: str
    terminal: str | None
    strip: str | None
    ways: int
    tail: Tail | None = None


@dataclass(frozen=True)
class Arrangement:
    """Everything a goal can ask for."""

    carriers: tuple[tuple[str, str], ...]
    modules: tuple[Standing, ...]
    seats: tuple[Seat, ...]
    entries: tuple[FeedEntry, ...]


Loads = Mapping[str, Sequence[int]]


def branch_loads(sized: Sized, feed_by_need: Mapping[str, str]) -> Loads:
    """Return mA by case on every feed; a branch counts on its source with its coil."""
    cases = len(sized.requirements.scenario.load_cases)
    loads = {feed: [0] * cases for feed in sized.feeds}
    for need in sized.needs:
        feed: str | None = feed_by_need[need.id]
        while feed is not None:
            for case, load_ma in enumerate(need.load_ma_by_case):
                loads[feed][case] += load_ma
            feed = sized.feeds[feed].source
    return loads


def way_load(need: Need, loads: Loads) -> tuple[int, ...]:
    """Return mA by case through the way (or socket) of a need; a way that supplies a feed carries that feed."""
    supplied = loads[need.supplies] if need.supplies else [0] * len(need.load_ma_by_case)
    return tuple(own + below for own, below in zip(need.load_ma_by_case, supplied, strict=True))


def peak_utilisation(sized: Sized, loads: Loads) -> Fraction:
    """Return the largest load / (rating x feed loading) over feeds and cases."""
    return max(Fraction(max(loads[name])) / feed.allowed_ma for name, feed in sized.feeds.items())


def long_jumpers(seats: Sequence[Seat]) -> int:
    """Count the needs whose way and socket are in different modules."""
    return sum(
        seat.module is not None and seat.socket_module is not None and seat.module != seat.socket_module
        for seat in seats
    )


def goal_values(sized: Sized, made: Arrangement) -> dict[str, Fraction]:
    """Return the value of every goal of the definitions, exact."""
    carrier_by_id = {carrier.id: carrier for carrier in sized.requirements.catalogue.carriers}
    carriers = [carrier_by_id[name] for _, name in made.carriers]
    loads = branch_loads(sized, {seat.need.id: seat.feed for seat in made.seats})
    parts, wires = parts_and_wires(sized, made)
    areas = {wire.id: _exact(wire.area) for wire in sized.requirements.catalogue.wires}
    price = sum((sized.price_by_part[part] * count for part, count in parts.items()), Fraction(0))
    price += sum((sized.price_by_part[wire] * length / 1000 for wire, length in wires.items()), Fraction(0))
    return {
        "bays": Fraction(sum(carrier.bays for carrier in carriers)),
        "module-types": Fraction(len({standing.module for standing in made.modules})),
        "strip-pieces": Fraction(len(made.entries)),
        "peak-utilisation": peak_utilisation(sized, loads),
        "long-jumpers": Fraction(long_jumpers(made.seats)),
        "price": price,
        "carriers": Fraction(len(carriers)),
        "footprint": sum((_exact(carrier.width) * _exact(carrier.height) for carrier in carriers), Fraction(0)),
        "panels": Fraction(len({panel for panel, _ in made.carriers})),
        "wire-length": Fraction(sum(wires.values())),
        "copper": sum((length * areas[wire] for wire, length in wires.items()), Fraction(0)),
        "spare-ways": Fraction(spare_ways(sized, made.modules)),
    }


def spare_ways(sized: Sized, modules: Sequence[Standing]) -> int:
    """Count the ways that neither a circuit nor a feed's own fuse takes, once every need has its place."""
    ways = sum(row.ways for standing in modules for row in sized.module_by_id[standing.module].rows)
    return ways - sum(need.takes_way and need.kind != "spare" for need in sized.needs)


def _exact(number: float) -> Fraction:
    return Fraction(str(number))


def parts_and_wires(sized: Sized, made: Arrangement) -> tuple[Counter[str], Counter[str]]:
    """Count parts 1 to 6 of the definitions; wires in mm by wire id."""
    catalogue = sized.requirements.catalogue
    short_mm, long_mm, tail_mm = (
        round(_exact(metres) * 1000)
        for metres in (catalogue.short_jumper, catalogue.long_jumper, catalogue.tail_length)
    )
    parts: Counter[str] = Counter()
    wires: Counter[str] = Counter()
    parts.update(name for _, name in made.carriers)
    parts.update(standing.module for standing in made.modules)
    for seat in made.seats:
        if seat.need.kind != "spare":
            parts.update(seat.option.parts)
            for cut in seat.option.wires:
                wires[cut.wire] += cut.length_mm
        if seat.module is not None and seat.socket_module is not None:
            wires[str(seat.option.jumper_wire)] += short_mm if seat.module == seat.socket_module else long_mm
            beside = [cut.wire for cut in seat.option.wires if (cut.start, cut.end) == ("86", "own fuse way")]
            for wire in beside if seat.module != seat.socket_module else ():
                wires[wire] += long_mm - short_mm
    for entry in made.entries:
        if entry.strip is not None:
            parts[entry.strip] += entry.ways
        if entry.terminal is not None:
            parts[entry.terminal] += 1
    for feed_name in sorted({entry.feed for entry in made.entries}):
        main = sized.feeds[feed_name].main
        if main is not None:
            parts.update((main.fuse, main.holder, *main.lead_rings))
            wires[sized.feeds[feed_name].cable_wire] += main.lead_mm
    for (feed_name, panel), n in sorted(Counter((entry.feed, entry.panel) for entry in made.entries).items()):
        feed = sized.feeds[feed_name]
        tails = [entry.tail or feed.tail for entry in made.entries if (entry.feed, entry.panel) == (feed_name, panel)]
        wires[feed.cable_wire] += feed.cable_mm_by_panel[panel]
        if feed.main is not None:
            parts[feed.main.ring] += 1
        if n >= 2 or any(tail.fuse for tail in tails):
            studs = max(1, -(-(n - 1) // (feed.stud_stack - 2)))
            wires[feed.cable_wire] += (studs - 1) * short_mm
            parts[str(feed.cable_ring)] += 1 + 2 * (studs - 1)
            parts[str(feed.stud)] += studs
            for tail in tails:
                wires[tail.wire] += tail_mm
                parts.update(part for part in (tail.ring, tail.fuse, tail.holder) if part is not None)
    for accessory in catalogue.accessories:
        parts[accessory.id] += accessory.quantity * _occasions(sized, made)[accessory.per]
    return parts, wires


def _occasions(sized: Sized, made: Arrangement) -> dict[str, int]:
    modules = [sized.module_by_id[standing.module] for standing in made.modules]
    bays = sum(
        carrier.bays
        for _, name in made.carriers
        for carrier in sized.requirements.catalogue.carriers
        if carrier.id == name
    )
    return {
        "carrier": len(made.carriers),
        "bay": bays,
        "empty-bay": bays - sum(module.bays for module in modules),
        "module": len(modules),
        "row": sum(len(module.rows) for module in modules),
        "socket": sum(sockets.count for module in modules for sockets in module.sockets),
        "relay": sum(seat.socket_module is not None for seat in made.seats),
        "feed-tail": len(made.entries),
        "unused-cavity": sum(cavities(sized, module) for module in modules) - _used_cavities(sized, made),
    }


def cavities(sized: Sized, module: Module) -> int:
    """Count the terminal positions of a module: outputs, supplies that are not on a stud, tabs of its sockets."""
    catalogue = sized.requirements.catalogue
    most_tabs = {
        sockets.relay_class: max(
            (len(tabs.tabs) for tabs in catalogue.relay_tabs if tabs.relay_class == sockets.relay_class), default=0
        )
        for sockets in module.sockets
    }
    ways = sum(row.ways * (1 if row.bus == "stud" else 2) for row in module.rows)
    return ways + sum(sockets.count * most_tabs[sockets.relay_class] for sockets in module.sockets)


def _used_cavities(sized: Sized, made: Arrangement) -> int:
    used = 0
    for seat in made.seats:
        used += seat.option.cavities
        if seat.module is not None and seat.row is not None:
            used += sized.module_by_id[made.modules[seat.module].module].rows[seat.row].bus != "stud"
    return used
