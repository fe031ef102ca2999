"""
What a user asked for, one thing at a time: in words, with its place in the files, and how it is dropped or eased.

Everything that clashes, binds or is eased is one of these. ``of_circuits.py`` and ``of_rules.py`` list them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from allocator.explaining.sketch import Change

Kind = Literal[
    "pin", "apart", "together", "spares", "cap", "module count", "shelf", "hot ways", "relay beside fuse",
    "one piece", "room", "carriers", "feeds", "panels", "reach", "fuse format", "relay class", "feed current",
    "key out", "relay", "branch", "part limits", "circuit",
]  # fmt: skip
WEIGHTS: Mapping[Kind, int] = {
    "pin": 1, "apart": 1, "together": 1, "spares": 1, "cap": 1, "module count": 1, "shelf": 1, "hot ways": 1,
    "relay beside fuse": 1, "one piece": 1, "room": 2, "carriers": 2, "feeds": 2, "panels": 2, "reach": 2,
    "fuse format": 2, "relay class": 2, "feed current": 4, "key out": 4, "relay": 4, "branch": 8, "part limits": 8,
    "circuit": 16,
}  # fmt: skip
"""
What easing each kind weighs, to tell cheap relaxations from dear ones; our own order: wishes first, then where things
may be, then amperes and switching, then what the catalogue's parts carry, and leaving out a load last.
"""


@dataclass(frozen=True, slots=True)
class Easing:
    """One way to ask for less: in words, and as a change of the requirements."""

    words: str
    change: Change


@dataclass(frozen=True, slots=True)
class Demand:
    """
    One thing asked for.

    ``ladders`` hold easings, each ladder from the smallest step on; what stands in different ladders is no more or less
    than the other. ``circuit`` names the circuit without which it says nothing.
    """

    name: str
    kind: Kind
    words: str
    where: str
    drop: Change
    dropped: str
    """What dropping it means, in words."""
    ladders: tuple[tuple[Easing, ...], ...] = ()
    circuit: str | None = None

    @property
    def weight(self) -> int:
        """What easing it weighs."""
        return WEIGHTS[self.kind]


def demand_of(circuit: str) -> str:
    """Return the name of the demand that a circuit has a way at all."""
    return f"circuit {circuit}"


def circuit_of(demand: Demand) -> str:
    """Return the circuit of which a demand speaks; empty where it speaks of none."""
    return demand.circuit or (demand.name.removeprefix(demand_of("")) if demand.kind == "circuit" else "")
