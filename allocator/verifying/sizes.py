"""The rule that fuse, wire, relay and tail fuse are those of the sizing table, which orders just what it states."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from allocator.sizing.sized import Option
from allocator.verifying.exact import exact, number
from allocator.verifying.findings import Finding
from allocator.verifying.limits import tail_of
from allocator.verifying.records import NeedKey
from allocator.verifying.view import View


def as_sized(view: View) -> Iterator[Finding]:
    """Report needs and feed entries whose parts are not those of the sizing table for their place."""
    for need in dict.fromkeys([*view.way_of, *view.socket_of]):
        if need in view.known_needs:
            yield from _compare(view, need)
    for name in view.feeds:
        if name not in view.sized.feeds:
            yield Finding("as-sized", f'feed "{name}"', "the sizing table has no row for it")
    for entry in view.entries:
        tail = tail_of(view, entry)
        if tail is not None and tail.fuse != entry.piece.tail_fuse:
            text = f'has tail fuse "{entry.piece.tail_fuse or "none"}"; the sizing table says "{tail.fuse or "none"}"'
            yield Finding("as-sized", f'{entry.at} (feed "{entry.piece.feed}")', text)


def _compare(view: View, need: NeedKey) -> Iterator[Finding]:
    way, socket, option = view.way_of.get(need), view.socket_of.get(need), view.option_of(need)
    where = f'{need[0]} "{need[1]}"'
    if option is None:
        yield Finding("as-sized", where, "the sizing table has no row for this panel, fuse format and relay class")
        return
    pairs = [] if way is None else [("fuse", way.used.fuse, option.fuse), ("wire", way.used.wire, option.wire)]
    pairs += [] if socket is None else [("relay", socket.used.relay, option.relay)]
    for name, found, wanted in pairs:
        if found != wanted:
            text = f'has {name} "{found or "none"}"; the sizing table says "{wanted or "none"}"'
            yield Finding("as-sized", where, text)
    for text in _misstated(view, option):
        yield Finding("as-sized", where, text)


def _misstated(view: View, option: Option) -> Iterator[str]:
    """Yield fuses, relays and in-line holders that are ordered and stated differently, and a rating that is none."""
    inline = () if option.coil_fuse is None else (option.coil_fuse.fuse, option.coil_fuse.holder)
    stated = Counter(part for part in (option.fuse, option.relay, *inline) if part is not None)
    for part in sorted({*stated, *option.parts} - {*option.terminal_by_designation.values()}):
        ordered = option.parts.get(part, 0)
        if ordered != stated[part]:
            yield f'the sizing table states {stated[part]} of "{part}" and orders {ordered}'
    fuse = view.fuses.get(option.fuse or "")
    if fuse is not None and fuse.rating != option.fuse_rating_a:
        rating, told = number(exact(fuse.rating)), number(exact(option.fuse_rating_a))
        yield f'fuse "{fuse.id}" is of {rating} A; the sizing table says {told} A'
