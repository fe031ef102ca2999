"""
What a user is told when a circuit or a feed cannot be sized: the fault with file, row, field and value.

Requirements, the thing and a refusal come in; a Fault goes out.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.errors import Fault, SizingError
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.vehicle import Feed

CIRCUIT_FIELDS: Mapping[str, str | None] = {
    "ambient-past-table": "panels",
    "coil-unprotected": "control",
    "format-not-offered": "fuse_format",
    "fuse-protects-wire": None,
    "key-out": "feeds",
    "no-fuse-for-net": "fuse_format",
    "no-jumper": "relay_class",
    "no-rating-large-enough": "load",
    "no-rating-outlasts-start": "stall",
    "no-relay-for-net": "switching",
    "no-relay-large-enough": "load",
    "no-run-length": "length",
    "no-terminal": "load",
    "no-wire-for-drop": "length",
    "no-wire-for-fault": "load",
    "no-wire-for-fuse": "load",
    "no-wire-for-jumper": "panels",
    "unreachable": "panels",
    "wanted-fuse-not-offered": "fuse_rating",
    "wanted-fuse-too-small": "fuse_rating",
    "wanted-wire-drops": "wire",
    "wanted-wire-melts": "wire",
    "wanted-wire-not-offered": "wire",
    "wanted-wire-too-thin": "wire",
}
"""Field of a circuit that a refusal is about first, by its rule."""

FEED_FIELDS: Mapping[str, str | None] = {
    "branch-without-parts": "source",
    "coil-unprotected": "control",
    "feed-fuse-not-offered": "rating",
    "feed-loop": "source",
    "format-not-offered": "fuse_format",
    "home-open": "home",
    "home-unreached": "home",
    "no-entry": "tail_fuse",
    "no-feed-cable": "rating",
    "no-fuse-for-net": "fuse_format",
    "no-main-fuse": "rating",
    "no-jumper": "relay_class",
    "no-relay-for-net": "relay_class",
    "no-relay-large-enough": "relay_class",
    "no-terminal": "relay_class",
    "root-with-parts": "source",
    "tail-fuse-not-offered": "tail_fuse",
}
"""Field of a feed that a refusal is about first, by its rule."""


def circuit_fault(
    requirements: Requirements, circuit: Circuit, rule: str, message: str, known: str, hint: str
) -> Fault:
    """Return the fault of a circuit that cannot be sized."""
    field = "drop" if rule == "no-wire-for-drop" and circuit.drop is not None else CIRCUIT_FIELDS.get(rule)
    where = requirements.where("circuits", circuit.id, field)
    return Fault(rule, f'circuit "{circuit.id}": {message}', where, known, hint)


def feed_fault(requirements: Requirements, feed: Feed, refusal: SizingError) -> Fault:
    """Return the fault of a feed that cannot be sized."""
    where = requirements.where("feeds", feed.name, FEED_FIELDS.get(refusal.rule))
    return Fault(refusal.rule, f'feed "{feed.name}": {refusal}', where, refusal.known, refusal.hint)
