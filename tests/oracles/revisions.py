"""
The fewest changes to a tiny built panel by trying everything, written from docs/definitions.md alone.

Comes in as the plan as built and what is wanted now; goes out as one exact value a level, or None if nothing keeps what
must stay. Every frame that holds the built carriers, every way and socket of every need, and every cut of every strip
is visited, except what can no longer beat the best one found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from allocator.address import SocketPlace, parse_place, parse_socket
from allocator.plan.plan import Piece, Plan
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from tests.oracles.arrangement import (
    Arrangement,
    FeedEntry,
    Loads,
    Seat,
    Standing,
    goal_values,
    parts_and_wires,
    way_load,
)
from tests.oracles.brute_force import cost, feed_choices, within
from tests.oracles.entries import hot_cases
from tests.oracles.frames import Frame, frames
from tests.oracles.wishes import bond_holds, relays_near

Spot = tuple[str, int, int]
"""Panel, bay, and number of the socket; of a way row x 100 + way."""


@dataclass(frozen=True)
class AsBuilt:
    """What stands in the panel, in the plainest form."""

    carriers: tuple[tuple[str, str], ...]
    modules: Mapping[tuple[str, int], str]
    way_of: Mapping[str, Spot]
    socket_of: Mapping[str, Spot]
    wires_of: Mapping[str, Counter[tuple[str, ...]]]
    pieces: frozenset[tuple[str, str]]
    """Address and feed."""
    parts: Counter[str]


@dataclass(frozen=True)
class Placed:
    """A need with its seat, the way in its row, and the socket in its module."""

    seat: Seat
    way: int
    socket: int


def as_built(sized: Sized, plan: Plan) -> AsBuilt:
    """Read a plan off its addresses."""
    ways = {way.need: parse_place(way.at) for way in plan.ways}
    sockets = {socket.need: parse_socket(socket.at) for socket in plan.sockets}
    modules = {(place.panel, place.bay or 0): m.module for m in plan.modules if (place := parse_place(m.at))}
    carriers = tuple((item.panel, item.carrier) for item in plan.carriers)
    places = list(modules)
    feeds = {way.need: way.feed for way in plan.ways}
    seats = []
    for need in sized.needs:
        way, socket = ways.get(need.id), sockets.get(need.id)
        panel = way.panel if way else sockets[need.id].panel
        row = None if way is None else sized.module_by_id[modules[way.panel, way.bay or 0]].rows[way.row or 0]
        relay_class = None if socket is None else _class(sized, modules, socket)
        key = (panel, row.fuse_format if row else None, relay_class)
        option = next(o for o in need.options if (o.panel, o.fuse_format, o.relay_class) == key)
        module = None if way is None else places.index((way.panel, way.bay or 0))
        socket_module = None if socket is None else places.index((socket.panel, socket.bay))
        feed = feeds.get(need.id, need.feeds[0])
        seats.append(Seat(need, option, feed, module, None if way is None else way.row, socket_module))
    standing = tuple(Standing(panel, bay, module) for (panel, bay), module in modules.items())
    entries = tuple(_entry(sized, modules, piece) for piece in plan.pieces)
    made = Arrangement(carriers, standing, tuple(seats), entries)
    return AsBuilt(
        carriers=carriers,
        modules=modules,
        way_of={need: (p.panel, p.bay or 0, 100 * (p.row or 0) + (p.first or 0)) for need, p in ways.items()},
        socket_of={need: (at.panel, at.bay, at.socket) for need, at in sockets.items()},
        wires_of={seat.need.id: wires(seat.need, seat.option) for seat in seats},
        pieces=frozenset((piece.at, piece.feed) for piece in plan.pieces),
        parts=counted(sized, parts_and_wires(sized, made)[0]),
    )


def _class(sized: Sized, modules: Mapping[tuple[str, int], str], at: SocketPlace) -> str:
    classes = [s.relay_class for s in sized.module_by_id[modules[at.panel, at.bay]].sockets for _ in range(s.count)]
    return classes[at.socket - 1]


def _entry(sized: Sized, modules: Mapping[tuple[str, int], str], piece: Piece) -> FeedEntry:
    panel, bay, *_ = piece.at.split("/")
    if piece.kind == "socket":
        return FeedEntry(panel, piece.feed, None, None, 0)
    module = sized.module_by_id[modules[panel, int(bay)]]
    place = None if piece.kind == "stud" else parse_place(piece.at)
    row = next(n for n, r in enumerate(module.rows) if r.bus == "stud") if place is None else place.row or 0
    group = next(g for g, rows in enumerate(supply_groups(module)) if row in rows)
    sizing = sized.entries[panel, module.id, group, piece.feed]
    ways = (place.last or 0) - (place.first or 0) + 1 if place is not None and piece.kind == "strip" else 0
    strip = module.rows[row].strip if piece.kind == "strip" else None
    return FeedEntry(panel, piece.feed, sizing.terminal, strip, ways, sizing.tail)


def counted(sized: Sized, parts: Counter[str]) -> Counter[str]:
    """Leave out terminals, strips and accessories."""
    catalogue = sized.requirements.catalogue
    left_out = {part.id for table in (catalogue.terminals, catalogue.strips, catalogue.accessories) for part in table}
    return Counter({part: number for part, number in parts.items() if part not in left_out})


def wires(need: Need, option: Option) -> Counter[tuple[str, ...]]:
    """Count the wires of a need by what they touch, their far end and their kind."""
    found: Counter[tuple[str, ...]] = Counter()
    for cut in option.wires:
        at_way = "way" if cut.start == "way" or cut.end == "own fuse way" else ""
        at_socket = cut.start if cut.start != "way" else ""
        found[at_way, at_socket, cut.end, cut.wire, str(cut.length_mm)] += 1
    if need.takes_way and option.relay_class:
        found["way", "30", "jumper", str(option.jumper_wire), ""] += 1
    return found


def best_revision(built: AsBuilt, sized: Sized, keep: str) -> dict[str, Fraction] | None:
    """Return the values of the changes and of the user's goals in the plan that is best in that order."""
    search = _Search(built, sized, keep)
    for frame in frames(sized, numbered=True):
        if _keeps(built, frame, keep):
            for feeds, loads, peak in feed_choices(sized):
                search.seat(frame, feeds, loads, peak, ())
    return search.best


def _keeps(built: AsBuilt, frame: Frame, keep: str) -> bool:
    carriers, modules = frame
    panels = {panel for panel, _ in built.carriers}
    here = {(m.panel, m.bay): m.module for m in modules}
    if keep != "chosen" and any(here.get(place) != module for place, module in built.modules.items()):
        return False
    for panel in panels:
        mine = [name for at, name in built.carriers if at == panel]
        if [name for at, name in carriers if at == panel][: len(mine)] != mine:
            return False
    return True


class _Search:
    def __init__(self, built: AsBuilt, sized: Sized, keep: str) -> None:
        self.built, self.sized, self.keep = built, sized, keep
        self.goals = sized.requirements.scenario.rules.goals
        self.best: dict[str, Fraction] | None = None

    def _key(self, values: Mapping[str, Fraction]) -> tuple[Fraction, ...]:
        names = ("moved-wires", "new-parts", "recut-strips", *self.goals)
        return tuple(cost(name, values) for name in names if name in values)

    def _beaten(self, values: Mapping[str, Fraction]) -> bool:
        """Whether known first levels are worse than those of the best; equal ones may still be better later on."""
        if self.best is None:
            return False
        mine = self._key(values)
        return mine > self._key(self.best)[: len(mine)]

    def seat(
        self, frame: Frame, feeds: Mapping[str, str], loads: Loads, peak: Fraction, placed: tuple[Placed, ...]
    ) -> None:
        """Place the next need in every way and socket."""
        moved = sum(self._moved(frame, item) for item in placed)
        if self._beaten({"moved-wires": Fraction(moved)}):
            return
        if len(placed) == len(self.sized.needs):
            self._finish(frame, loads, Fraction(moved), placed)
            return
        need = self.sized.needs[len(placed)]
        choices = list(_choices(self.sized, frame[1], need, feeds[need.id], placed))
        for item in sorted(choices, key=lambda choice: self._moved(frame, choice)):
            if self.keep != "all" or not self._leaves(frame, item):
                self.seat(frame, feeds, loads, peak, (*placed, item))

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
        now = wires(need, item.seat.option)
        moved = 0
        for wire, number in self.built.wires_of[need.id].items():
            at_way, at_socket, *_ = wire
            gone = (bool(at_way) and way != self.built.way_of.get(need.id)) or (
                bool(at_socket) and socket != self.built.socket_of.get(need.id)
            )
            moved += number if gone else max(0, number - now[wire])
        return moved

    def _finish(self, frame: Frame, loads: Loads, moved: Fraction, placed: tuple[Placed, ...]) -> None:
        if not _rules_hold(self.sized, frame, loads, placed):
            return
        seats = tuple(item.seat for item in placed)
        for cut in product(*_cuts(self.sized, frame[1], placed, loads)):
            made = Arrangement(*frame, seats, tuple(entry for row in cut for _, _, entry in row))
            pieces = {(at, feed) for row in cut for at, feed, _ in row}
            more = counted(self.sized, parts_and_wires(self.sized, made)[0]) - self.built.parts
            changes = {
                "moved-wires": moved,
                "new-parts": Fraction(more.total()),
                "recut-strips": Fraction(len(self.built.pieces - pieces)),
            }
            if self._beaten(changes):
                continue
            values = changes | goal_values(self.sized, made)
            if self.best is None or self._key(values) < self._key(self.best):
                self.best = values


def _choices(
    sized: Sized, modules: Sequence[Standing], need: Need, feed: str, placed: Sequence[Placed]
) -> Iterator[Placed]:
    taken = {(item.seat.module, item.seat.row, item.way) for item in placed}
    fitted = {(item.seat.socket_module, item.socket) for item in placed}
    pin = parse_place(need.pin) if need.pin else None
    for option in need.options:
        if option.panel not in sized.feeds[feed].panels:
            continue
        for index, row, way in _ways(sized, modules, option, feed) if need.takes_way else ((None, None, 0),):
            if (index, row, way) in taken and need.takes_way:
                continue
            if pin and index is not None and row is not None:
                here = (modules[index].panel, modules[index].bay, row, way)
                wanted = (pin.panel, pin.bay, pin.row, pin.first)
                if any(w is not None and h != w for h, w in zip(here, wanted, strict=True)):
                    continue
            for socket_module, socket in _sockets(sized, modules, option):
                if (socket_module, socket) not in fitted or socket_module is None:
                    yield Placed(Seat(need, option, feed, index, row, socket_module), way, socket)


def _ways(sized: Sized, modules: Sequence[Standing], option: Option, feed: str) -> Iterator[tuple[int, int, int]]:
    for index, standing in enumerate(modules):
        module = sized.module_by_id[standing.module]
        for row_index, row in enumerate(module.rows):
            group = next(g for g, rows in enumerate(supply_groups(module)) if row_index in rows)
            fits = standing.panel == option.panel and row.fuse_format == option.fuse_format
            if fits and (option.panel, module.id, group, feed) in sized.entries:
                yield from ((index, row_index, way) for way in range(1, row.ways + 1))


def _sockets(sized: Sized, modules: Sequence[Standing], option: Option) -> Iterator[tuple[int | None, int]]:
    if option.relay_class is None:
        yield None, 0
        return
    for index, standing in enumerate(modules):
        if standing.panel == option.panel:
            sockets = sized.module_by_id[standing.module].sockets
            classes = [group.relay_class for group in sockets for _ in range(group.count)]
            yield from ((index, n) for n, c in enumerate(classes, 1) if c == option.relay_class)


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
            by_way = {item.way: item.seat for item in placed if (item.seat.module, item.seat.row) == (index, row)}
            for way, seat in by_way.items():
                beside = by_way.get(way + 1)
                if beside and hot_cases(sized, seat, loads) & hot_cases(sized, beside, loads):
                    return False
    return True


Cut = list[tuple[str, str, FeedEntry]]
"""Address, feed and what it is made of, for the entries of one row, stud or socket."""


def _cuts(sized: Sized, modules: Sequence[Standing], placed: Sequence[Placed], loads: Loads) -> Iterator[list[Cut]]:
    """Yield for every supply group in use each way to feed it; an empty list where there is none."""
    for item in placed:
        if item.seat.row is None and item.seat.socket_module is not None:
            standing = modules[item.seat.socket_module]
            at = f"{standing.panel}/{standing.bay}/S{item.socket}"
            yield [[(at, item.seat.feed, FeedEntry(standing.panel, item.seat.feed, None, None, 0))]]
    for index, standing in enumerate(modules):
        module = sized.module_by_id[standing.module]
        for group, rows in enumerate(supply_groups(module)):
            here = {
                (item.seat.row or 0, item.way): item.seat
                for item in placed
                if item.seat.module == index and item.seat.row in rows
            }
            if here:
                yield list(_cuts_of_group(sized, standing, group, rows, dict(sorted(here.items())), loads))


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
