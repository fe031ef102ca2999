"""Controls: every relay has a coil that something can switch on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeAlias

from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, shown
from allocator.requirements.scenario import Circuit, Feed

Node: TypeAlias = tuple[str, str]
"""A feed or a circuit: ``("feed", "key")``."""


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
    dead = _dead(draft)
    for kind, items in (("feed", draft.feeds), ("circuit", draft.circuits)):
        for item in items:
            node: Node = (kind, item.value.name if isinstance(item.value, Feed) else item.value.id)
            control: Node = ("circuit", item.value.control or "")
            if control in dead.get(node, ()) and _leads_to(dead, control, node):
                message = (
                    f"{item.spot.subject} can never be switched on: "
                    f"its control circuit {shown(control[1])} would need it to be on first"
                )
                yield item.spot.fault("control-loop", message, "control")


def _dead(draft: Draft) -> dict[Node, list[Node]]:
    """
    Return what can never be live, each with what it waits for that can never be live either.

    What is unknown, broken or below a circle of sources counts as live: it has a fault of its own.
    """
    all_of: dict[Node, list[Node]] = {}
    any_of: dict[Node, list[Node]] = {}
    for feed in draft.feed_by_name.values():
        if _has_root(draft.feed_by_name, feed):
            control = [("circuit", feed.control)] if feed.control and feed.relay_class else []
            all_of["feed", feed.name] = [*([("feed", feed.source)] if feed.source else []), *control]
    for circuit in draft.circuit_by_id.values():
        node = ("circuit", circuit.id)
        all_of[node] = [("circuit", circuit.control)] if circuit.control and circuit.switching != "none" else []
        any_of[node] = [("feed", name) for name in circuit.feeds]
    dead = list(all_of)
    while True:
        waiting = frozenset(dead)
        still = [
            node
            for node in dead
            if any(need in waiting for need in all_of[node])
            or (node in any_of and all(need in waiting for need in any_of[node]))
        ]
        if still == dead:
            return {node: [need for need in (*all_of[node], *any_of.get(node, ())) if need in waiting] for node in dead}
        dead = still


def _leads_to(waits_for: dict[Node, list[Node]], start: Node, goal: Node) -> bool:
    seen, todo = {start}, [start]
    while todo:
        node = todo.pop()
        if node == goal:
            return True
        new = [need for need in waits_for.get(node, ()) if need not in seen]
        seen.update(new)
        todo.extend(new)
    return False


def _has_root(feeds: Mapping[str, Feed], feed: Feed) -> bool:
    seen: list[str] = []
    while feed.source is not None and feed.source in feeds and feed.source not in seen:
        seen.append(feed.source)
        feed = feeds[feed.source]
    return feed.source not in seen
