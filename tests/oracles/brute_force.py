"""
The lexicographic optimum of a tiny panel by trying everything, written from docs/definitions.md alone.

Comes in as the sizing table; goes out as one exact value a goal, or None if no plan exists. Every choice of feeds,
every set of carriers and modules and every seating is visited, except what can no longer beat the best one found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

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
from tests.oracles.entries import entries_of_row, entry_of_stud
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

    def run(self) -> Values | None:
        choices = list(feed_choices(self.sized))
        ranked = sorted(frames(self.sized), key=lambda frame: self._key(self._floor(frame, (), Fraction(0))))
        for frame in ranked:
            for feeds, loads, peak in choices:
                if not self._beaten(self._floor(frame, (), peak)):
                    self._seat(frame, feeds, loads, peak, ())
        return self.best

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

    def _floor(self, frame: Frame, seats: Sequence[Seat], peak: Fraction) -> Values:
        """Return values that no completion can be better than."""
        modules = frame[1]
        groups = {(seat.module, _group(self.sized, modules, seat), seat.feed) for seat in seats if seat.row is not None}
        direct = sum(seat.row is None for seat in seats)
        return self._bare(frame) | {
            "peak-utilisation": peak,
            "strip-pieces": Fraction(len(groups) + direct),
            "long-jumpers": Fraction(long_jumpers(seats)),
        }

    def _seat(
        self, frame: Frame, feeds: Mapping[str, str], loads: Loads, peak: Fraction, seats: tuple[Seat, ...]
    ) -> None:
        if self._beaten(self._floor(frame, seats, peak)):
            return
        if len(seats) == len(self.sized.needs):
            self._finish(frame, loads, seats)
            return
        need = self.sized.needs[len(seats)]
        for seat in _seats(self.sized, frame[1], need, feeds[need.id], seats):
            more = (*seats, seat)
            if _currents_hold(self.sized, frame[1], more, loads):
                self._seat(frame, feeds, loads, peak, more)

    def _finish(self, frame: Frame, loads: Loads, seats: tuple[Seat, ...]) -> None:
        carriers, modules = frame
        if not all(bond_holds(bond, apart, modules, seats) for bond, apart in _bonds(self.sized)):
            return
        if not relays_near(self.sized, seats):
            return
        entries = _entries(self.sized, modules, seats, loads)
        if entries is None:
            return
        values = goal_values(self.sized, Arrangement(carriers, modules, seats, entries))
        if not self._beaten(values):
            self._keep(values)

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


def _seats(sized: Sized, modules: Sequence[Standing], need: Need, feed: str, seats: Sequence[Seat]) -> Iterator[Seat]:
    """Yield every seat of a need that is free and fits, the first of equal empty modules only."""
    for option in need.options:
        if option.panel not in sized.feeds[feed].panels:
            continue
        for module, row in _ways(sized, modules, need, option, feed, seats) if need.takes_way else ((None, None),):
            for socket_module in _sockets(sized, modules, option, module, seats):
                yield Seat(need, option, feed, module, row, socket_module)


def _ways(
    sized: Sized, modules: Sequence[Standing], need: Need, option: Option, feed: str, seats: Sequence[Seat]
) -> Iterator[tuple[int, int]]:
    place = parse_place(need.pin) if need.pin else Place(option.panel)
    for index, standing in enumerate(modules):
        if standing.panel != option.panel or _is_copy(modules, index, seats, None):
            continue
        module = sized.module_by_id[standing.module]
        for row_index, row in enumerate(module.rows):
            group = next(g for g, rows in enumerate(supply_groups(module)) if row_index in rows)
            used = sum(seat.module == index and seat.row == row_index for seat in seats)
            if (
                row.fuse_format == option.fuse_format
                and used < row.ways
                and (option.panel, module.id, group, feed) in sized.entries
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


def _group(sized: Sized, modules: Sequence[Standing], seat: Seat) -> tuple[int, ...]:
    """Return what shares a feed entry with the seat at best: its row, or all rows on its module's stud."""
    assert seat.module is not None and seat.row is not None
    module = sized.module_by_id[modules[seat.module].module]
    rows = next(rows for rows in supply_groups(module) if seat.row in rows)
    return (*rows, -1)


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


def _entries(
    sized: Sized, modules: Sequence[Standing], seats: Sequence[Seat], loads: Loads
) -> tuple[FeedEntry, ...] | None:
    """Return the fewest feed entries for a seating, or None if no strip pieces carry it."""
    entries: list[FeedEntry] = [
        FeedEntry(seat.option.panel, seat.feed, None, None, 0) for seat in seats if seat.row is None
    ]
    for index, standing in enumerate(modules):
        module = sized.module_by_id[standing.module]
        for group, rows in enumerate(supply_groups(module)):
            here = [seat for seat in seats if seat.module == index and seat.row in rows]
            if not here:
                continue
            if module.rows[rows[0]].bus == "stud":
                made = entry_of_stud(sized, standing, group, here, loads)
            else:
                made = entries_of_row(sized, standing, group, rows[0], here, loads)
            if made is None:
                return None
            entries += made
    return tuple(entries)
