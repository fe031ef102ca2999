"""
Needs pinned to a place: modules with a pinned bay get their bays in order, rows with a pinned way their ways.

Comes from ``Places``; adds variables and rules to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from ortools.sat.python.cp_model import LinearExpr, LinearExprT

from allocator.model.frame import RowSlot
from allocator.model.variables import Places
from allocator.requirements.catalogue import bays_by_carrier


def pins(x: Places) -> None:
    """Rule pin: modules with a pinned bay start there, and a row with a pinned way has its feeds way by way."""
    frame = x.counts.frame
    for site in frame.panels:
        has_pins = any(place.panel == site.name and place.bay is not None for place in frame.pins.values())
        if has_pins or any(frame.is_built(i) and i.panel == site.name for i in frame.instances):
            _bays_in_order(x, site.name, site.max_bays)
    ways: dict[tuple[str, int | None, int], list[tuple[int, int]]] = defaultdict(list)
    for need, place in frame.pins.items():
        if place.first is not None and place.row is not None:
            ways[place.panel, place.bay, place.row].append((x.counts.class_of(need), place.first))
    for slot in frame.rows:
        pinned = ways.get((slot.instance.panel, slot.instance.pinned_bay, slot.row))
        if pinned and slot.instance.pinned_bay is not None and not frame.is_built(slot.instance):
            _ways_in_order(x, slot, pinned)


def _bays_in_order(x: Places, panel: str, max_bays: int) -> None:
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    bays_of = bays_by_carrier(frame.sized.requirements.catalogue)
    here = [instance for instance in counts.used if instance.panel == panel]
    intervals = []
    for instance in here:
        width = frame.module(instance).bays
        bay = instance.pinned_bay
        start = model.new_int_var(bay or 1, bay or max_bays, f"start {instance}")
        x.start[instance] = start
        intervals.append(
            model.new_optional_interval_var(start, width, start + width, counts.used[instance], f"bays {instance}")
        )
        if instance.copy > 0:
            before = next(i for i in here if (i.module, i.copy) == (instance.module, instance.copy - 1))
            model.add(x.start[before] < start).only_enforce_if(counts.used[instance])
    model.add_no_overlap(intervals)
    total = sum(bays_of[c] * number for (p, c), number in counts.carriers.items() if p == panel)
    for instance in here:
        model.add(x.start[instance] + frame.module(instance).bays - 1 <= total).only_enforce_if(counts.used[instance])
    slots = sorted({slot for (p, slot, _) in counts.carrier_slot if p == panel})
    filled: list[LinearExprT] = []
    for slot in slots:
        filled += [bays_of[c] * chosen for (p, s, c), chosen in counts.carrier_slot.items() if (p, s) == (panel, slot)]
        end = LinearExpr.sum(filled)
        for instance in here:
            width = frame.module(instance).bays
            if width > 1:
                after = model.new_bool_var(f"after {slot} {instance}")
                model.add(x.start[instance] > end).only_enforce_if(after, counts.used[instance])
                model.add(x.start[instance] + width - 1 <= end).only_enforce_if(~after, counts.used[instance])


def _ways_in_order(x: Places, slot: RowSlot, pinned: Sequence[tuple[int, int]]) -> None:
    """Ways of one feed count as one entry only while they lie side by side."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    ways = range(1, frame.ways(slot) + 1)
    feeds = [feed for feed in frame.sized.feeds if (slot, feed) in counts.ways]
    for feed in feeds:
        for way in ways:
            x.way_feed[slot, way, feed] = model.new_bool_var(f"way {slot} {way} {feed}")
        model.add(sum(x.way_feed[slot, way, feed] for way in ways) == counts.ways[slot, feed])
        if frame.bus(slot) == "strip":
            starts: list[LinearExprT] = [x.way_feed[slot, 1, feed]]
            for way in list(ways)[1:]:
                begins = model.new_bool_var(f"begins {slot} {way} {feed}")
                model.add(begins >= x.way_feed[slot, way, feed] - x.way_feed[slot, way - 1, feed])
                starts.append(begins)
            model.add(LinearExpr.sum(starts) <= counts.entries[slot.instance, slot.group, feed])
    for way in ways:
        model.add_at_most_one(x.way_feed[slot, way, feed] for feed in feeds)
    for index, way in pinned:
        for feed in feeds:
            here = x.at.get((index, slot, feed))
            if here is not None:
                model.add(x.way_feed[slot, way, feed] >= here)
    by_way: dict[int, list[int]] = defaultdict(list)
    for index, way in pinned:
        by_way[way].append(index)
    for indices in by_way.values():
        model.add(LinearExpr.sum([x.in_row(index, slot) for index in indices]) <= 1)
