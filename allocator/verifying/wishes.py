"""Rules on spare ways and pins."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.address import Place, parse_place
from allocator.verifying.findings import Finding
from allocator.verifying.records import quoted
from allocator.verifying.view import View


def spare_ways(view: View) -> Iterator[Finding]:
    """Report spare ways that are missing, or are not what was asked for."""
    usable = tuple(feed for feed in view.feeds if any(feed in circuit.feeds for circuit in view.circuits.values()))
    for name, spare in view.spares.items():
        way = view.way_of.get(("spare", name))
        if way is None:
            text = f"is missing; wanted is a free way of format {spare.fuse_format}"
            yield Finding("spare-ways", f'spare way "{name}"', text)
            continue
        if way.row is not None and way.row.fuse_format != spare.fuse_format:
            text = f"wants format {spare.fuse_format}; the way is of format {way.row.fuse_format}"
            yield Finding("spare-ways", way.name, text)
        feeds = usable if spare.feed is None else (spare.feed,)
        if way.used.feed not in feeds:
            yield Finding("spare-ways", way.name, f'is on feed "{way.used.feed}"; wanted is {quoted(feeds)}')
        if spare.panel is not None and way.place is not None and way.place.panel != spare.panel:
            yield Finding("spare-ways", way.name, f'is wanted at panel "{spare.panel}"')
        if way.used.fuse is not None or way.used.wire is not None:
            yield Finding("spare-ways", way.name, "is not free: it holds a fuse or a wire")


def pin(view: View) -> Iterator[Finding]:
    """Report circuits that are not where they are pinned."""
    for circuit in view.circuits.values():
        way = view.way_of.get(("circuit", circuit.id))
        if circuit.pin is None or way is None or way.place is None:
            continue
        try:
            wanted: Place | None = parse_place(circuit.pin)
        except ValueError:
            wanted = None
        if wanted is None or not _lies_in(way.place, wanted):
            yield Finding("pin", way.name, f'is pinned to "{circuit.pin}"')


def _lies_in(place: Place, wanted: Place) -> bool:
    found = (place.panel, place.bay, place.row, place.first)
    asked = (wanted.panel, wanted.bay, wanted.row, wanted.first)
    return all(want is None or have == want for have, want in zip(found, asked, strict=True))
