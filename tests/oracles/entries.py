"""
The fewest feed entries of one row or one stud, by trying every way to cut the strip.

Comes in as the needs that sit there; goes out as entries, or None if the limits, pins or rules allow none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

from allocator.plan.address import parse_place
from allocator.sizing.sized import Sized
from tests.oracles.arrangement import FeedEntry, Loads, Seat, Standing, way_load


def entry_of_stud(
    sized: Sized, standing: Standing, group: int, seats: Sequence[Seat], loads: Loads
) -> list[FeedEntry] | None:
    """One feed, one entry, all rows on the stud together."""
    feeds = {seat.feed for seat in seats}
    entry = sized.entries[standing.panel, standing.module, group, seats[0].feed]
    if len(feeds) > 1 or not _carried(seats, loads, entry.limit_ma) or not _pins_apart(seats):
        return None
    return [FeedEntry(standing.panel, seats[0].feed, entry.terminal, None, 0, entry.tail)]


def entries_of_row(
    sized: Sized, standing: Standing, group: int, row_index: int, seats: Sequence[Seat], loads: Loads
) -> list[FeedEntry] | None:
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
        made = [single for single in singles if single is not None]
        return made if len(made) == len(singles) and _pins_apart(seats) else None
    best: list[FeedEntry] | None = None
    for pieces in _cuttings(seats, row.ways):
        entries = [entry(piece) for piece in pieces]
        if any(made is None for made in entries) or (best is not None and len(entries) >= len(best)):
            continue
        one_each = len({piece[0].feed for piece in pieces}) == len(pieces)
        if one_each or not sized.requirements.scenario.rules.one_piece_per_feed_and_row:
            best = [made for made in entries if made is not None]
    return best


def _cuttings(seats: Sequence[Seat], ways: int) -> Iterator[list[list[Seat]]]:
    """Yield every partition into pieces of one feed; with pins at ways, only those that can be laid out so."""
    pinned = any(_pinned_way(seat) for seat in seats)
    for pieces in _partitions(list(seats)):
        if all(len({seat.feed for seat in piece}) == 1 for piece in pieces) and (not pinned or _lays(pieces, ways)):
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


def _lays(pieces: Sequence[Sequence[Seat]], ways: int) -> bool:
    """Whether the pieces can lie in the row, each over ways side by side, with every pin where it wants to be."""
    items: list[Sequence[Seat] | None] = [*pieces, *[None] * (ways - sum(map(len, pieces)))]
    return any(_pins_met(order) for order in permutations(items))


def _pins_met(order: Sequence[Sequence[Seat] | None]) -> bool:
    first = 1
    for item in order:
        if item is None:
            first += 1
            continue
        spots = range(first, first + len(item))
        wanted = [_pinned_way(seat) for seat in item if _pinned_way(seat)]
        if len(set(wanted)) < len(wanted) or not set(wanted) <= set(spots):
            return False
        first += len(item)
    return True


def _pinned_way(seat: Seat) -> int:
    return (parse_place(seat.need.pin).first or 0) if seat.need.pin else 0


def _pins_apart(seats: Sequence[Seat]) -> bool:
    wanted = [(seat.row, _pinned_way(seat)) for seat in seats if _pinned_way(seat)]
    return len(set(wanted)) == len(wanted)


def _carried(seats: Sequence[Seat], loads: Loads, limit_ma: int) -> bool:
    return all(sum(case) <= limit_ma for case in zip(*(way_load(seat.need, loads) for seat in seats), strict=True))
