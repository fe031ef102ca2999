"""
The baseline that the solver must beat: first fit, largest first, each circuit on its least loaded feed.

Comes in as the sizing table; goes out as a plan that keeps every rule. It is what a careful person does with a pencil:
choose feeds, then put every thing into a strip piece of its feed that has room, else start a piece in a row that has
room, else add the module that holds most of what is left for its bays. Nothing is ever taken back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from allocator.address import Place, parse_place
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from tests.oracles.arrangement import Loads, branch_loads, way_load
from tests.oracles.greedy_feeds import Stuck, choose_feeds
from tests.oracles.greedy_modules import OpenModule, OpenPiece, worth


@dataclass
class Filled:
    """What the greedy made: modules with their pieces, and what everything uses."""

    modules: list[OpenModule]
    feed_by_need: dict[str, str]
    option_by_need: dict[str, Option]


def fill(sized: Sized) -> Filled:
    """Return the greedy's modules; raise Stuck where it finds no way on."""
    return _Greedy(sized).run()


def _peak_ma(need: Need, loads: Loads) -> int:
    return max(way_load(need, loads))


class _Greedy:
    def __init__(self, sized: Sized) -> None:
        self.sized = sized
        self.feed_by_need = choose_feeds(sized)
        self.loads = branch_loads(sized, self.feed_by_need)
        self.filled = Filled([], self.feed_by_need, {})
        self.left = sorted(sized.needs, key=lambda need: (not need.pin, -_peak_ma(need, self.loads), need.id))
        self.seats: dict[str, tuple[OpenModule, int]] = {}

    def run(self) -> Filled:
        while self.left:
            need = self.left[0]
            for member in [need, *self._partners(need, ("panel", "module", "row"))]:
                self._place(member)
                self.left.remove(member)
        return self.filled

    def _partners(self, need: Need, levels: tuple[str, ...]) -> list[Need]:
        """Return what is still to be placed together with a need."""
        names = {
            name
            for bond in self.sized.requirements.scenario.rules.together
            if bond.level in levels and need.id in bond.circuits
            for name in bond.circuits
        }
        return [other for other in self.left if other.id in names and other is not need]

    def _place(self, need: Need) -> None:
        for option, module, row in [*self._joins(need), *self._starts(need)]:
            socket = self._socket(option, module)
            if option.relay_class is None or socket is not None:
                self._sit(need, option, module, row, socket)
                return
        for option in self._by_reach(need):
            opened = self._open_for(need, option)
            if opened is not None:
                self._sit(need, option, *opened)
                return
        raise Stuck(f"nothing takes {need.id}")

    def _by_reach(self, need: Need) -> list[Option]:
        """Return the options at panels that the feed reaches, the smallest fuse first."""
        reach = self.sized.feeds[self.feed_by_need[need.id]].panels
        return sorted(
            (option for option in need.options if option.panel in reach), key=lambda option: option.fuse_rating_a
        )

    def _joins(self, need: Need) -> Iterator[tuple[Option, OpenModule | None, int]]:
        """Yield rows where a piece of the feed has room."""
        if not need.takes_way:
            yield from ((option, None, 0) for option in self._by_reach(need))
            return
        for option, module, row in self._rows(need):
            if any(self._piece_takes(module, row, piece, need) for piece in module.pieces[row]):
                yield option, module, row

    def _starts(self, need: Need) -> Iterator[tuple[Option, OpenModule | None, int]]:
        """Yield rows where another piece can start."""
        if need.takes_way:
            for option, module, row in self._rows(need):
                if self._starts_piece(module, row, need):
                    yield option, module, row

    def _rows(self, need: Need) -> Iterator[tuple[Option, OpenModule, int]]:
        for option in self._by_reach(need):
            for module in self.filled.modules:
                for row in range(len(module.module.rows)):
                    if self._row_takes(module, row, need, option):
                        yield option, module, row

    def _row_takes(self, at: OpenModule, row: int, need: Need, option: Option) -> bool:
        shape = at.module.rows[row]
        place = parse_place(need.pin) if need.pin else Place(option.panel)
        if at.panel != option.panel or shape.fuse_format != option.fuse_format or at.used(row) >= shape.ways:
            return False
        if place.panel != at.panel or place.bay not in (None, at.bay) or place.row not in (None, row):
            return False
        key = (at.panel, at.module.id)
        bound = [need, *self._partners(need, ("module", "row"))]
        everything = [*at.inside(self.sized.need_by_id, range(len(at.module.rows))), *bound]
        in_row = [*at.inside(self.sized.need_by_id, [row]), *bound]
        return (
            len(in_row) <= shape.ways
            and self._within(everything, self.sized.module_limit_ma[key])
            and self._within(in_row, self.sized.row_limit_ma[(*key, row)])
            and self._bonds_hold(at, row, need)
        )

    def _bonds_hold(self, at: OpenModule, row: int, need: Need) -> bool:
        rules = self.sized.requirements.scenario.rules
        for bonds, apart in ((rules.apart, True), (rules.together, False)):
            for bond in bonds:
                if need.id not in bond.circuits or bond.level == "feed":
                    continue
                for name in bond.circuits:
                    if name in self.seats and self._same(bond.level, self.seats[name], (at, row)) == apart:
                        return False
        return True

    @staticmethod
    def _same(level: str, first: tuple[OpenModule, int], second: tuple[OpenModule, int]) -> bool:
        if level == "panel":
            return first[0].panel == second[0].panel
        return first[0] is second[0] and (level == "module" or first[1] == second[1])

    def _within(self, needs: Sequence[Need], limit_ma: int | None) -> bool:
        cases = zip(*(way_load(need, self.loads) for need in needs), strict=True)
        return limit_ma is None or all(sum(case) <= limit_ma for case in cases)

    def _limit_ma(self, at: OpenModule, row: int, feed: str) -> int | None:
        group = next(g for g, rows in enumerate(supply_groups(at.module)) if row in rows)
        entry = self.sized.entries.get((at.panel, at.module.id, group, feed))
        return None if entry is None else entry.limit_ma

    def _piece_takes(self, at: OpenModule, row: int, piece: OpenPiece, need: Need) -> bool:
        feed = self.feed_by_need[need.id]
        limit = self._limit_ma(at, row, feed)
        return (
            at.module.rows[row].bus != "single"
            and piece.feed == feed
            and limit is not None
            and self._within([*piece.needs, need], limit)
        )

    def _starts_piece(self, at: OpenModule, row: int, need: Need) -> bool:
        feed = self.feed_by_need[need.id]
        limit = self._limit_ma(at, row, feed)
        one = self.sized.requirements.scenario.rules.one_piece_per_feed_and_row and at.module.rows[row].bus == "strip"
        return (
            limit is not None
            and self._within([need], limit)
            and not (at.module.rows[row].bus == "stud" and at.pieces[row])
            and not (one and any(piece.feed == feed for piece in at.pieces[row]))
        )

    def _socket(self, option: Option, beside: OpenModule | None) -> OpenModule | None:
        """Return the module whose socket the relay takes: that of the way if it has one free, else the first."""
        if option.relay_class is None:
            return None
        modules = [module for module in self.filled.modules if module.panel == option.panel]
        modules.sort(key=lambda module: module is not beside)
        return next((module for module in modules if module.free_sockets(option.relay_class)), None)

    def _open_for(self, need: Need, option: Option) -> tuple[OpenModule | None, int, OpenModule | None] | None:
        """Open what a need lacks: a module for its way, and one for its relay where no socket is free."""
        module, row = None, 0
        if need.takes_way:
            seat = next(((m, r) for o, m, r in [*self._joins(need), *self._starts(need)] if o is option and m), None)
            if seat is None:
                opened = self._open(option.panel, lambda new: self._first_row(new, need, option), need)
                if opened is None:
                    return None
                seat = opened, self._first_row(opened, need, option) or 0
            module, row = seat
        socket = self._socket(option, module)
        if option.relay_class is not None and socket is None:
            relay_class = option.relay_class
            socket = self._open(option.panel, lambda new: 0 if new.free_sockets(relay_class) else None, None)
            if socket is None:
                return None
        return module, row, socket

    def _first_row(self, at: OpenModule, need: Need, option: Option) -> int | None:
        rows = range(len(at.module.rows))
        fits = (row for row in rows if self._row_takes(at, row, need, option) and self._starts_piece(at, row, need))
        return next(fits, None)

    def _open(self, panel: str, takes: object, need: Need | None) -> OpenModule | None:
        """Add the module that holds most of what is left for its bays, among those that take the need."""
        assert callable(takes)
        pinned = parse_place(need.pin).bay if need is not None and need.pin else None
        candidates = []
        for module in self.sized.requirements.catalogue.modules:
            new = OpenModule(panel, module, pinned, {row: [] for row in range(len(module.rows))})
            if self._may_add(new) and takes(new) is not None:
                candidates.append(
                    (
                        -worth(self.sized, self.filled.modules, self.left, new) / module.bays,
                        module.price,
                        module.id,
                        new,
                    )
                )
        if not candidates:
            return None
        best = min(candidates, key=lambda candidate: candidate[:3])[3]
        self.filled.modules.append(best)
        return best

    def _may_add(self, new: OpenModule) -> bool:
        rules = self.sized.requirements.scenario.rules
        site = next(site for site in self.sized.requirements.scenario.panels if site.name == new.panel)
        same = sum(module.module is new.module for module in self.filled.modules)
        bays = sum(module.module.bays for module in self.filled.modules if module.panel == new.panel)
        limits = [limit.most for limit in rules.modules if limit.module == new.module.id]
        if rules.use_stock and new.module.stock is not None:
            limits.append(new.module.stock)
        taken = new.bay is not None and any(m.bay == new.bay and m.panel == new.panel for m in self.filled.modules)
        return bays + new.module.bays <= site.max_bays and all(same < limit for limit in limits) and not taken

    def _sit(self, need: Need, option: Option, module: OpenModule | None, row: int, socket: OpenModule | None) -> None:
        self.filled.option_by_need[need.id] = option
        if module is not None:
            piece = next((p for p in module.pieces[row] if self._piece_takes(module, row, p, need)), None)
            if piece is None:
                piece = OpenPiece(self.feed_by_need[need.id])
                rows = next(rows for rows in supply_groups(module.module) if row in rows)
                for shared in rows:
                    module.pieces[shared].append(piece)
            piece.needs.append(need)
            module.row_of[need.id] = row
            self.seats[need.id] = module, row
        if socket is not None:
            socket.relays.setdefault(str(option.relay_class), []).append(need)
