"""
Every set of feed entries of one row or one stud that no other one is a part of, by trying every way to cut the strip.

Comes in as the needs that sit there; goes out as lists of entries, of which there is none if limits, pins or rules
allow none. Two lists with as many entries of each feed are worth the same, and one of them is enough.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import chain, pairwise, permutations, product

from allocator.address import parse_place
from allocator.sizing.sized import Sized
from tests.oracles.arrangement import FeedEntry, Loads, Seat, Standing, way_load


def entries_of_stud(
    sized: Sized, standing: Standing, group: int, seats: Sequence[Seat], loads: Loads
) -> list[list[FeedEntry]]:
    """One feed, one entry, all rows on the stud together."""
    feeds = {seat.feed for seat in seats}
    entry = sized.entries[standing.panel, standing.module, group, seats[0].feed]
    if len(feeds) > 1 or not _carried(seats, loads, entry.limit_ma) or not _pins_apart(seats):
        return []
    rows = sized.module_by_id[standing.module].rows
    by_row = {seat.row: [other for other in seats if other.row == seat.row] for seat in seats if seat.row is not None}
    if not all(_lay_apart(sized, here, rows[row].ways, loads) for row, here in by_row.items() if row is not None):
        return []
    return [[FeedEntry(standing.panel, seats[0].feed, entry.terminal, None, 0, entry.tail)]]


def entries_of_row(
    sized: Sized, standing: Standing, group: int, row_index: int, seats: Sequence[Seat], loads: Loads
) -> list[list[FeedEntry]]:
    """Return the fewest strip pieces, or one entry a way where the row is singly fed."""
    row = sized.module_by_id[standing.module].rows[row_index]

    def entry(piece: Sequence[Seat]) -> FeedEntry | None:
        found = sized.entries[standing.panel, standing.module, group, piece[0].feed]
        if not _carried(piece, loads, found.limit_ma):
            return None
        strip = row.strip if row.bus == "strip" else None
        return FeedEntry(standing.panel, piece[0].feed, found.terminal, strip, len(piece) if strip else 0, found.tail)

    if row.bus == "single":
        singles = [entry([seat]) for seat in seats]
        each = [single for single in singles if single is not None]
        fits = _pins_apart(seats) and _lay_apart(sized, seats, row.ways, loads)
        return [each] if len(each) == len(singles) and fits else []
    best: dict[frozenset[tuple[str, int]], list[FeedEntry]] = {}
    for pieces in _cuttings(sized, seats, row.ways, loads):
        number = Counter(piece[0].feed for piece in pieces)
        entries = [made for piece in pieces if (made := entry(piece)) is not None]
        if len(entries) < len(pieces):
            continue
        if len(number) == len(pieces) or not sized.requirements.scenario.rules.one_piece_per_feed_and_row:
            best.setdefault(frozenset(number.items()), entries)
    counts = [Counter(dict(number)) for number in best]
    return [made for number, made in best.items() if not any(other < Counter(dict(number)) for other in counts)]


def _cuttings(sized: Sized, seats: Sequence[Seat], ways: int, loads: Loads) -> Iterator[list[list[Seat]]]:
    """Yield every partition into pieces of one feed; with pins or hot ways, only those that can be laid out so."""
    pinned = any(_pinned_way(seat) for seat in seats)
    hot = {seat.need.id: hot_cases(sized, seat, loads) for seat in seats}
    for pieces in _partitions(list(seats)):
        one_feed_each = all(len({seat.feed for seat in piece}) == 1 for piece in pieces)
        if one_feed_each and (not (pinned or any(hot.values())) or _lays(pieces, ways, hot)):
            yield pieces


def _partitions(seats: list[Seat]) -> Iterator[list[list[Seat]]]:
    if not seats:
        yield []
        return
    first, rest = seats[0], seats[1:]
    for smaller in _partitions(rest):
        yield [[first], *smaller]
        for index, piece in enumerate(smaller):
            yield [*smaller[:index], [first, *piece], *smaller[index + 1 :]]


def _lays(pieces: Sequence[Sequence[Seat]], ways: int, hot: Mapping[str, frozenset[int]]) -> bool:
    """Whether the pieces can lie in the row, each over ways side by side, pins as they wish, hot ways apart."""
    items: list[Sequence[Seat] | None] = [*pieces, *[None] * (ways - sum(map(len, pieces)))]
    orders = (_row(order) for order in permutations(items))
    return any(_keeps_wishes(row, hot) for rows in orders for row in rows)


def _row(order: Sequence[Sequence[Seat] | None]) -> Iterator[tuple[Seat | None, ...]]:
    """Yield the ways of a row for every order within its pieces."""
    inside = [permutations(item) if item else [(None,)] for item in order]
    for chosen in product(*inside):
        yield tuple(chain.from_iterable(chosen))


def _keeps_wishes(row: Sequence[Seat | None], hot: Mapping[str, frozenset[int]]) -> bool:
    pins_met = all(seat is None or _pinned_way(seat) in (0, way) for way, seat in enumerate(row, 1))
    return pins_met and not any(one and other and hot[one.need.id] & hot[other.need.id] for one, other in pairwise(row))


def _lay_apart(sized: Sized, seats: Sequence[Seat], ways: int, loads: Loads) -> bool:
    """Whether seats can lie in any ways of a row, pins where they want to be, hot ways apart."""
    hot = {seat.need.id: hot_cases(sized, seat, loads) for seat in seats}
    return not any(hot.values()) or _lays([[seat] for seat in seats], ways, hot)


def hot_cases(sized: Sized, seat: Seat, loads: Loads) -> frozenset[int]:
    """Return the load cases in which a way is loaded beyond the share of its fuse that makes it hot."""
    rules, option = sized.requirements.scenario.rules, seat.option
    if rules.hot_share is None or option.fuse is None:
        return frozenset()
    above_ma = Fraction(str(rules.hot_share)) * Fraction(str(option.fuse_rating_a)) * 10
    from_ma = Fraction(str(rules.hot_from)) * 1000
    return frozenset(case for case, ma in enumerate(way_load(seat.need, loads)) if ma > above_ma and ma >= from_ma)


def _pinned_way(seat: Seat) -> int:
    return (parse_place(seat.need.pin).first or 0) if seat.need.pin else 0


def _pins_apart(seats: Sequence[Seat]) -> bool:
    wanted = [(seat.row, _pinned_way(seat)) for seat in seats if _pinned_way(seat)]
    return len(set(wanted)) == len(wanted)


def _carried(seats: Sequence[Seat], loads: Loads, limit_ma: int) -> bool:
    return all(sum(case) <= limit_ma for case in zip(*(way_load(seat.need, loads) for seat in seats), strict=True))
