"""Names: nothing is named twice, nothing that is mentioned is missing, no list says a thing twice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import Any

from allocator.requirements.documents import SUBJECTS
from allocator.requirements.drafting import Draft
from allocator.requirements.look_alikes import seen
from allocator.requirements.places import Item, PlacedFault, Spot, did_you_mean, quoted, shown

_SPARE_ID = re.compile(r"spare-[0-9]+-[0-9]+")


def name_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every name that is used twice, reserved, unknown or listed twice."""
    yield from _doubles(draft)
    yield from _needs_of_one_name(draft)
    for item, field, table in _mentions(draft):
        yield from _mention_faults(draft, item, field, table)


def _doubles(draft: Draft) -> Iterator[PlacedFault]:
    for table, items in (
        ("panels", draft.panels),
        ("feeds", draft.feeds),
        ("load_cases", draft.load_cases),
        ("circuits", draft.circuits),
    ):
        yield from double_faults(items, "id" if table == "circuits" else "name")


def double_faults(items: Iterable[Item[Any]], field: str) -> Iterator[PlacedFault]:
    """Yield a fault for each item whose name an earlier one has, capitals and look-alikes aside."""
    first: dict[str, tuple[str, Spot]] = {}
    for item in items:
        name = getattr(item.value, field)
        other, spot = first.setdefault(seen(name), (name, item.spot))
        if spot is item.spot:
            continue
        what = "capitals" if name.casefold() == other.casefold() else "letters that look alike"
        how = "is there twice" if other == name else f"differs from {shown(other)} only in {what}"
        place = spot.place if spot.file == item.spot.file else f"{spot.file}, {spot.place}"
        yield item.spot.fault("duplicate-name", f"{item.spot.subject} {how}", field, known=f"the first is at {place}")


def _needs_of_one_name(draft: Draft) -> Iterator[PlacedFault]:
    """A circuit, a branch's own fuse and a spare way are told apart by their names in plans and lists."""
    branches = {seen(item.value.name): item.value.name for item in draft.feeds if item.value.source is not None}
    for item in draft.circuits:
        if seen(item.value.id) in branches:
            message = f"{item.spot.subject} has the name of a feed that branches from another"
            yield item.spot.fault("duplicate-name", message, "id", hint="give one of them another name")
        if _SPARE_ID.fullmatch(seen(item.value.id)):
            message = f"{item.spot.subject} has a name that is kept for spare ways"
            yield item.spot.fault("reserved-name", message, "id")


def _mentions(draft: Draft) -> Iterator[tuple[Item[Any], str, str]]:
    """Yield every field that names something else: item, field, table of what it names."""
    fields = (
        (draft.panels, (("carriers", "carriers"),)),
        (draft.feeds, (("source", "feeds"), ("control", "circuits"), ("home", "panels"), ("panels", "panels"))),
        (
            draft.circuits,
            (
                ("load_cases", "load_cases"),
                ("feeds", "feeds"),
                ("panels", "panels"),
                ("control", "circuits"),
                ("length", "panels"),
            ),
        ),
        (draft.rule_items("spares"), (("feed", "feeds"), ("panel", "panels"))),
        (draft.rule_items("modules"), (("module", "modules"),)),
        (draft.wire_colours, (("feeds", "feeds"), ("circuits", "circuits"))),
        (list(chain(draft.rule_items("apart"), draft.rule_items("together"))), (("circuits", "circuits"),)),
    )
    for items, pairs in fields:
        for item in items:
            for field, table in pairs:
                yield item, field, table


def _mention_faults(draft: Draft, item: Item[Any], field: str, table: str) -> Iterator[PlacedFault]:
    value = getattr(item.value, field)
    names = [] if value is None else [value] if isinstance(value, str) else [name for name in value if name != ""]
    known = draft.names(table)
    for name, times in Counter(names).items():
        if times > 1:
            message = f'"{field}" of {item.spot.subject} names {shown(name)} twice'
            yield item.spot.fault("listed-twice", message, field)
        if known is not None and name not in draft.name_set(table):
            yield unknown_fault(item.spot, field, SUBJECTS[table], name, known)


def unknown_fault(spot: Spot, field: str, word: str, name: str, known: Sequence[str]) -> PlacedFault:
    """Return the fault for a mention of something that is not there; ``word`` says what it should be."""
    message = f'"{field}" of {spot.subject} names the unknown {word} {shown(name)}'
    on_offer = f"the {word}s are {quoted(known)}" if known else f"there is no {word}"
    return spot.fault(
        f"unknown-{word.replace(' ', '-')}", message, field, known=on_offer, hint=did_you_mean(name, known)
    )
