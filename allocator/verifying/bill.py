"""
Every part and wire of a plan, counted anew from docs/definitions.md ("Parts and wires of a plan").

Comes in as a view of the plan; goes out as counts by part, millimetres by wire and ways by strip, and what they come
to.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from fractions import Fraction

from allocator.requirements.catalogue import Module
from allocator.verifying.exact import exact
from allocator.verifying.limits import sized_entry, tail_of
from allocator.verifying.records import EntryRecord, NeedKey
from allocator.verifying.view import View


class Bill:
    """What a plan is built from; parts that are not in the catalogue cost nothing here (a rule reports them)."""

    def __init__(self, view: View) -> None:
        self._view = view
        self.parts: Counter[str] = Counter()
        self.strip_ways: Counter[str] = Counter()
        self.wire_mm: defaultdict[str, Fraction] = defaultdict(Fraction)
        self._carriers_and_modules()
        needs = tuple(dict.fromkeys([*view.way_of, *view.socket_of]))
        for need in needs:
            self._need(need)
        self._entries()
        self._feeds()
        self._accessories(needs)

    @property
    def price_cents(self) -> Fraction:
        """Sum of the exact unit prices, cents."""
        catalogue = self._view.catalogue
        tables = (
            catalogue.modules, catalogue.carriers, catalogue.fuses, catalogue.relays, catalogue.terminals,
            catalogue.studs, catalogue.holders, catalogue.main_holders, catalogue.accessories,
        )  # fmt: skip
        total = Fraction(sum(self.parts[part.id] * part.price for table in tables for part in table))
        total += sum(self.strip_ways[strip.id] * Fraction(strip.price, strip.ways) for strip in catalogue.strips)
        wires = (self.wire_mm[wire.id] * wire.price / 1000 for wire in catalogue.wires if wire.id in self.wire_mm)
        return total + sum(wires)

    @property
    def length_mm(self) -> Fraction:
        """Length of all wires together, mm."""
        return sum(self.wire_mm.values(), Fraction())

    @property
    def copper_mm3(self) -> Fraction:
        """Length x conductor area of all wires together, mm3."""
        wires = self._view.wires
        return sum((mm * exact(wires[wire].area) for wire, mm in self.wire_mm.items() if wire in wires), Fraction())

    def _add(self, part: str | None, count: int = 1) -> None:
        if part is not None:
            self.parts[part] += count

    def _cut(self, wire: str | None, length_mm: Fraction | int) -> None:
        if wire is not None:
            self.wire_mm[wire] += length_mm

    def _carriers_and_modules(self) -> None:
        self.parts.update(placed.carrier for placed in self._view.plan.carriers)
        self.parts.update(placed.module for placed in self._view.plan.modules)

    def _need(self, need: NeedKey) -> None:
        option = self._view.option_of(need)
        if option is None:
            return
        self.parts.update(option.parts)
        for cut in option.wires:
            self._cut(cut.wire, cut.length_mm)
        way, socket = self._view.way_of.get(need), self._view.socket_of.get(need)
        if way is not None and socket is not None:
            catalogue = self._view.catalogue
            short_mm, long_mm = (1000 * exact(m) for m in (catalogue.short_jumper, catalogue.long_jumper))
            one_module = way.module_key == socket.module_key
            self._cut(option.jumper_wire, short_mm if one_module else long_mm)
            asker = self._view.circuits[need[1]] if need[0] == "circuit" else self._view.feeds[need[1]]
            for cut in () if one_module or asker.control else option.wires:
                self._cut(cut.wire if cut.start == "86" else None, long_mm - short_mm)

    def _entries(self) -> None:
        for entry in self._view.entries:
            if entry.module is not None and entry.group is not None and entry.piece.kind == "strip":
                strip = entry.module.rows[entry.ways[0].row or 0].strip
                self.strip_ways[strip or ""] += len(entry.ways)
            sized = sized_entry(self._view, entry)
            self._add(None if sized is None else sized.terminal)

    def _feeds(self) -> None:
        for feed in dict.fromkeys(feed for feed, _ in self._view.arrivals):
            self._main_fuse(feed)
        for (feed, panel), there in self._view.arrivals.items():
            self._feed(feed, panel, there)

    def _main_fuse(self, name: str) -> None:
        feed = self._view.sized.feeds.get(name)
        if feed is None or feed.main is None:
            return
        for part in (feed.main.fuse, feed.main.holder, *feed.main.lead_rings):
            self._add(part)
        self._cut(feed.cable_wire, feed.main.lead_mm)

    def _feed(self, name: str, panel: str, entries: Sequence[EntryRecord]) -> None:
        feed = self._view.sized.feeds.get(name)
        if feed is None:
            return
        catalogue = self._view.catalogue
        self._cut(feed.cable_wire, feed.cable_mm_by_panel.get(panel, 0))
        self._add(None if feed.main is None else feed.main.ring)
        tails = [tail_of(self._view, entry) or feed.tail for entry in entries]
        if len(tails) == 1 and tails[0].fuse is None:
            return
        for tail in tails:
            self._cut(tail.wire, 1000 * exact(catalogue.tail_length))
            self._add(tail.ring)
            self._add(tail.fuse)
            self._add(tail.holder)
        studs = max(1, -(-(len(tails) - 1) // max(1, feed.stud_stack - 2)))
        self._add(feed.stud, studs)
        self._add(feed.cable_ring, 1 + 2 * (studs - 1))
        self._cut(feed.cable_wire, (studs - 1) * 1000 * exact(catalogue.short_jumper))

    def _accessories(self, needs: tuple[NeedKey, ...]) -> None:
        view = self._view
        bays = sum(view.carrier_types[c.carrier].bays for c in view.plan.carriers if c.carrier in view.carrier_types)
        modules = [view.module_types[m.module] for m in view.plan.modules if m.module in view.module_types]
        count_of = {
            "carrier": len(view.plan.carriers),
            "bay": bays,
            "empty-bay": max(0, bays - sum(module.bays for module in modules)),
            "module": len(modules),
            "row": sum(len(module.rows) for module in modules),
            "socket": sum(sockets.count for module in modules for sockets in module.sockets),
            "relay": len(view.plan.sockets),
            "feed-tail": len(view.plan.pieces),
            "unused-cavity": max(0, sum(map(self._cavities, modules)) - self._cavities_used(needs)),
        }
        for accessory in view.catalogue.accessories:
            self._add(accessory.id, accessory.quantity * count_of[accessory.per])

    def _cavities(self, module: Module) -> int:
        ways = sum(row.ways * (1 if row.bus == "stud" else 2) for row in module.rows)
        tabs = self._view.catalogue.relay_tabs
        largest = {
            sockets.relay_class: max((len(t.tabs) for t in tabs if t.relay_class == sockets.relay_class), default=0)
            for sockets in module.sockets
        }
        return ways + sum(sockets.count * largest[sockets.relay_class] for sockets in module.sockets)

    def _cavities_used(self, needs: tuple[NeedKey, ...]) -> int:
        options = [self._view.option_of(need) for need in needs]
        supplied = [way for way in self._view.ways if way.row is not None and way.row.bus != "stud"]
        return len(supplied) + sum(option.cavities for option in options if option is not None)
