"""What ways and feeds draw in each load case, mA, added up over the plan as docs/definitions.md says."""

from __future__ import annotations

from collections.abc import Iterable

from allocator.verifying.records import NeedKey, WayRecord
from allocator.verifying.view import View

ByCase = tuple[int, ...]
"""mA by load case, in the scenario's order."""


class Loads:
    """The loads of one plan. A feed loads its source, also where its own fuse or relay is missing from the plan."""

    def __init__(self, view: View) -> None:
        self._view = view
        self._nothing: ByCase = (0,) * view.num_cases
        self._by_feed: dict[str, ByCase] = {}

    def total(self, loads: Iterable[ByCase]) -> ByCase:
        """Return the sum of loads, case by case."""
        return tuple(map(sum, zip(self._nothing, *loads, strict=True)))

    def of_need(self, need: NeedKey) -> ByCase:
        """Return what a need draws itself: a circuit with coils, a spare way's reserve, the coil of a feed's relay."""
        sized = self._view.sized_needs.get(need)
        return self._nothing if sized is None else sized.load_ma_by_case

    def of_feed(self, name: str, above: tuple[str, ...] = ()) -> ByCase:
        """Return what a feed draws with all feeds that branch from it; ``above`` are those already on the way down."""
        if name not in self._by_feed:
            ways = [way for way in self._view.ways if way.used.feed == name and way.used.kind != "feed"]
            own = [self.of_need(way.need) for way in ways]
            path = (*above, name)
            branches = [branch for branch in self._view.branches(name) if branch not in path]
            below = [self.total([self.of_feed(branch, path), self.of_need(("feed", branch))]) for branch in branches]
            self._by_feed[name] = self.total([*own, *below])
        return self._by_feed[name]

    def of_branch(self, name: str) -> ByCase:
        """Return what a feed takes from its source: its load, and the coil that hangs on its own fuse."""
        return self.total([self.of_feed(name), self.of_need(("feed", name))])

    def of_way(self, way: WayRecord) -> ByCase:
        """Return what flows through a way."""
        return self.of_branch(way.used.need) if way.used.kind == "feed" else self.of_need(way.need)

    def of_ways(self, ways: Iterable[WayRecord]) -> ByCase:
        """Return what flows through several ways together."""
        return self.total(self.of_way(way) for way in ways)
