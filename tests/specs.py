"""What a test says about a small panel: a frozen record each for circuit, feed, module type and panel; plain A."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

LARGE_A = 10_000.0
"""A limit that never binds."""


@dataclass(frozen=True)
class A:
    """A circuit: design current in amperes and whatever differs from the plainest circuit."""

    load_a: float
    feeds: tuple[str, ...] = ()  # none named: every feed
    formats: tuple[str, ...] = ("F",)
    panels: tuple[str, ...] = ()
    relays: tuple[str, ...] = ()  # classes that may serve; none: no relay
    cases: tuple[str, ...] = ()
    switching: str = "relay"  # counts only with relays
    control: str | None = None
    key_out: bool = False
    pin: str | None = None


@dataclass(frozen=True)
class F:
    """A feed: rating in amperes, and what it branches from."""

    rating_a: float
    source: str | None = None
    fuse: str | None = None
    relay: str | None = None
    control: str | None = None
    home: str | None = None
    panels: tuple[str, ...] = ()
    kind: str = "permanent"
    tail_fuse: bool = False
    never_enters: tuple[str, ...] = ()  # module types whose inlets do not take its tail


@dataclass(frozen=True)
class M:
    """A module type: rows as "8F", "4C single", "4E stud", with an ampere limit as "8F strip 20"."""

    rows: tuple[str, ...] = ()
    sockets: Mapping[str, int] = field(default_factory=dict)
    bays: int = 1
    limit_a: float | None = None
    stud_limit_a: float = LARGE_A
    price: int = 0
    stock: int | None = None


@dataclass(frozen=True)
class P:
    """A panel: bays there is room for, and the carriers allowed."""

    max_bays: int = 10
    carriers: tuple[str, ...] = ()
