"""The rule that fuse, wire and relay are those of the sizing table."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.verifying.findings import Finding
from allocator.verifying.records import NeedKey
from allocator.verifying.view import View


def as_sized(view: View) -> Iterator[Finding]:
    """Report needs whose fuse, wire or relay are not those of the sizing table for their place."""
    for need in dict.fromkeys([*view.way_of, *view.socket_of]):
        if need in view.known_needs:
            yield from _compare(view, need)


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
