"""Controls: every relay has a coil that something can switch on."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, shown
from allocator.requirements.scenario import Circuit, Feed


def control_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every control that has no coil to supply, and every relay that nothing can switch on."""
    for item in draft.circuits:
        yield from _coil(item)
    yield from _loops(draft)


def _coil(item: Item[Circuit]) -> Iterator[PlacedFault]:
    circuit, spot = item.value, item.spot
    if circuit.control is not None and circuit.switching in ("none", "flasher"):
        what = "no relay" if circuit.switching == "none" else "a flasher, which has no coil"
        message = f"{spot.subject} has a control circuit and {what}"
        yield spot.fault(
            "control-without-relay", message, "control", hint='leave "control" empty, or change "switching"'
        )
    if circuit.relay_class is not None and circuit.switching == "none":
        message = f"{spot.subject} wants a relay class and has no relay"
        yield spot.fault("class-without-relay", message, "relay_class", hint='leave it empty, or change "switching"')


def _loops(draft: Draft) -> Iterator[PlacedFault]:
    feeds, circuits = _reachable(draft)
    for feed in draft.feeds:
        if feed.value.name not in feeds and (feed.value.source is None or feed.value.source in feeds):
            yield _loop(feed)
    for circuit in draft.circuits:
        if circuit.value.id not in circuits and any(name in feeds for name in circuit.value.feeds):
            yield _loop(circuit)


def _loop(item: Item[Feed] | Item[Circuit]) -> PlacedFault:
    control = shown(item.value.control)
    message = (
        f"{item.spot.subject} can never be switched on: its control circuit {control} would need it to be on first"
    )
    return item.spot.fault("control-loop", message, "control")


def _reachable(draft: Draft) -> tuple[frozenset[str], frozenset[str]]:
    """
    Return the feeds and the circuits that can be live.

    What is unknown, broken or in a circle of sources counts as live: it has a fault of its own.
    """
    feeds = {item.value.name: item.value for item in draft.feeds}
    circuits = {item.value.id: item.value for item in draft.circuits}
    dead_feeds = frozenset(name for name, feed in feeds.items() if _has_root(feeds, feed))
    dead_circuits = frozenset(circuits)
    while True:
        still_feeds = frozenset(
            name
            for name in dead_feeds
            if feeds[name].source in dead_feeds or (feeds[name].relay_class and feeds[name].control in dead_circuits)
        )
        still_circuits = frozenset(
            name
            for name in dead_circuits
            if all(feed in still_feeds for feed in circuits[name].feeds)
            or (circuits[name].switching != "none" and circuits[name].control in dead_circuits)
        )
        if (still_feeds, still_circuits) == (dead_feeds, dead_circuits):
            break
        dead_feeds, dead_circuits = still_feeds, still_circuits
    return frozenset(feeds) - dead_feeds, frozenset(circuits) - dead_circuits


def _has_root(feeds: dict[str, Feed], feed: Feed) -> bool:
    seen: list[str] = []
    while feed.source is not None and feed.source in feeds and feed.source not in seen:
        seen.append(feed.source)
        feed = feeds[feed.source]
    return feed.source not in seen
