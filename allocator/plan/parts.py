"""
Count what a plan is built from: every part, every length of wire, every way of strip.

Comes in as a Plan with its Sized; goes out as a Bill, the base of price, order list and wire list. The counting rules
are "Parts and wires of a plan" in ``docs/definitions.md``; the numbers in the comments are its paragraphs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.plan import Plan
from allocator.requirements.catalogue import Catalogue, Module
from allocator.sizing.sized import OWN_WAY, Cut, Sized, SizedFeed, Tail
from allocator.units import MM_PER_M, whole_mm


@dataclass(frozen=True, slots=True)
class Bill:
    """
    Everything a plan is built from, by catalogue id, in the order of the ids.

    Attributes
    ----------
    parts
        Number of pieces; wires and strips are not among them.
    wire_mm
        Length of each wire, mm.
    strip_ways
        Ways of each strip that pieces cover.
    """

    parts: Mapping[str, int]
    wire_mm: Mapping[str, int]
    strip_ways: Mapping[str, int]

    def price_cents(self, price_by_part: Mapping[str, Fraction]) -> Fraction:
        """Return the exact sum of unit prices, cents; strips by the way, wire by the millimetre."""
        whole = {**self.parts, **self.strip_ways}
        cut = sum((Fraction(mm, MM_PER_M) * price_by_part[wire] for wire, mm in self.wire_mm.items()), Fraction(0))
        return cut + sum((number * price_by_part[part] for part, number in whole.items()), Fraction(0))


@dataclass(frozen=True, slots=True)
class Supply:
    """How a feed arrives at one panel: entries, distribution studs (0: the cable goes straight in) and links."""

    feed: SizedFeed
    panel: str
    tails: tuple[Tail, ...]
    """Of every entry, in order of place; they are there where there are studs."""
    num_studs: int

    @property
    def num_entries(self) -> int:
        """Entries of the feed at the panel."""
        return len(self.tails)

    @property
    def num_links(self) -> int:
        """Links between distribution studs."""
        return max(0, self.num_studs - 1)


def supplies(index: PlanIndex) -> tuple[Supply, ...]:
    """Return how each feed arrives at each panel where it has entries; feeds and panels in the scenario's order."""
    found = []
    for feed in index.sized.feeds.values():
        for panel in index.panels:
            tails = tuple(index.tail_of(entry) for entry in index.entries_of(feed.name, panel))
            if tails:
                joined = len(tails) >= 2 or any(tail.fuse is not None for tail in tails)
                # a stud's two other rings are the cable and the link onwards
                studs = max(1, -(-(len(tails) - 1) // (feed.stud_stack - 2))) if joined else 0
                found.append(Supply(feed, panel, tails, studs))
    return tuple(found)


def jumper_mm(item: NeedAt, catalogue: Catalogue) -> int:
    """Return the length of a need's jumper: short within a module, long between two."""
    return whole_mm(catalogue.short_jumper if item.jumper == "short" else catalogue.long_jumper)


def need_mm(item: NeedAt, cut: Cut, catalogue: Catalogue) -> int:
    """Return the length of a wire of a need; a lead from 86 to the own way is as long as the jumper beside it."""
    return jumper_mm(item, catalogue) if cut.end == OWN_WAY and item.jumper else cut.length_mm


def num_cavities(module: Module, sized: Sized) -> int:
    """Return the terminal positions on the wiring side of a module."""
    ways = sum(row.ways * (1 if row.bus == "stud" else 2) for row in module.rows)
    return ways + sum(group.count * num_tabs(group.relay_class, sized) for group in module.sockets)


def num_tabs(relay_class: str, sized: Sized) -> int:
    """Return the largest number of tabs among the relays of a class."""
    return max(len(item.tabs) for item in sized.requirements.catalogue.relay_tabs if item.relay_class == relay_class)


def bill_of(sized: Sized, plan: Plan) -> Bill:
    """
    Count parts, wire and strip of a plan.

    Parameters
    ----------
    sized
        Sizing of ``plan.requirements``.
    plan
        Plan to count.

    Returns
    -------
    Bill
        Counts and lengths by catalogue id.

    Raises
    ------
    InputError
        If the plan names things that do not exist.
    """
    return bill_of_index(PlanIndex(sized, plan))


def bill_of_index(index: PlanIndex) -> Bill:
    """Count parts, wire and strip of a plan that is indexed already."""
    parts: Counter[str] = Counter()
    wire_mm: Counter[str] = Counter()
    parts.update(item.carrier.id for item in index.carriers)  # 1
    parts.update(item.module.id for item in index.modules)
    _add_needs(index, parts, wire_mm)
    strip_ways = _add_entries(index, parts)
    _add_supplies(index, parts, wire_mm)
    _add_accessories(index, parts)
    return Bill(_sorted(parts), _sorted(wire_mm), _sorted(strip_ways))


def _sorted(counts: Counter[str]) -> dict[str, int]:
    return {key: counts[key] for key in sorted(counts) if counts[key]}


def _add_needs(index: PlanIndex, parts: Counter[str], wire_mm: Counter[str]) -> None:
    catalogue = index.sized.requirements.catalogue
    for item in index.needs:
        parts.update(item.option.parts)  # 2
        for cut in item.option.wires:
            wire_mm[cut.wire] += need_mm(item, cut, catalogue)
        if item.jumper and item.option.jumper_wire:  # 3
            wire_mm[item.option.jumper_wire] += jumper_mm(item, catalogue)


def _add_entries(index: PlanIndex, parts: Counter[str]) -> Counter[str]:
    strip_ways: Counter[str] = Counter()
    for entry in index.entries:  # 4
        if entry.row is not None and entry.piece.kind == "strip":
            strip_ways[str(entry.at.module.rows[entry.row].strip)] += len(entry.ways)
        if entry.group is not None:
            sizing = index.sized.entries[entry.at.panel, entry.at.module.id, entry.group, entry.piece.feed]
            parts[sizing.terminal] += 1
    return strip_ways


def _add_supplies(index: PlanIndex, parts: Counter[str], wire_mm: Counter[str]) -> None:
    catalogue = index.sized.requirements.catalogue
    arriving = supplies(index)
    for feed in {supply.feed.name: supply.feed for supply in arriving}.values():  # 5
        if feed.main is not None:
            parts.update((feed.main.fuse, feed.main.holder, *feed.main.lead_rings))
            wire_mm[feed.cable_wire] += feed.main.lead_mm
    for supply in arriving:
        feed = supply.feed
        wire_mm[feed.cable_wire] += feed.cable_mm_by_panel[supply.panel]
        if feed.main is not None:
            parts[feed.main.ring] += 1
        num_cable_rings = (supply.num_studs > 0) + 2 * supply.num_links
        if num_cable_rings:
            parts[_needed(feed.cable_ring, feed)] += num_cable_rings
        if not supply.num_studs:
            continue
        parts[_needed(feed.stud, feed)] += supply.num_studs
        wire_mm[feed.cable_wire] += supply.num_links * whole_mm(catalogue.short_jumper)
        for tail in supply.tails:
            parts[_needed(tail.ring, feed)] += 1
            wire_mm[tail.wire] += whole_mm(catalogue.tail_length)
            parts.update(part for part in (tail.fuse, tail.holder) if part is not None)


def _needed(part: str | None, feed: SizedFeed) -> str:
    if part is None:
        raise ValueError(f"sizing gave feed {feed.name} no stud or ring, and the plan needs one")
    return part


def _add_accessories(index: PlanIndex, parts: Counter[str]) -> None:
    bays = [(item.panel, bay) for item in index.carriers for bay in item.bays]
    filled = {(item.panel, item.bay + n) for item in index.modules for n in range(item.module.bays)}
    number_by_occasion = {
        "carrier": len(index.carriers),
        "bay": len(bays),
        "empty-bay": sum(bay not in filled for bay in bays),
        "module": len(index.modules),
        "row": sum(len(item.module.rows) for item in index.modules),
        "socket": sum(len(item.sockets) for item in index.modules),
        "relay": len(index.socket_by_place),
        "feed-tail": len(index.entries),
        "unused-cavity": num_unused_cavities(index),
    }
    for accessory in index.sized.requirements.catalogue.accessories:  # 6
        parts[accessory.id] += accessory.quantity * number_by_occasion[accessory.per]


def num_unused_cavities(index: PlanIndex) -> int:
    """Return the terminal positions of all placed modules that stay empty."""
    total = sum(num_cavities(item.module, index.sized) for item in index.modules)
    supply_side = sum(
        index.module_by_bay[place.panel, place.bay or 0].module.rows[place.row or 0].bus != "stud"
        for place in index.way_by_place
    )
    return total - supply_side - sum(item.option.cavities for item in index.needs)
