"""
Several plans side by side: what each makes of every need, what it is built from, what it leaves free.

Comes in as indexed plans; goes out as rows with one value for each plan. The first plan is the one that the others are
held against. What each value means is "Comparisons" in ``docs/definitions.md``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.measures import feed_loads
from allocator.plan.parts import bill_of_index
from allocator.requirements.catalogue import parts_by_id
from allocator.units import MM_PER_M

PLACE_FIELDS = ("panel", "way", "socket")
FIELDS = (*PLACE_FIELDS, "feed", "format", "fuse", "wire", "relay", "jumper")
"""What a plan decides for a need."""
Fate = Literal["same", "moved", "changed", "only there", "only here"]
"""Of a need in a plan against the first: ``moved`` to another place (and perhaps changed), ``changed`` where it is."""
Standing = Mapping[str, str]
"""Text by field, empty where there is nothing of the kind."""


@dataclass(frozen=True, slots=True)
class NeedRow:
    """A circuit, a feed's own fuse and relay, or a spare way: how it stands in each plan; None where it is not."""

    need: str
    kind: str
    label: str
    standings: tuple[Standing | None, ...]

    def fate(self, plan: int) -> Fate:
        """Return what became of it in a plan, against the first."""
        first, here = self.standings[0], self.standings[plan]
        if first is None or here is None:
            return "same" if first is here else "only here" if first is None else "only there"
        if any(first[field] != here[field] for field in PLACE_FIELDS):
            return "moved"
        return "same" if first == here else "changed"

    def fields(self, plan: int) -> tuple[str, ...]:
        """Return the fields in which a plan differs from the first; none where one of them has not got the need."""
        first, here = self.standings[0], self.standings[plan]
        return () if first is None or here is None else tuple(field for field in FIELDS if first[field] != here[field])


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part: its number in each plan (mm of wire, ways of strip), and what that costs there, cents."""

    part: str
    label: str
    unit: Literal["piece", "mm", "way"]
    amounts: tuple[int, ...]
    cents: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class CountRow:
    """Something that is counted in each plan: of what kind, and how many."""

    kind: str
    name: str
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FeedRow:
    """A feed: its largest load as a share of what is allowed in each plan; None where there is no such feed."""

    feed: str
    shares: tuple[Fraction | None, ...]


def standing(item: NeedAt) -> Standing:
    """Return what a plan decides for a need."""
    option = item.option
    found = {
        "panel": item.panel,
        "way": item.way,
        "socket": item.socket,
        "feed": item.feed,
        "format": option.fuse_format,
        "fuse": option.fuse,
        "wire": option.wire,
        "relay": option.relay,
        "jumper": item.jumper,
    }
    return {field: str(value or "") for field, value in found.items()}


def need_rows(plans: Sequence[PlanIndex]) -> tuple[NeedRow, ...]:
    """Return every need of any plan, in the listing order of the first, then what only others have."""
    by_plan = [{(item.need.kind, item.need.id): item for item in index.needs} for index in plans]
    rows = []
    for key in dict.fromkeys(key for items in by_plan for key in items):
        items = [found.get(key) for found in by_plan]
        label = next(item.need.label for item in items if item is not None)
        rows.append(NeedRow(key[1], key[0], label, tuple(None if item is None else standing(item) for item in items)))
    return tuple(rows)


def part_rows(plans: Sequence[PlanIndex]) -> tuple[PartRow, ...]:
    """Return every part of any plan, by id."""
    bills = [bill_of_index(index) for index in plans]
    catalogues = [index.sized.requirements.catalogue for index in reversed(plans)]
    labels = {name: part.label for catalogue in catalogues for name, part in parts_by_id(catalogue).items()}
    rows = []
    for part in sorted({part for bill in bills for part in (*bill.parts, *bill.wire_mm, *bill.strip_ways)}):
        unit: Literal["piece", "mm", "way"] = "piece"
        if any(part in bill.wire_mm for bill in bills):
            unit = "mm"
        elif any(part in bill.strip_ways for bill in bills):
            unit = "way"
        amounts = tuple({**bill.parts, **bill.wire_mm, **bill.strip_ways}.get(part, 0) for bill in bills)
        prices = (index.sized.price_by_part.get(part, Fraction(0)) for index in plans)
        per = MM_PER_M if unit == "mm" else 1
        cents = tuple(amount * price / per for amount, price in zip(amounts, prices, strict=True))
        rows.append(PartRow(part, labels[part], unit, amounts, cents))
    return tuple(rows)


def spare_rows(plans: Sequence[PlanIndex]) -> tuple[CountRow, ...]:
    """Return what each plan leaves free: spare ways by format, ways that are not fed, sockets by class, empty bays."""
    counts = [Counter(_free(index)) for index in plans]
    keys = sorted({key for found in counts for key in found})
    return tuple(CountRow(*key, tuple(found[key] for found in counts)) for key in keys)


def _free(index: PlanIndex) -> Iterator[tuple[str, str]]:
    for item in index.needs:
        if item.need.kind == "spare":
            yield "spare way, fed", f"type {item.option.fuse_format}"
    used_ways = Counter((place.panel, place.bay, place.row) for place in index.way_by_place)
    for module in index.modules:
        for number, row in enumerate(module.module.rows):
            for _ in range(row.ways - used_ways[module.panel, module.bay, number]):
                yield "way, not fed", f"type {row.fuse_format}"
        for number, relay_class in enumerate(module.sockets, 1):
            if not any((place.panel, place.bay, place.socket) == (module.panel, module.bay, number)
                       for place in index.socket_by_place):  # fmt: skip
                yield "socket", relay_class
    filled = sum(item.module.bays for item in index.modules)
    for _ in range(sum(item.carrier.bays for item in index.carriers) - filled):
        yield "bay", "empty"


def feed_rows(plans: Sequence[PlanIndex]) -> tuple[FeedRow, ...]:
    """Return the largest load of every feed, in the order of the first plan's scenario."""
    shares = [{load.feed: max(load.utilisation_by_case) for load in feed_loads(index)} for index in plans]
    names = dict.fromkeys(feed for found in shares for feed in found)
    return tuple(FeedRow(feed, tuple(found.get(feed) for found in shares)) for feed in names)
