"""Rules on needs at ways: everything has its way, of its format, at a panel and on a feed that it accepts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from allocator.requirements.catalogue import FuseFormat
from allocator.verifying.findings import Finding
from allocator.verifying.records import NeedKey, quoted
from allocator.verifying.view import View


def every_need_placed(view: View) -> Iterator[Finding]:
    """Report needs with no way or several, and ways that hold what nobody asked for."""
    held = Counter(way.need for way in view.ways)
    for kind, name in view.needs_with_way:
        if held[kind, name] != 1:
            places = ", ".join(way.at for way in view.ways if way.need == (kind, name))
            detail = f"has {held[kind, name]} ways ({places}); expected one" if places else "has no way"
            yield Finding("every-need-placed", f'{kind} "{name}"', detail)
    for way in view.ways:
        if way.need not in view.needs_with_way:
            yield Finding("every-need-placed", way.at, f'holds {way.used.kind} "{way.used.need}", which needs no way')


def way_exists(view: View) -> Iterator[Finding]:
    """Report used ways that are in no row of a placed module."""
    for way in view.ways:
        if way.place is None:
            yield Finding("way-exists", way.at, "this is no way; expected panel/bay/row/way, such as cabin/2/A/3")
        elif way.module is None:
            yield Finding("way-exists", way.at, f"no module starts at {way.place.panel}/{way.place.bay}")
        elif way.row is None:
            yield Finding("way-exists", way.at, f'module "{way.module.id}" has no such way')


def one_need_per_way(view: View) -> Iterator[Finding]:
    """Report ways that hold two things."""
    for ways in view.ways_at.values():
        if len(ways) > 1:
            yield Finding("one-need-per-way", ways[0].at, f"holds {quoted(way.used.need for way in ways)}")


def _wanted_format(view: View, need: NeedKey) -> FuseFormat | None:
    """Return the format that a need insists on; None where it leaves the choice."""
    kind, name = need
    if kind == "circuit":
        return view.circuits[name].fuse_format if name in view.circuits else None
    if kind == "feed":
        return view.feeds[name].fuse_format if name in view.feeds else None
    return view.spares[name].fuse_format if name in view.spares else None


def format_matches(view: View) -> Iterator[Finding]:
    """Report fuses that do not fit their way, and ways of another format than was asked for."""
    for way in view.ways:
        if way.used.kind != "spare" and way.used.fuse not in view.fuses:
            named = "no fuse" if way.used.fuse is None else f'fuse "{way.used.fuse}", which is not in the catalogue'
            yield Finding("format-matches", way.name, f"has {named}")
        if way.row is None:
            continue
        fuse = view.fuses.get(way.used.fuse or "")
        if fuse is not None and fuse.fuse_format != way.row.fuse_format:
            text = f'fuse "{fuse.id}" is of format {fuse.fuse_format}, the way of format {way.row.fuse_format}'
            yield Finding("format-matches", way.name, text)
        wanted = _wanted_format(view, way.need)
        if wanted is not None and wanted != way.row.fuse_format:
            text = f"wants format {wanted}; the way is of format {way.row.fuse_format}"
            yield Finding("format-matches", way.name, text)


def panel_accepted(view: View) -> Iterator[Finding]:
    """Report circuits at panels they do not accept, and branches whose fuse or relay is away from home."""
    for way in view.ways:
        if way.place is not None:
            yield from _panel(view, way.need, way.at, way.place.panel)
    for socket in view.sockets:
        if socket.place is not None and socket.used.kind == "feed":
            yield from _panel(view, socket.need, socket.at, socket.place.panel)


def _panel(view: View, need: NeedKey, at: str, panel: str) -> Iterator[Finding]:
    kind, name = need
    if panel not in view.panels:
        yield Finding("panel-accepted", at, f'the scenario has no panel "{panel}"')
    elif kind == "circuit" and name in view.circuits:
        accepted = view.circuits[name].panels
        if accepted and panel not in accepted:
            yield Finding("panel-accepted", at, f'circuit "{name}" accepts only panel {quoted(accepted)}')
    elif kind == "feed" and name in view.feeds:
        home = view.home(view.feeds[name])
        if panel != home:
            known = "not known" if home is None else quoted([home])
            yield Finding("panel-accepted", at, f'the home panel of feed "{name}" is {known}')


def feed_accepted(view: View) -> Iterator[Finding]:
    """Report circuits on feeds they do not accept, and branches whose own fuse is not on their source."""
    for way in view.ways:
        kind, name = way.need
        if kind == "circuit" and name in view.circuits:
            accepted = view.circuits[name].feeds
            if way.used.feed not in accepted:
                text = f'is on feed "{way.used.feed}"; it accepts {quoted(accepted)}'
                yield Finding("feed-accepted", way.name, text)
        elif kind == "feed" and name in view.feeds and way.used.feed != view.feeds[name].source:
            text = f'is on feed "{way.used.feed}"; it branches from "{view.feeds[name].source}"'
            yield Finding("feed-accepted", way.name, text)


def feed_reaches_panel(view: View) -> Iterator[Finding]:
    """Report ways and feed entries on a feed that does not come to their panel."""
    users = [(way.at, way.used.feed, way.place.panel) for way in view.ways if way.place is not None]
    users += [(entry.at, entry.piece.feed, entry.panel) for entry in view.entries if entry.panel is not None]
    for at, name, panel in users:
        if name not in view.feeds:
            yield Finding("feed-reaches-panel", at, f'the scenario has no feed "{name}", only {quoted(view.feeds)}')
        elif panel not in view.reach(view.feeds[name]):
            reached = quoted(view.reach(view.feeds[name]))
            yield Finding("feed-reaches-panel", at, f'feed "{name}" does not reach panel "{panel}", only {reached}')


def key_out(view: View) -> Iterator[Finding]:
    """Report circuits that must work with the key out and hang, or whose coil hangs, on a feed not always live."""
    for way in view.ways:
        circuit = view.circuits.get(way.used.need) if way.used.kind == "circuit" else None
        if circuit is None or not circuit.key_out:
            continue
        yield from _dies_with_the_key(view, way.used.feed, way.name, "must work with the key out")
        if circuit.control is not None and circuit.switching in ("relay", "changeover"):
            words = f'must work with the key out; the coil of its relay hangs on "{circuit.control}"'
            for other in view.ways:
                if other.used.kind == "circuit" and other.used.need == circuit.control:
                    yield from _dies_with_the_key(view, other.used.feed, way.name, words)


def _dies_with_the_key(view: View, feed_name: str, where: str, words: str) -> Iterator[Finding]:
    name: str | None = feed_name
    passed: list[str] = []
    while name is not None and name in view.feeds and name not in passed:
        feed = view.feeds[name]
        if feed.kind != "permanent":
            yield Finding("key-out", where, f'{words}; feed "{name}" is of kind {feed.kind}')
        if feed.relay_class is not None:
            yield Finding("key-out", where, f'{words}; feed "{name}" passes a relay')
        passed.append(name)
        name = feed.source
