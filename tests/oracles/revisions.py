"""
The fewest changes to a tiny built panel by trying everything, written from docs/definitions.md alone.

Comes in as the plan as built and what is wanted now; goes out as one exact value a level, or None if nothing keeps what
must stay. Every frame that holds the built carriers, every way and socket of every need, and every cut of every strip
is visited, except what can no longer beat the best one found; in new modules ways and sockets have no numbers, because
nothing depends on them there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from allocator.address import parse_place
from allocator.sizing.sized import Need, Option, Sized
from tests.oracles.arrangement import (
    Arrangement,
    FeedEntry,
    Loads,
    Seat,
    Standing,
    goal_values,
    long_jumpers,
    parts_and_wires,
    way_load,
)
from tests.oracles.as_built import AsBuilt, Spot, counted, wires
from tests.oracles.brute_force import Groups, cost, feed_choices, within
from tests.oracles.built_frames import Housing, built_frames, pinned_bays
from tests.oracles.entries import hot_cases
from tests.oracles.floors import Floors
from tests.oracles.frames import Frame, values_of_frame
from tests.oracles.wishes import bond_holds, relays_near


@dataclass(frozen=True)
class Placed:
    """A need with its seat, the way in its row, and the socket in its module."""

    seat: Seat
    way: int
    socket: int


def best_revision(built: AsBuilt, sized: Sized, keep: str) -> dict[str, Fraction] | None:
    """Return the values of the changes and of the user's goals in the plan that is best in that order."""
    search = _Search(built, sized, keep)
    search.run()
    return search.best


Cut = list[tuple[str, str, FeedEntry]]
"""Address, feed and what it is made of, for the entries of one row, stud or socket; no address where it is new."""


@dataclass
class _Visit:
    """One frame with one choice of feeds: the needs in the order in which they are placed, and what is certain."""

    frame: Frame
    feeds: Mapping[str, str]
    loads: Loads
    order: Sequence[Need]
    least_moved: Sequence[int]
    """Wires that move at least with the needs from each one on."""
    values: Mapping[str, Fraction]
    """Floors of what the needs do not change."""
    parts: Counter[str]


class _Search:
    def __init__(self, built: AsBuilt, sized: Sized, keep: str) -> None:
        self.built, self.sized, self.keep = built, sized, keep
        self.goals = sized.requirements.scenario.rules.goals
        self.groups, self.floors = Groups(sized), Floors(sized)
        self.housing = Housing(built.carriers, built.modules, keep != "chosen")
        self.pinned = pinned_bays(sized)
        self.best: dict[str, Fraction] | None = None
        self._wires: dict[tuple[str, int], Counter[tuple[str, ...]]] = {}

    def run(self) -> None:
        """Visit every frame with every choice of feeds, the most promising first."""
        choices = list(feed_choices(self.sized))
        visits = (
            visit
            for frame in built_frames(self.housing, self.sized)
            for visit in self._visits(frame, choices)
        )  # fmt: skip
        for visit in sorted(visits, key=lambda visit: self._key(self._floor(visit, (), visit.least_moved[0]))):
            self._seat(visit, ())

    def _visits(self, frame: Frame, choices: Sequence[tuple[dict[str, str], Loads, Fraction]]) -> Iterator[_Visit]:
        """Yield a frame with each choice of feeds for which there is a seat for every need."""
        seats = {
            (need.id, feed): [self._moved(frame, item) for item in self._choices(frame, need, feed, ())]
            for need in self.sized.needs
            for feed in need.feeds
        }
        base = values_of_frame(self.sized, frame)
        carriers, modules = frame
        there = {(standing.panel, standing.bay) for standing in modules if self.housing.stays(standing)}
        gone = sum((at.split("/")[0], int(at.split("/")[1])) not in there for at, _ in self.built.pieces)
        for feeds, loads, peak in choices:
            if all(seats[item] for item in feeds.items()):
                order = sorted(self.sized.needs, key=lambda need: len(seats[need.id, feeds[need.id]]))
                least = [min(seats[need.id, feeds[need.id]]) for need in order]
                parts = Counter([name for _, name in carriers] + [standing.module for standing in modules])
                mains = (self.sized.feeds[feed].main for feed in {*feeds.values()})
                parts.update(part for main in mains if main is not None for part in (main.fuse, main.holder))
                values = base | {"peak-utilisation": peak, "recut-strips": Fraction(gone)}
                rest = [sum(least[at:]) for at in range(len(order) + 1)]
                yield _Visit(frame, feeds, loads, order, rest, values, counted(self.sized, parts))

    def _key(self, values: Mapping[str, Fraction]) -> tuple[Fraction, ...]:
        names = ("moved-wires", "new-parts", "recut-strips", *self.goals)
        return tuple(cost(name, values) for name in names)

    def _beaten(self, values: Mapping[str, Fraction]) -> bool:
        """Whether nothing with these floors is better than the best."""
        return self.best is not None and self._key(values) >= self._key(self.best)

    def _least_moved(self, visit: _Visit, placed: Sequence[Placed]) -> int:
        return sum(self._moved(visit.frame, item) for item in placed) + visit.least_moved[len(placed)]

    def _floor(self, visit: _Visit, placed: Sequence[Placed], moved: int) -> dict[str, Fraction]:
        """Return values that no completion can be better than."""
        seats = [item.seat for item in placed]
        left = visit.order[len(placed) :]
        entries = self.groups.certain(visit.frame[1], seats)
        elsewhere = {*visit.feeds.values()} - {entry.feed for entry in entries}
        return {
            **visit.values,
            **self.floors.above(visit.values, seats, left, visit.feeds, entries),
            "moved-wires": Fraction(moved),
            "new-parts": self._new_parts(visit.parts, seats),
            "strip-pieces": Fraction(len(entries) + len(elsewhere)),
            "long-jumpers": Fraction(long_jumpers(seats)),
        }

    def _new_parts(self, parts: Counter[str], seats: Sequence[Seat]) -> Fraction:
        """Count what carriers, modules and seats have more of than is built."""
        of_seats = Counter(part for seat in seats if seat.need.kind != "spare" for part in seat.option.parts)
        return Fraction((parts + counted(self.sized, of_seats) - self.built.parts).total())

    def _seat(self, visit: _Visit, placed: tuple[Placed, ...]) -> None:
        """Place the next need in every way and socket."""
        moved = self._least_moved(visit, placed)
        if self.best is not None and moved > self.best["moved-wires"]:
            return
        if self._beaten(self._floor(visit, placed, moved)):
            return
        if len(placed) == len(visit.order):
            self._finish(visit, placed)
            return
        need = visit.order[len(placed)]
        choices = self._choices(visit.frame, need, visit.feeds[need.id], placed)
        for item in sorted(choices, key=lambda choice: self._moved(visit.frame, choice)):
            if _rules_hold(self.sized, visit.frame, visit.loads, (*placed, item)):
                self._seat(visit, (*placed, item))

    def _spots(self, frame: Frame, item: Placed) -> tuple[Spot | None, Spot | None]:
        def at(module: int | None, number: int) -> Spot | None:
            if module is None:
                return None
            standing = frame[1][module]
            same = self.built.modules.get((standing.panel, standing.bay)) == standing.module
            return (standing.panel, standing.bay, number) if same else None

        way = 100 * (item.seat.row or 0) + item.way
        return at(item.seat.module, way), at(item.seat.socket_module, item.socket)

    def _leaves(self, frame: Frame, item: Placed) -> bool:
        """Whether a need is not where it is built, as far as it still takes a way and a socket."""
        need = item.seat.need
        if need.kind == "spare":
            return False
        way, socket = self._spots(frame, item)
        old_way, old_socket = self.built.way_of.get(need.id), self.built.socket_of.get(need.id)
        left_way = old_way is not None and item.seat.module is not None and way != old_way
        left_socket = old_socket is not None and item.seat.socket_module is not None and socket != old_socket
        return left_way or left_socket

    def _moved(self, frame: Frame, item: Placed) -> int:
        need = item.seat.need
        if need.kind == "spare" or need.id not in self.built.wires_of:
            return 0
        way, socket = self._spots(frame, item)
        key = (need.id, id(item.seat.option))
        if key not in self._wires:
            self._wires[key] = wires(need, item.seat.option)
        now = self._wires[key]
        moved = 0
        for wire, number in self.built.wires_of[need.id].items():
            at_way, at_socket, *_ = wire
            gone = (bool(at_way) and way != self.built.way_of.get(need.id)) or (
                bool(at_socket) and socket != self.built.socket_of.get(need.id)
            )
            moved += number if gone else max(0, number - now[wire])
        return moved

    def _finish(self, visit: _Visit, placed: tuple[Placed, ...]) -> None:
        frame, loads = visit.frame, visit.loads
        seats = tuple(item.seat for item in placed)
        moved = Fraction(sum(self._moved(frame, item) for item in placed))
        for cut in product(*self._cuts(frame[1], placed, loads)):
            made = Arrangement(*frame, seats, tuple(entry for row in cut for _, _, entry in row))
            pieces = {(at, feed) for row in cut for at, feed, _ in row}
            more = counted(self.sized, parts_and_wires(self.sized, made)[0]) - self.built.parts
            values = {
                "moved-wires": moved,
                "new-parts": Fraction(more.total()),
                "recut-strips": Fraction(len(self.built.pieces - pieces)),
                **goal_values(self.sized, made),
            }
            if not self._beaten(values):
                self.best = values

    def _is_numbered(self, standing: Standing) -> bool:
        """Whether it matters which way or socket of a module something takes."""
        return self.housing.stays(standing) or (standing.panel, standing.bay) in self.pinned

    def _choices(self, frame: Frame, need: Need, feed: str, placed: Sequence[Placed]) -> Iterator[Placed]:
        """Yield every free place of a need; what must stay where it is built has no other."""
        sized, modules = self.sized, frame[1]
        pin = parse_place(need.pin) if need.pin else None
        for option in need.options:
            if option.panel not in sized.feeds[feed].panels:
                continue
            for index, row, way in self._ways(modules, option, feed, placed) if need.takes_way else ((None, None, 0),):
                if pin and index is not None and row is not None:
                    here = (modules[index].panel, modules[index].bay, row, way)
                    wanted = (pin.panel, pin.bay, pin.row, pin.first)
                    if any(w is not None and h != w for h, w in zip(here, wanted, strict=True)):
                        continue
                for socket_module, socket in self._sockets(modules, option, index, placed):
                    item = Placed(Seat(need, option, feed, index, row, socket_module), way, socket)
                    if self.keep != "all" or not self._leaves(frame, item):
                        yield item

    def _ways(
        self, modules: Sequence[Standing], option: Option, feed: str, placed: Sequence[Placed]
    ) -> Iterator[tuple[int, int, int]]:
        """Yield free ways; where they are not told apart, way 0 of the first of equal empty modules."""
        for index, standing in enumerate(modules):
            module = self.sized.module_by_id[standing.module]
            if standing.panel != option.panel or self._is_copy(modules, index, placed, None):
                continue
            for row_index, row in enumerate(module.rows):
                taken = [i.way for i in placed if (i.seat.module, i.seat.row) == (index, row_index)]
                entry = (option.panel, module.id, self.groups.of_row[module.id, row_index], feed)
                if row.fuse_format == option.fuse_format and entry in self.sized.entries and len(taken) < row.ways:
                    ways = range(1, row.ways + 1) if self._is_numbered(standing) else (0,)
                    yield from ((index, row_index, way) for way in ways if way not in taken or not way)

    def _sockets(
        self, modules: Sequence[Standing], option: Option, way_module: int | None, placed: Sequence[Placed]
    ) -> Iterator[tuple[int | None, int]]:
        if option.relay_class is None:
            yield None, 0
            return
        for index, standing in enumerate(modules):
            if standing.panel != option.panel or self._is_copy(modules, index, placed, way_module):
                continue
            groups = self.sized.module_by_id[standing.module].sockets
            classes = [group.relay_class for group in groups for _ in range(group.count)]
            of_class = [number for number, name in enumerate(classes, 1) if name == option.relay_class]
            inside = [item for item in placed if item.seat.socket_module == index]
            taken = [item.socket for item in inside if item.seat.option.relay_class == option.relay_class]
            if len(taken) < len(of_class):
                numbers = of_class if self._is_numbered(standing) else (0,)
                yield from ((index, number) for number in numbers if number not in taken or not number)

    def _is_copy(self, modules: Sequence[Standing], index: int, placed: Sequence[Placed], taken: int | None) -> bool:
        """Whether an equal, equally empty module stands before this one, where neither has numbers."""
        busy = {taken, *(i.seat.module for i in placed), *(i.seat.socket_module for i in placed)}
        mine = modules[index]
        return (
            index not in busy
            and not self._is_numbered(mine)
            and any(
                other not in busy and (there.panel, there.module) == (mine.panel, mine.module)
                for other, there in enumerate(modules[:index])
                if not self._is_numbered(there)
            )
        )

    def _cuts(self, modules: Sequence[Standing], placed: Sequence[Placed], loads: Loads) -> Iterator[list[Cut]]:
        """Yield for every supply group in use each way to feed it; an empty list where there is none."""
        for item in placed:
            if item.seat.row is None and item.seat.socket_module is not None:
                standing = modules[item.seat.socket_module]
                at = f"{standing.panel}/{standing.bay}/S{item.socket}" if self.housing.stays(standing) else ""
                yield [[(at, item.seat.feed, FeedEntry(standing.panel, item.seat.feed, None, None, 0))]]
        for index, standing in enumerate(modules):
            for group, rows in enumerate(self.groups.rows_of[standing.module]):
                items = [item for item in placed if item.seat.module == index and item.seat.row in rows]
                if items and self._is_numbered(standing):
                    here = dict(sorted(((item.seat.row or 0, item.way), item.seat) for item in items))
                    cuts = list(_cuts_of_group(self.sized, standing, group, rows, here, loads))
                    stays = self.housing.stays(standing)
                    yield [[(at if stays else "", feed, entry) for at, feed, entry in cut] for cut in cuts]
                elif items:
                    choices = self.groups.of_group(standing, group, [item.seat for item in items], loads)
                    yield [[("", entry.feed, entry) for entry in entries] for entries in choices]


def _rules_hold(sized: Sized, frame: Frame, loads: Loads, placed: Sequence[Placed]) -> bool:
    modules, seats = frame[1], [item.seat for item in placed]
    rules = sized.requirements.scenario.rules
    bonds = [((b.level, b.circuits), True) for b in rules.apart] + [
        ((b.level, b.circuits), False) for b in rules.together
    ]
    if not all(bond_holds(bond, apart, modules, seats) for bond, apart in bonds) or not relays_near(sized, seats):
        return False
    for index, standing in enumerate(modules):
        inside = [seat for seat in seats if seat.module == index]
        if not within(inside, loads, sized.module_limit_ma[standing.panel, standing.module]):
            return False
        for row in range(len(sized.module_by_id[standing.module].rows)):
            in_row = [seat for seat in inside if seat.row == row]
            if not within(in_row, loads, sized.row_limit_ma[standing.panel, standing.module, row]):
                return False
            in_row_at = [item for item in placed if (item.seat.module, item.seat.row) == (index, row)]
            by_way = {item.way: item.seat for item in in_row_at if item.way}
            for way, seat in by_way.items():
                beside = by_way.get(way + 1)
                if beside and hot_cases(sized, seat, loads) & hot_cases(sized, beside, loads):
                    return False
    return True


def _cuts_of_group(
    sized: Sized,
    standing: Standing,
    group: int,
    rows: Sequence[int],
    here: Mapping[tuple[int, int], Seat],
    loads: Loads,
) -> Iterator[Cut]:
    row = sized.module_by_id[standing.module].rows[rows[0]]
    at = f"{standing.panel}/{standing.bay}"
    letter = "ABCDEF"[rows[0]]
    groups: Iterator[list[list[tuple[int, Seat]]]]
    if row.bus == "stud":
        groups = iter([[[(0, seat) for seat in here.values()]]])
    elif row.bus == "single":
        groups = iter([[[(way, seat)] for (_, way), seat in here.items()]])
    else:
        groups = _runs([(way, seat) for (_, way), seat in here.items()])
    for pieces in groups:
        cut: Cut = []
        for piece in pieces:
            feed = piece[0][1].feed
            entry = sized.entries[standing.panel, standing.module, group, feed]
            if any(seat.feed != feed for _, seat in piece) or any(
                sum(case) > entry.limit_ma for case in zip(*(way_load(s.need, loads) for _, s in piece), strict=True)
            ):
                break
            first, last = piece[0][0], piece[-1][0]
            name = {"stud": f"{at}/stud", "single": f"{at}/{letter}/{first}"}.get(
                row.bus, f"{at}/{letter}/{first}-{last}"
            )
            strip = row.strip if row.bus == "strip" else None
            ways = len(piece) if strip else 0
            cut.append((name, feed, FeedEntry(standing.panel, feed, entry.terminal, strip, ways, entry.tail)))
        else:
            feeds = [feed for _, feed, _ in cut]
            one_each = sized.requirements.scenario.rules.one_piece_per_feed_and_row and row.bus == "strip"
            if not one_each or len(set(feeds)) == len(feeds):
                yield cut


def _runs(ways: list[tuple[int, Seat]]) -> Iterator[list[list[tuple[int, Seat]]]]:
    """Yield every way to put ways that are side by side into pieces."""
    if len(ways) == 1:
        yield [ways]
        return
    first, rest = ways[0], ways[1:]
    for pieces in _runs(rest):
        yield [[first], *pieces]
        if rest[0][0] == first[0] + 1:
            yield [[first, *pieces[0]], *pieces[1:]]
