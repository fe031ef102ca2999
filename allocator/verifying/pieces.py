"""Rules on feed entries: where a feed comes in, which ways it reaches, and whether its tail fits there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from allocator.address import Place
from allocator.verifying.findings import Finding
from allocator.verifying.limits import misfit
from allocator.verifying.records import EntryRecord, quoted
from allocator.verifying.view import View


def piece_exists(view: View) -> Iterator[Finding]:
    """Report feed entries at places that do not exist, or are of another kind."""
    for entry in view.entries:
        if entry.fault:
            yield Finding("piece-exists", entry.at, f"no place for an entry of kind {entry.piece.kind}: {entry.fault}")
        elif entry.socket is not None and not view.feeds_entered_by(entry):
            text = "no feed enters at this socket; only a feed with a relay and no fuse does"
            yield Finding("piece-exists", entry.at, text)


def pieces_apart(view: View) -> Iterator[Finding]:
    """Report pairs of feed entries with a way, or a socket, in common."""
    seen: dict[object, EntryRecord] = {}
    told: set[tuple[int, int]] = set()
    for entry in view.entries:
        for place in (*entry.ways, *([entry.socket] if entry.socket is not None else [])):
            other = seen.setdefault(place, entry)
            if other is not entry and (id(other), id(entry)) not in told:
                told.add((id(other), id(entry)))
                text = f"lies under two feed entries: {_described(other)} and {_described(entry)}"
                yield Finding("pieces-apart", str(place), text)


def _described(entry: EntryRecord) -> str:
    return f'{entry.at} (feed "{entry.piece.feed}")'


def way_is_fed(view: View) -> Iterator[Finding]:
    """Report used ways and directly fed sockets without a feed entry, and entries that lie over unused ways."""
    covered = {place for entry in view.entries for place in entry.ways}
    for way in view.ways:
        if way.place not in covered:
            yield Finding("way-is-fed", way.name, "lies under no feed entry")
    entered = {entry.socket for entry in view.entries}
    for socket in view.sockets:
        if view.enters_at_socket(socket.need) and socket.place not in entered:
            source = view.feeds[socket.used.need].source
            yield Finding("way-is-fed", socket.at, f'feed "{source}" does not enter here for feed "{socket.used.need}"')
    for entry in view.entries:
        unused = [place for place in entry.ways if place not in view.ways_at]
        if entry.piece.kind == "strip" and unused:
            places = ", ".join(str(place) for place in unused)
            yield Finding("way-is-fed", entry.at, f"the strip piece lies over unused ways: {places}")
        elif unused and len(unused) == len(entry.ways):
            yield Finding("way-is-fed", entry.at, "the feed enters where no way is used")


def one_feed_per_piece(view: View) -> Iterator[Finding]:
    """Report feed entries whose ways are on other feeds."""
    for entry in view.entries:
        feeds = [way.used.feed for way in view.ways_under(entry)]
        feeds += [str(view.feeds[need].source) for need in view.feeds_entered_by(entry)]
        others = sorted({feed for feed in feeds if feed != entry.piece.feed})
        if others:
            text = f'is on feed "{entry.piece.feed}"; what it feeds is on {quoted(others)}'
            yield Finding("one-feed-per-piece", entry.at, text)


def one_piece_per_feed_and_row(view: View) -> Iterator[Finding]:
    """Report rows with several strip pieces of one feed, where the rules forbid them."""
    if not view.rules.one_piece_per_feed_and_row:
        return
    strips = [entry for entry in view.entries if entry.piece.kind == "strip" and entry.ways]
    for (row, feed), pieces in Counter((_row_of(entry), entry.piece.feed) for entry in strips).items():
        if pieces > 1:
            text = f'{pieces} strip pieces are on feed "{feed}"; the rules allow one'
            yield Finding("one-piece-per-feed-and-row", str(row), text)


def _row_of(entry: EntryRecord) -> Place:
    way = entry.ways[0]
    return Place(way.panel, way.bay, way.row)


def tail_fits(view: View) -> Iterator[Finding]:
    """Report feed entries whose inlet does not take the tail of their feed."""
    for entry in view.entries:
        if entry.group is None or entry.piece.feed not in view.feeds or entry.panel not in view.panels:
            continue
        reason = misfit(view, entry)
        if reason:
            yield Finding("tail-fits", entry.at, f'does not take the tail of feed "{entry.piece.feed}": {reason}')
