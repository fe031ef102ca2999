"""
The lexicographic optimum of a tiny panel by trying everything, written from docs/definitions.md alone.

Comes in as the sizing table; goes out as one exact value a goal, or None if no plan exists. Every choice of feeds,
every set of carriers and modules and every seating is visited, except what can no longer beat the best one found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import product

from allocator.address import Place, parse_place
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from tests.oracles.arrangement import (
    Arrangement,
    FeedEntry,
    Loads,
    Seat,
    Standing,
    branch_loads,
    goal_values,
    long_jumpers,
    peak_utilisation,
    way_load,
)
from tests.oracles.entries import entries_of_row, entries_of_stud
from tests.oracles.floors import SUMMED, Floors
from tests.oracles.frames import Frame, frames, values_of_frame
from tests.oracles.wishes import bond_holds, feeds_hold, relays_near

Values = dict[str, Fraction]
MORE_IS_BETTER = ("spare-ways",)


def best_values(sized: Sized) -> Values | None:
    """
    Return the goal values of the best plan.

    Returns
    -------
    dict or None
        Exact value by goal, for all goals of the definitions; those of the objective are the lexicographic optimum, the
        others belong to one of the best plans. With tolerances only goals of the objective, each with the best value
        that those before it allow. None: there is no plan.
    """
    rules = sized.requirements.scenario.rules
    most = {aim.goal: aim.most for aim in rules.aims if aim.most is not None}
    if all(aim.tolerance is None for aim in rules.aims):
        return Search(sized, rules.goals, most).run()
    best: Values = {}
    for aim in rules.aims:
        found = Search(sized, (aim.goal,), most).run()
        if found is None:
            return None
        best[aim.goal] = found[aim.goal]
        most |= {aim.goal: aim.allowed(cost(aim.goal, found))}
    return best


def cost(goal: str, values: Mapping[str, Fraction]) -> Fraction:
    """Return what is made as small as it can be: a value, or of what more is better its negative."""
    value = values.get(goal, Fraction(0))
    return -value if goal in MORE_IS_BETTER else value


class Search:
    """The visit of every plan that may still be better than what was found."""

    def __init__(self, sized: Sized, objective: Sequence[str], most: Mapping[str, Fraction]) -> None:
        self.sized = sized
        self.objective = objective
        self.most = most
        self.best: Values | None = None
        self.bare: dict[Frame, Values] = {}
        self.floors = Floors(sized) if {*objective, *most} & {*SUMMED} else None
        self.groups, self.bonds = Groups(sized), _bonds(sized)

    def run(self) -> Values | None:
        choices = list(feed_choices(self.sized))
        for frame in sorted(frames(self.sized), key=lambda frame: self._key(self._bare(frame))):
            order = self._hardest_first(frame)
            for feeds, loads, peak in () if order is None else choices:
                self._seat(frame, order or (), feeds, loads, peak, ())
        return self.best

    def _hardest_first(self, frame: Frame) -> Sequence[Need] | None:
        """Return the needs by how many seats an empty frame has for each; None where it has none for some."""
        seats = {need.id: self._seats_on_any_feed(frame, need) for need in self.sized.needs}
        return sorted(self.sized.needs, key=lambda need: seats[need.id]) if all(seats.values()) else None

    def _seats_on_any_feed(self, frame: Frame, need: Need) -> int:
        return sum(1 for feed in need.feeds for _ in _seats(self.sized, self.groups, frame[1], need, feed, ()))

    def _key(self, values: Mapping[str, Fraction]) -> tuple[Fraction, ...]:
        return tuple(cost(goal, values) for goal in self.objective)

    def _bare(self, frame: Frame) -> Values:
        if frame not in self.bare:
            self.bare[frame] = values_of_frame(self.sized, frame)
        return self.bare[frame]

    def _beaten(self, floor: Mapping[str, Fraction]) -> bool:
        if any(cost(goal, floor) > most for goal, most in self.most.items()):
            return True
        return self.best is not None and self._key(floor) >= self._key(self.best)

    def _floor(
        self,
        frame: Frame,
        feeds: Mapping[str, str],
        peak: Fraction,
        seats: Sequence[Seat],
        left: Sequence[Need],
        entries: Sequence[FeedEntry],
    ) -> Values:
        """Return values that no completion can be better than, with entries of which there are no fewer."""
        elsewhere = {*feeds.values()} - {entry.feed for entry in entries}
        base = self._bare(frame)
        values = base | {
            "peak-utilisation": peak,
            "strip-pieces": Fraction(len(entries) + len(elsewhere)),
            "long-jumpers": Fraction(long_jumpers(seats)),
        }
        return values if self.floors is None else values | self.floors.above(base, seats, left, feeds, entries)

    def _seat(
        self,
        frame: Frame,
        order: Sequence[Need],
        feeds: Mapping[str, str],
        loads: Loads,
        peak: Fraction,
        seats: tuple[Seat, ...],
    ) -> None:
        left = order[len(seats) :]
        if self._beaten(self._floor(frame, feeds, peak, seats, left, self.groups.certain(frame[1], seats))):
            return
        if not left:
            self._finish(frame, feeds, loads, peak, seats)
            return
        for seat in _seats(self.sized, self.groups, frame[1], left[0], feeds[left[0].id], seats):
            more = (*seats, seat)
            if self._holds(frame[1], more, loads):
                self._seat(frame, order, feeds, loads, peak, more)

    def _finish(
        self, frame: Frame, feeds: Mapping[str, str], loads: Loads, peak: Fraction, seats: tuple[Seat, ...]
    ) -> None:
        carriers, modules = frame
        for entries in self.groups.cuts(modules, seats, loads):
            if not self._beaten(self._floor(frame, feeds, peak, seats, (), entries)):
                values = goal_values(self.sized, Arrangement(carriers, modules, seats, tuple(entries)))
                if not self._beaten(values):
                    self._keep(values)

    def _holds(self, modules: Sequence[Standing], seats: Sequence[Seat], loads: Loads) -> bool:
        """Whether seats keep what more of them could not mend: currents, bonds, and relays beside their fuses."""
        return (
            _currents_hold(self.sized, modules, seats, loads)
            and all(bond_holds(bond, apart, modules, seats) for bond, apart in self.bonds)
            and relays_near(self.sized, seats)
        )

    def _keep(self, values: Values) -> None:
        self.best = values


def feed_choices(sized: Sized) -> Iterator[tuple[dict[str, str], Loads, Fraction]]:
    """Yield every choice of a feed for every need that keeps the feed rules, with loads and peak."""

    def choose(chosen: dict[str, str], left: Sequence[Need]) -> Iterator[dict[str, str]]:
        if not left:
            yield dict(chosen)
            return
        for feed in left[0].feeds:
            chosen[left[0].id] = feed
            yield from choose(chosen, left[1:])
        del chosen[left[0].id]

    for chosen in choose({}, sized.needs):
        loads = branch_loads(sized, chosen)
        peak = peak_utilisation(sized, loads)
        if peak <= 1 and feeds_hold(sized, chosen):
            yield chosen, loads, peak


class Groups:
    """Rows that share a supply, and the entries that they need; every cut of a row that comes again is kept."""

    def __init__(self, sized: Sized) -> None:
        self.sized = sized
        self.rows_of = {module: supply_groups(sized.module_by_id[module]) for module in sized.module_by_id}
        self.of_row = {
            (module, row): number for module, groups in self.rows_of.items() for number, rows in enumerate(groups)
            for row in rows
        }  # fmt: skip
        self._kept: dict[object, list[list[FeedEntry]]] = {}

    def certain(self, modules: Sequence[Standing], seats: Sequence[Seat]) -> list[FeedEntry]:
        """Return entries that seats need whatever is added: one a feed and row, one a way that is fed singly."""
        entries = [FeedEntry(seat.option.panel, seat.feed, None, None, 0) for seat in seats if seat.row is None]
        ways: Counter[tuple[int, int, str, int]] = Counter()
        for number, seat in enumerate(seats):
            if seat.module is not None and seat.row is not None:
                module = modules[seat.module].module
                is_single = self.sized.module_by_id[module].rows[seat.row].bus == "single"
                ways[seat.module, self.of_row[module, seat.row], seat.feed, number if is_single else -1] += 1
        for (index, group, feed, _), count in ways.items():
            at = modules[index]
            row = self.sized.module_by_id[at.module].rows[self.rows_of[at.module][group][0]]
            entry = self.sized.entries[at.panel, at.module, group, feed]
            strip = row.strip if row.bus == "strip" else None
            entries.append(FeedEntry(at.panel, feed, entry.terminal, strip, count if strip else 0, entry.tail))
        return entries

    def cuts(self, modules: Sequence[Standing], seats: Sequence[Seat], loads: Loads) -> Iterator[list[FeedEntry]]:
        """Yield every choice of entries for a seating in which none is to spare."""
        direct = [FeedEntry(seat.option.panel, seat.feed, None, None, 0) for seat in seats if seat.row is None]
        parts = [[direct]]
        for index, standing in enumerate(modules):
            inside = [seat for seat in seats if seat.module == index]
            for group, rows in enumerate(self.rows_of[standing.module]):
                here = [seat for seat in inside if seat.row in rows]
                parts += [self.of_group(standing, group, here, loads)] if here else []
        for chosen in product(*parts):
            yield [entry for part in chosen for entry in part]

    def of_group(self, standing: Standing, group: int, here: Sequence[Seat], loads: Loads) -> list[list[FeedEntry]]:
        """Return the choices of entries for what sits in the rows of one group."""
        who = ((seat.need.id, id(seat.option), seat.feed, seat.row, way_load(seat.need, loads)) for seat in here)
        key = (standing.panel, standing.module, group, *who)
        if key not in self._kept:
            first = self.rows_of[standing.module][group][0]
            if self.sized.module_by_id[standing.module].rows[first].bus == "stud":
                self._kept[key] = entries_of_stud(self.sized, standing, group, here, loads)
            else:
                self._kept[key] = entries_of_row(self.sized, standing, group, first, here, loads)
        return self._kept[key]


def _seats(
    sized: Sized, groups: Groups, modules: Sequence[Standing], need: Need, feed: str, seats: Sequence[Seat]
) -> Iterator[Seat]:
    """Yield every seat of a need that is free and fits, the first of equal empty modules only."""
    for option in need.options:
        if option.panel not in sized.feeds[feed].panels:
            continue
        ways = _ways(sized, groups, modules, need, option, feed, seats) if need.takes_way else ((None, None),)
        for module, row in ways:
            for socket_module in _sockets(sized, modules, option, module, seats):
                yield Seat(need, option, feed, module, row, socket_module)


def _ways(
    sized: Sized,
    groups: Groups,
    modules: Sequence[Standing],
    need: Need,
    option: Option,
    feed: str,
    seats: Sequence[Seat],
) -> Iterator[tuple[int, int]]:
    place = parse_place(need.pin) if need.pin else Place(option.panel)
    for index, standing in enumerate(modules):
        if standing.panel != option.panel or _is_copy(modules, index, seats, None):
            continue
        module = sized.module_by_id[standing.module]
        for row_index, row in enumerate(module.rows):
            used = sum(seat.module == index and seat.row == row_index for seat in seats)
            if (
                row.fuse_format == option.fuse_format
                and used < row.ways
                and (option.panel, module.id, groups.of_row[module.id, row_index], feed) in sized.entries
                and place.panel == standing.panel
                and place.bay in (None, standing.bay)
                and place.row in (None, row_index)
                and (place.first or 1) <= row.ways
            ):
                yield index, row_index


def _sockets(
    sized: Sized, modules: Sequence[Standing], option: Option, way_module: int | None, seats: Sequence[Seat]
) -> Iterator[int | None]:
    if option.relay_class is None:
        yield None
        return
    for index, standing in enumerate(modules):
        if standing.panel != option.panel or _is_copy(modules, index, seats, way_module):
            continue
        room = sum(
            sockets.count
            for sockets in sized.module_by_id[standing.module].sockets
            if sockets.relay_class == option.relay_class
        )
        used = sum(seat.socket_module == index and seat.option.relay_class == option.relay_class for seat in seats)
        if used < room:
            yield index


def _is_copy(modules: Sequence[Standing], index: int, seats: Sequence[Seat], taken: int | None) -> bool:
    """Whether an equal, equally empty module stands before this one (only where bays are not numbered)."""
    busy = {seat.module for seat in seats} | {seat.socket_module for seat in seats} | {taken}
    return index not in busy and any(modules[other] == modules[index] and other not in busy for other in range(index))


def _currents_hold(sized: Sized, modules: Sequence[Standing], seats: Sequence[Seat], loads: Loads) -> bool:
    """Whether the row and the module of the last seat stay within their limits in every case."""
    last = seats[-1]
    if last.module is None or last.row is None:
        return True
    standing = modules[last.module]
    in_module = [seat for seat in seats if seat.module == last.module]
    in_row = [seat for seat in in_module if seat.row == last.row]
    return within(in_module, loads, sized.module_limit_ma[standing.panel, standing.module]) and within(
        in_row, loads, sized.row_limit_ma[standing.panel, standing.module, last.row]
    )


def within(seats: Sequence[Seat], loads: Loads, limit_ma: int | None) -> bool:
    """Whether the ways of ``seats`` together draw no more than the limit in any case."""
    if limit_ma is None:
        return True
    return all(sum(case) <= limit_ma for case in zip(*(way_load(seat.need, loads) for seat in seats), strict=True))


def _bonds(sized: Sized) -> Sequence[tuple[tuple[str, tuple[str, ...]], bool]]:
    rules = sized.requirements.scenario.rules
    return [((bond.level, bond.circuits), True) for bond in rules.apart] + [
        ((bond.level, bond.circuits), False) for bond in rules.together
    ]
