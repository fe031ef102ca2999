"""
Rows of a panel that is built already, way by way: what lies where, how the strip is cut, and what each piece carries.

Comes from ``Places`` with a frame that knows what is built; adds variables and rules to it. Everything that other rows
leave to be found after the solve (``solving/row_order.py``) is decided here, because a wire that stays has a number.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import RowSlot
from allocator.model.variables import Places


@dataclass
class BuiltRows:
    """Variables of the rows that are built."""

    x: Places
    at_way: dict[tuple[int, RowSlot, str, int], IntVar] = field(default_factory=dict)
    """Whether a need of a class is in a way, on a feed, by (class index, row, feed, way)."""
    joined: dict[tuple[RowSlot, int, str], IntVar] = field(default_factory=dict)
    """Whether one strip piece of a feed covers a way and the next one."""
    cells: dict[RowSlot, list[tuple[int, str, IntVar]]] = field(default_factory=dict)
    """What may be in a row: (class index, feed, how many)."""

    def in_way(self, slot: RowSlot, way: int, index: int) -> LinearExprT:
        """Return whether a need of a class is in a way, whatever its feed."""
        feeds = [feed for i, feed, _ in self.cells.get(slot, []) if i == index]
        return LinearExpr.sum([self.at_way[index, slot, f, way] for f in feeds if (index, slot, f, way) in self.at_way])

    def joins(self, slot: RowSlot, way: int) -> LinearExprT:
        """Return whether one strip piece covers a way and the next one."""
        feeds = self.x.counts.frame.sized.feeds
        return LinearExpr.sum([self.joined[slot, way, feed] for feed in feeds if (slot, way, feed) in self.joined])


def order_built_rows(x: Places) -> BuiltRows:
    """Give every need in a row that is built a way of its own."""
    rows = BuiltRows(x)
    built = [slot for slot in x.counts.frame.rows if x.counts.frame.is_built(slot.instance)]
    rows.cells = {slot: [] for slot in built}
    for (index, slot, feed), here in x.at.items():
        if slot in rows.cells:
            rows.cells[slot].append((index, feed, here))
    for slot in built:
        _ways(rows, slot)
        if x.counts.frame.bus(slot) == "strip":
            _pieces(rows, slot)
            _piece_current(rows, slot)
        _hot_apart(rows, slot)
    return rows


def _ways(rows: BuiltRows, slot: RowSlot) -> None:
    """Rules one-need-per-way and pin."""
    x, frame, model = rows.x, rows.x.counts.frame, rows.x.counts.model
    ways = range(1, frame.ways(slot) + 1)
    for index, feed, here in rows.cells[slot]:
        pinned = {frame.pins[need].first for need in frame.classes[index].needs if need in frame.pins} - {None}
        mine = [way for way in ways if way in pinned or not pinned]
        for way in mine:
            rows.at_way[index, slot, feed, way] = model.new_bool_var(f"at {index} {slot} {feed} {way}")
        model.add(sum(rows.at_way[index, slot, feed, way] for way in mine) == here)
    for way in ways:
        in_way: dict[str, list[IntVar]] = defaultdict(list)
        for index, feed, _ in rows.cells[slot]:
            if (index, slot, feed, way) in rows.at_way:
                in_way[feed].append(rows.at_way[index, slot, feed, way])
        model.add_at_most_one(variable for here in in_way.values() for variable in here)
        for feed, on_feed in in_way.items():
            x.way_feed[slot, way, feed] = model.new_bool_var(f"way {slot} {way} {feed}")
            model.add(x.way_feed[slot, way, feed] == LinearExpr.sum(on_feed))


def _pieces(rows: BuiltRows, slot: RowSlot) -> None:
    """A piece covers ways side by side on one feed; each is one feed entry."""
    counts, model = rows.x.counts, rows.x.counts.model
    for feed in dict.fromkeys(feed for _, feed, _ in rows.cells[slot]):
        ways = [way for way in range(1, counts.frame.ways(slot) + 1) if (slot, way, feed) in rows.x.way_feed]
        links: list[IntVar] = []
        for way in ways:
            if way + 1 in ways:
                joined = model.new_bool_var(f"joined {slot} {way} {feed}")
                model.add_implication(joined, rows.x.way_feed[slot, way, feed])
                model.add_implication(joined, rows.x.way_feed[slot, way + 1, feed])
                rows.joined[slot, way, feed] = joined
                links.append(joined)
        used = LinearExpr.sum([rows.x.way_feed[slot, way, feed] for way in ways])
        model.add(counts.entries[slot.instance, slot.group, feed] == used - LinearExpr.sum(links))


def _load_at(rows: BuiltRows, slot: RowSlot, way: int, case: int) -> LinearExprT:
    """Return what a way draws in a load case, mA; a way that supplies a branch draws what the branch does."""
    counts, model = rows.x.counts, rows.x.counts.model
    parts: list[LinearExprT] = []
    for index, feed, _ in rows.cells[slot]:
        here = rows.at_way.get((index, slot, feed, way))
        if here is None:
            continue
        members = counts.frame.classes[index]
        parts.append(members.load_ma_by_case[case] * here)
        if members.supplies is not None:
            draw = counts.draw[members.supplies, case]
            most = int(counts.frame.sized.feeds[members.supplies].allowed_ma)
            branch = model.new_int_var(0, most, f"branch {members.supplies} {slot} {way} {case}")
            model.add(branch >= draw - most * (1 - here))
            parts.append(branch)
    return LinearExpr.sum(parts)


def _piece_current(rows: BuiltRows, slot: RowSlot) -> None:
    """Rule piece-current, added up along each piece."""
    counts, model = rows.x.counts, rows.x.counts.model
    ways = range(1, counts.frame.ways(slot) + 1)
    limits = {
        feed: entry.limit_ma
        for feed in dict.fromkeys(feed for _, feed, _ in rows.cells[slot])
        if (entry := counts.entry(slot.instance, slot.group, feed)) is not None
    }
    most = max(limits.values(), default=0)
    for case in counts.frame.cases:
        before: IntVar | None = None
        for way in ways:
            total = model.new_int_var(0, most, f"total {slot} {way} {case}")
            here = _load_at(rows, slot, way, case)
            model.add(total >= here)
            if before is not None:
                for feed in limits:
                    if (slot, way - 1, feed) in rows.joined:
                        model.add(total >= LinearExpr.sum([here, before])).only_enforce_if(
                            rows.joined[slot, way - 1, feed]
                        )
            for feed, limit in limits.items():
                if limit < most and (slot, way, feed) in rows.x.way_feed:
                    model.add(total <= limit).only_enforce_if(rows.x.way_feed[slot, way, feed])
            before = total


def _hot_apart(rows: BuiltRows, slot: RowSlot) -> None:
    """Rule hot-apart, way by way."""
    counts, frame, model = rows.x.counts, rows.x.counts.frame, rows.x.counts.model
    panel, fuse_format = slot.instance.panel, frame.format(slot)
    for case in frame.cases:
        hot: dict[int, list[LinearExprT]] = defaultdict(list)
        for index in dict.fromkeys(index for index, _, _ in rows.cells[slot]):
            from_ma = frame.hot_from_ma(index, panel, fuse_format)
            members = frame.classes[index]
            load_ma = members.load_ma_by_case[case]
            if from_ma is None or (members.supplies is None and load_ma < from_ma):
                continue
            for way in range(1, frame.ways(slot) + 1):
                here = rows.in_way(slot, way, index)
                if load_ma < from_ma and members.supplies is not None:
                    is_hot = model.new_bool_var(f"hot {index} {slot} {way} {case}")
                    model.add(counts.draw[members.supplies, case] < from_ma - load_ma).only_enforce_if(~is_hot)
                    both = model.new_bool_var(f"hot there {index} {slot} {way} {case}")
                    model.add(LinearExpr.sum([here, is_hot]) <= 1 + both)
                    here = both
                hot[way].append(here)
        for way in sorted(hot):
            if way + 1 in hot:
                model.add(LinearExpr.sum(hot[way]) + LinearExpr.sum(hot[way + 1]) <= 1)
