"""
A solution of the placing model as plain data: what is where, before bays, ways and sockets get their numbers.

Comes from a solve (``read_placement``); goes to ``learning.py``, which tells whether it can be arranged, and to
``arranging.py``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from allocator.model.frame import Frame, Instance, RowSlot
from allocator.model.variables import Places
from allocator.requirements.catalogue import bays_by_carrier
from allocator.sizing.sized import Option
from allocator.solving.engine import Solved

Cell = tuple[RowSlot, str]
"""A row and a feed."""


@dataclass(frozen=True)
class Placement:
    """Where every need is, by row and feed; ids in listing order."""

    frame: Frame
    instances: tuple[Instance, ...]
    carriers: Mapping[str, tuple[str, ...]]
    """Carriers of each panel from its first bay on."""
    start: Mapping[Instance, int]
    """First bay, where the model decided it."""
    wide_in_carrier: Mapping[tuple[str, int, int], int]
    needs_at: Mapping[Cell, tuple[str, ...]]
    entries: Mapping[tuple[Instance, int, str], int]
    relay_at: Mapping[str, tuple[Instance, str]]
    option_of: Mapping[str, Option]
    feed_of: Mapping[str, str]
    draw_ma: Mapping[tuple[str, int], int]
    """Load of each feed in each load case that matters."""
    ordered: Mapping[RowSlot, tuple[tuple[int, str, int], ...]] = field(default_factory=dict)
    """(way, need, number of its piece) in rows that the model decided way by way."""
    sockets: Mapping[str, int] = field(default_factory=dict)
    """Number of the socket, for relays that stay in theirs."""

    def load_ma(self, need: str) -> tuple[int, ...]:
        """Return the load of a need's way in each case that matters, mA."""
        n = self.frame.sized.need_by_id[need]
        return tuple(
            n.load_ma_by_case[c] + (self.draw_ma[n.supplies, c] if n.supplies else 0) for c in self.frame.cases
        )

    def hot_cases(self, need: str) -> frozenset[int]:
        """Return the cases (numbers among those that matter) in which a need's way is hot: rule hot-apart."""
        option, index = self.option_of[need], self.frame.class_by_need[need]
        from_ma = self.frame.hot_from_ma(index, option.panel, option.fuse_format)
        if from_ma is None:
            return frozenset()
        return frozenset(number for number, load_ma in enumerate(self.load_ma(need)) if load_ma >= from_ma)


def read_placement(x: Places, solved: Solved) -> Placement:
    """Read a solution."""
    counts, frame = x.counts, x.counts.frame
    rank = {need.id: number for number, need in enumerate(frame.sized.needs)}
    needs_at: dict[Cell, list[str]] = defaultdict(list)
    feed_of: dict[str, str] = {}
    option_of: dict[str, Option] = {}
    relay_at: dict[str, tuple[Instance, str]] = {}
    for (index, instance, fitted), variable in x.relay_at.items():
        if solved.value(variable):
            relay_at[frame.classes[index].needs[0]] = (instance, fitted)
    left = {index: list(members.needs) for index, members in enumerate(frame.classes)}
    for (index, slot, feed), variable in x.at.items():
        for _ in range(solved.value(variable)):
            need = left[index].pop(0)
            needs_at[slot, feed].append(need)
            feed_of[need] = feed
            relay_class = relay_at[need][1] if need in relay_at else None
            option_of[need] = _option(frame, index, slot.instance.panel, frame.format(slot), relay_class)
    for index, members in enumerate(frame.classes):
        if not members.takes_way:
            instance, fitted = relay_at[members.needs[0]]
            option_of[members.needs[0]] = _option(frame, index, instance.panel, None, fitted)
            feed_of[members.needs[0]] = members.choices[0].feed
    draws = _exact_draws(frame, feed_of)
    return Placement(
        frame=frame,
        instances=tuple(instance for instance, used in counts.used.items() if solved.value(used)),
        carriers=_carriers(x, solved),
        start={instance: solved.value(start) for instance, start in x.start.items()},
        wide_in_carrier={key: solved.value(number) for key, number in counts.wide_in_carrier.items()},
        needs_at={cell: tuple(sorted(needs, key=rank.__getitem__)) for cell, needs in needs_at.items()},
        entries={key: solved.value(number) for key, number in counts.entries.items() if solved.value(number)},
        relay_at=relay_at,
        option_of=option_of,
        feed_of=feed_of,
        draw_ma=draws,
    )


def _option(frame: Frame, index: int, panel: str, fuse_format: str | None, relay_class: str | None) -> Option:
    return next(
        choice.option
        for choice in frame.classes[index].choices
        if (choice.option.panel, choice.option.fuse_format, choice.option.relay_class)
        == (panel, fuse_format, relay_class)
    )


def _exact_draws(frame: Frame, feed_of: Mapping[str, str]) -> dict[tuple[str, int], int]:
    """Return the load of every feed in every case that matters, by walking the tree."""
    draws: dict[tuple[str, int], int] = {}

    def draw(feed: str, case: int) -> int:
        if (feed, case) not in draws:
            total = 0
            for need in frame.sized.needs:
                if feed_of[need.id] == feed:
                    total += need.load_ma_by_case[case] + (draw(need.supplies, case) if need.supplies else 0)
            draws[feed, case] = total
        return draws[feed, case]

    for feed in frame.sized.feeds:
        for case in frame.cases:
            draw(feed, case)
    return draws


def _carriers(x: Places, solved: Solved) -> dict[str, tuple[str, ...]]:
    counts = x.counts
    bays = bays_by_carrier(counts.frame.sized.requirements.catalogue)
    carriers: dict[str, tuple[str, ...]] = {}
    for site in counts.frame.panels:
        in_order = [
            carrier
            for (panel, _, carrier), here in counts.carrier_slot.items()
            if panel == site.name and solved.value(here)
        ]
        loose = [
            carrier
            for (panel, carrier), number in counts.carriers.items()
            if panel == site.name
            for _ in range(solved.value(number))
        ]
        built = () if counts.frame.built is None else counts.frame.built.carriers.get(site.name, ())
        for carrier in built:
            loose.remove(carrier)
        added = sorted(loose, key=lambda carrier: (-bays[carrier], carrier))
        carriers[site.name] = tuple(in_order or (*built, *added))
    return carriers
