"""
What each circuit asks for: its place in the panel, and every choice that its row narrows.

Requirements come in; demands go out, circuit by circuit in the order of the list.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from allocator.explaining.demands import Demand, Easing, demand_of
from allocator.explaining.sketch import Change, Sketch
from allocator.requirements.places import quoted
from allocator.requirements.scenario import Circuit, Requirements


def demands_of_circuits(requirements: Requirements) -> Iterator[Demand]:
    """
    Yield the demands of every circuit.

    The place of a circuit that switches a feed's relay is none: without it there would be no such feed.
    """
    switching_feeds = {feed.control for feed in requirements.scenario.feeds if feed.control}
    for circuit in requirements.circuits:
        for build in (_feeds, _panels, _format, _relay_class, _relay, _key_out, _pin):
            found = build(requirements, circuit)
            if found is not None:
                yield found
        if not _is_needed(requirements, circuit, switching_feeds):
            yield Demand(
                demand_of(circuit.id),
                "circuit",
                f'circuit "{circuit.id}" has a way',
                requirements.where("circuits", circuit.id),
                partial(_leave_out, name=circuit.id),
                f'circuit "{circuit.id}" left out',
            )


def _is_needed(requirements: Requirements, circuit: Circuit, switching_feeds: set[str]) -> bool:
    """Whether a feed hangs on a circuit, at whatever remove."""
    circuits = {item.id: item for item in requirements.circuits}
    for name in switching_feeds:
        seen: set[str] = set()
        while name in circuits and name not in seen:
            if name == circuit.id:
                return True
            seen.add(name)
            name = circuits[name].control or ""
    return False


def _leave_out(sketch: Sketch, name: str) -> None:
    sketch.circuits.pop(name, None)


def _set(name: str, **fields: Any) -> Change:
    return lambda sketch: sketch.change_circuit(name, **fields)


def _demand(
    requirements: Requirements,
    circuit: Circuit,
    kind: Any,
    field: str,
    words: str,
    dropped: str,
    drop: Change,
    ladders: Callable[[], Iterator[tuple[Easing, ...]]] | None = None,
) -> Demand:
    return Demand(
        f"{kind} of {circuit.id}",
        kind,
        f'circuit "{circuit.id}" {words}',
        requirements.where("circuits", circuit.id, field),
        drop,
        f'circuit "{circuit.id}" {dropped}',
        tuple(ladders()) if ladders is not None else ((Easing(f'circuit "{circuit.id}" {dropped}', drop),),),
        circuit.id,
    )


def _feeds(requirements: Requirements, circuit: Circuit) -> Demand | None:
    names = [feed.name for feed in requirements.scenario.feeds]
    others = [name for name in names if name not in circuit.feeds]
    if not others:
        return None

    def ladders() -> Iterator[tuple[Easing, ...]]:
        for name in others:
            change = _set(circuit.id, feeds=(*circuit.feeds, name))
            yield (Easing(f'circuit "{circuit.id}" on feed "{name}" too', change),)

    return _demand(
        requirements, circuit, "feeds", "feeds", f"accepts only feed {quoted(circuit.feeds)}", "on any feed",
        _set(circuit.id, feeds=(*circuit.feeds, *others)), ladders,
    )  # fmt: skip


def _panels(requirements: Requirements, circuit: Circuit) -> Demand | None:
    names = [site.name for site in requirements.scenario.panels]
    others = [name for name in names if name not in circuit.panels] if circuit.panels else []
    if not others:
        return None

    def ladders() -> Iterator[tuple[Easing, ...]]:
        for name in others:
            change = _accept_panels(requirements, circuit, (*circuit.panels, name))
            yield (Easing(f'circuit "{circuit.id}" at panel "{name}" too', change),)

    return _demand(
        requirements, circuit, "panels", "panels", f"accepts only panel {quoted(circuit.panels)}", "at any panel",
        _accept_panels(requirements, circuit, ()), ladders,
    )  # fmt: skip


def _accept_panels(requirements: Requirements, circuit: Circuit, panels: tuple[str, ...]) -> Change:
    """Where no run from a further panel is known, it is taken to be the longest of those that are."""
    longest = max(circuit.length.values(), default=0.0)
    return _set(circuit.id, panels=panels, length={"": longest} | circuit.length)


def _format(requirements: Requirements, circuit: Circuit) -> Demand | None:
    if circuit.fuse_format is None:
        return None
    return _demand(
        requirements, circuit, "fuse format", "fuse_format", f"wants a fuse of type {circuit.fuse_format}",
        "with a fuse of any type", _set(circuit.id, fuse_format=None),
    )  # fmt: skip


def _relay_class(requirements: Requirements, circuit: Circuit) -> Demand | None:
    if circuit.relay_class is None:
        return None
    return _demand(
        requirements, circuit, "relay class", "relay_class", f"wants a relay of class {circuit.relay_class}",
        "with a relay of any class", _set(circuit.id, relay_class=None),
    )  # fmt: skip


def _relay(requirements: Requirements, circuit: Circuit) -> Demand | None:
    if circuit.switching != "relay":
        return None
    drop = _set(circuit.id, switching="none", control=None, relay_class=None)
    return _demand(
        requirements, circuit, "relay", "switching", "is switched by a relay", "without its relay", drop
    )  # fmt: skip


def _key_out(requirements: Requirements, circuit: Circuit) -> Demand | None:
    if not circuit.key_out:
        return None
    return _demand(
        requirements, circuit, "key out", "key_out", "must work with the key out", "dead with the key out",
        _set(circuit.id, key_out=False),
    )  # fmt: skip


def _pin(requirements: Requirements, circuit: Circuit) -> Demand | None:
    if circuit.pin is None:
        return None
    return _demand(
        requirements, circuit, "pin", "pin", f"is at {circuit.pin}", "without its pin", _set(circuit.id, pin=None)
    )
