"""Controls: every relay has a coil that something can switch on."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

from allocator.requirements.checks.feeds import sources_of
from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, Spot, cut_short, shown
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Feed

Node: TypeAlias = tuple[str, str]
"""A feed or a circuit: ``("feed", "key")``."""


def control_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every control that has no coil to supply, and every relay that nothing can switch on."""
    for item in draft.circuits:
        yield from _coil(item)
        yield from _key_out(draft, item)
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


def _key_out(draft: Draft, item: Item[Circuit]) -> Iterator[PlacedFault]:
    circuit, spot = item.value, item.spot
    control = draft.circuit_by_id.get(circuit.control or "")
    if circuit.key_out and circuit.switching in ("relay", "changeover") and control is not None and not control.key_out:
        message = (
            f"{spot.subject} must work with the key out, and its control circuit {shown(control.id)} need not: "
            "its relay would drop out with the key"
        )
        yield spot.fault(
            "key-out-control", message, "control", hint=f'give circuit {shown(control.id)} key_out "yes" too'
        )


def _loops(draft: Draft) -> Iterator[PlacedFault]:
    """Yield a fault for each circle, at the first of those in it."""
    dead = _dead(draft)
    told: set[Node] = set()
    for kind, items in (("feed", draft.feeds), ("circuit", draft.circuits)):
        for item in items:
            node: Node = (kind, item.value.name if isinstance(item.value, Feed) else item.value.id)
            control: Node = ("circuit", item.value.control or "")
            circle = _way(dead, control, node) if control in dead.get(node, ()) and node not in told else []
            if circle:
                told.update(circle)
                yield _loop(item.spot, node, circle)


def _loop(spot: Spot, node: Node, circle: Sequence[Node]) -> PlacedFault:
    message = (
        f"{spot.subject} can never be switched on: "
        f"its control circuit {shown(circle[0][1])} would need it to be on first"
    )
    names = [f"{kind} {shown(name)}" for kind, name in (node, *circle)]
    known = f"each waits for the next: {cut_short(names)}" if len(circle) > 1 else ""
    hint = 'name a circuit that is live without it, or leave "control" empty: the coil is then on its own fuse'
    return spot.fault("control-loop", message, "control", known=known, hint=hint)


def _dead(draft: Draft) -> dict[Node, list[Node]]:
    """
    Return what can never be live and others wait for, each with what it waits for that can never be live either.

    What is unknown, broken or below a circle of sources counts as live: it has a fault of its own.
    """
    all_of: dict[Node, list[Node]] = {}
    any_of: dict[Node, list[Node]] = {}
    for feed in draft.feed_by_name.values():
        if _has_root(draft, feed):
            control = [("circuit", feed.control)] if feed.control and feed.relay_class else []
            all_of["feed", feed.name] = [*([("feed", feed.source)] if feed.source else []), *control]
    for circuit in draft.circuit_by_id.values():
        node = ("circuit", circuit.id)
        all_of[node] = [("circuit", circuit.control)] if circuit.control and circuit.switching != "none" else []
        any_of[node] = [("feed", name) for name in circuit.feeds]
    waits_for = {node: [*all_of[node], *any_of.get(node, ())] for node in all_of}
    dead = _never_live(all_of, any_of, waits_for)
    held: dict[Node, list[Node]] = {}
    for node in (node for node in all_of if node in dead):
        choice = any_of.get(node, [])
        held[node] = [need for need in all_of[node] if need in dead]
        held[node] += choice if all(need in dead for need in choice) else []
    return _awaited(held)


def _awaited(waits_for: dict[Node, list[Node]]) -> dict[Node, list[Node]]:
    """Leave out what nothing waits for, again and again: it hangs on a circle and is not part of one."""
    num_waiting = Counter(need for needs in waits_for.values() for need in needs)
    todo = [node for node in waits_for if not num_waiting[node]]
    while todo:
        for need in waits_for.pop(todo.pop()):
            num_waiting[need] -= 1
            if not num_waiting[need]:
                todo.append(need)
    return waits_for


def _never_live(
    all_of: Mapping[Node, list[Node]], any_of: Mapping[Node, list[Node]], waits_for: Mapping[Node, list[Node]]
) -> set[Node]:
    waiting: dict[Node, list[Node]] = {}
    for node, needs in waits_for.items():
        for need in needs:
            waiting.setdefault(need, []).append(node)
    dead, todo = set(all_of), list(all_of)
    while todo:
        node = todo.pop()
        stuck = any(need in dead for need in all_of[node])
        stuck = stuck or (node in any_of and all(need in dead for need in any_of[node]))
        if node in dead and not stuck:
            dead.remove(node)
            todo.extend(waiting.get(node, ()))
    return dead


def _way(waits_for: Mapping[Node, Sequence[Node]], start: Node, goal: Node) -> list[Node]:
    """Return a shortest chain from one to the other, both included, each waiting for the next; empty for none."""
    before: dict[Node, Node | None] = {start: None}
    todo = deque([start])
    while todo and goal not in before:
        node = todo.popleft()
        for need in waits_for.get(node, ()):
            if need not in before:
                before[need] = node
                todo.append(need)
    chain: list[Node] = []
    at = goal if goal in before else None
    while at is not None:
        chain.append(at)
        at = before[at]
    return chain[::-1]


def _has_root(draft: Draft, feed: Feed) -> bool:
    top = [feed, *sources_of(draft, feed)][-1]
    return top.source not in draft.feed_by_name
