"""
Panels built backwards: rows are filled to the last way, one feed each, and then everything is shuffled.

Comes in as a kind, a number of circuits and a seed; goes out as a ``Sized`` with the values that no plan can be below,
because plain counting says so (``counting.py`` counts anew), and that the arrangement it was built from has.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized

GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
CARRIERS = {"frame-6": 6, "frame-4": 4, "mount-1": 1}
LOADS_A = (1, 2, 2.5, 3, 4, 5, 6, 7.5, 9, 11)
CASES = ("day", "night", "work")


@dataclass(frozen=True)
class Planted:
    """A panel with its optimum."""

    name: str
    sized: Sized
    optimum: Mapping[Goal, int]


@dataclass
class _Panel:
    """What a kind of panel is made of, before it is shuffled."""

    draw: random.Random
    modules: dict[str, M]
    optimum: dict[Goal, int] = field(default_factory=lambda: dict.fromkeys(GOALS, 0))
    rows: list[tuple[str, list[A]]] = field(default_factory=list)
    """Feed and circuits of every row."""
    extras: dict[str, Any] = field(default_factory=dict)

    def fill(self, module: str, number: int) -> None:
        """Fill so many modules of a type to the last way, every row on a feed of its own choice."""
        spec = self.modules[module]
        for _ in range(number):
            for text in spec.rows:
                ways, letter = text.split()[0][:-1], text.split()[0][-1]
                self.rows.append(("", [A(self.draw.choice(LOADS_A), formats=(letter,)) for _ in range(int(ways))]))
        self.optimum["bays"] += number * spec.bays
        self.optimum["module-types"] += 1
        self.optimum["strip-pieces"] += number * len(spec.rows)

    def sockets(self, module: str, number: int) -> None:
        """Give relays to circuits without one until so many modules of a type are full."""
        (relay_class, count), *_ = self.modules[module].sockets.items()
        bare = [(row, index) for row, (_, held) in enumerate(self.rows) for index, a in enumerate(held) if not a.relays]
        for row, index in self.draw.sample(bare, number * count):
            self.rows[row][1][index] = replace(self.rows[row][1][index], relays=(relay_class,))
        if not self.modules[module].rows:
            self.optimum["bays"] += number
            self.optimum["module-types"] += 1

    def deal_feeds(self, number: int) -> None:
        """Give every feed at least one row."""
        feeds = [f"feed-{index}" for index in range(number)]
        dealt = [*feeds, *(self.draw.choice(feeds) for _ in range(len(self.rows) - number))]
        self.draw.shuffle(dealt)
        self.rows = [(feed, held) for feed, (_, held) in zip(dealt, self.rows, strict=True)]

    def loads(self, case: str | None = None) -> Iterator[tuple[str, float]]:
        """Yield feed and load of every row, in one case or in all together."""
        for feed, held in self.rows:
            yield feed, sum(a.load_a for a in held if case is None or not a.cases or case in a.cases)


def _width(draw: random.Random, rows: int, num_circuits: int, widths: Sequence[int]) -> int:
    """Return the width of a row for which whole modules of so many rows hold just so many circuits."""
    return draw.choice([width for width in widths if num_circuits % (width * rows) == 0])


def _one_type(draw: random.Random, num_circuits: int) -> _Panel:
    """Twin rows of one width; what else is on offer is narrower."""
    width = _width(draw, 2, num_circuits, (10, 8, 7, 6, 5))
    modules = {
        "twin": M((f"{width}F", f"{width}F"), price=2100),
        "duo": M((f"{width - 1}F", f"{width - 2}F"), price=1500),
        "bar": M((f"{width}F",), price=1100),
    }
    panel = _Panel(draw, modules)
    panel.fill("twin", num_circuits // (2 * width))
    return panel


def _two_formats(draw: random.Random, num_circuits: int) -> _Panel:
    """Two types, one for each format."""
    bars = max(2, num_circuits // 20)
    width = 6 if (num_circuits - 4 * bars) % 12 == 0 else 5
    while (num_circuits - 4 * bars) % (2 * width):
        bars += 1
    modules = {
        "twin": M((f"{width}F", f"{width}F"), price=2100),
        "bar": M(("4C",), price=1250),
        "mixed": M(("3F", "2C"), price=1300),
    }
    panel = _Panel(draw, modules)
    panel.fill("twin", (num_circuits - 4 * bars) // (2 * width))
    panel.fill("bar", bars)
    return panel


def _with_relays(draw: random.Random, num_circuits: int) -> _Panel:
    """Rows of one width, and as many relays of two classes as fill whole socket modules."""
    panel = _one_type(draw, num_circuits)
    panel.modules |= {"relay-8": M(sockets={"micro": 8}, price=2000), "relay-5": M(sockets={"standard": 5}, price=1600)}
    panel.sockets("relay-8", max(1, num_circuits // 50))
    panel.sockets("relay-5", max(1, num_circuits // 40))
    return panel


def _mixed(draw: random.Random, num_circuits: int) -> _Panel:
    """Modules of a row and three sockets each; rows and sockets apart would take more bays."""
    width = _width(draw, 1, num_circuits, (8, 7, 6, 5))
    modules = {
        "mixed": M((f"{width}F",), sockets={"micro": 3}, price=1900),
        "bar": M((f"{width - 2}F",), price=900),
        "relay-3": M(sockets={"micro": 3}, price=800),
    }
    panel = _Panel(draw, modules)
    panel.fill("mixed", num_circuits // width)
    panel.sockets("mixed", num_circuits // width)
    return panel


def _with_choices(draw: random.Random, num_circuits: int) -> _Panel:
    """Rows of one width; most circuits accept other feeds as well."""
    panel = _one_type(draw, num_circuits)
    panel.extras["choices"] = 3
    return panel


def _tight_pieces(draw: random.Random, num_circuits: int) -> _Panel:
    """Rows of one width; a strip piece carries just the fullest row."""
    panel = _one_type(draw, num_circuits)
    panel.extras["strip_limit_a"] = max(load for _, load in panel.loads())
    return panel


def _tight_modules(draw: random.Random, num_circuits: int) -> _Panel:
    """Circuits run in some cases only, feeds may be chosen, and a module carries just the fullest one in any case."""
    panel = _with_choices(draw, num_circuits)
    for _, held in panel.rows:
        held[:] = [replace(a, cases=tuple(draw.sample(CASES, draw.randint(1, 3)))) for a in held]
    loads = [[load for _, load in panel.loads(case)] for case in CASES]
    limit = max(first + second for case in loads for first, second in zip(case[::2], case[1::2], strict=True))
    panel.modules = {name: replace(module, limit_a=limit) for name, module in panel.modules.items()}
    panel.extras["cases"] = CASES
    return panel


def _wide(draw: random.Random, num_circuits: int) -> _Panel:
    """Modules of two bays and three rows, beside narrower ones of one bay."""
    width = _width(draw, 4, num_circuits, (8, 7, 6, 5, 4))
    modules = {
        "wide": M((f"{width}F", f"{width}F", f"{width}F", f"{width}F"), bays=2, price=3900),
        "bar": M((f"{width}F", f"{width - 1}F"), price=1200),
    }
    panel = _Panel(draw, modules)
    panel.fill("wide", num_circuits // (4 * width))
    return panel


KINDS: Mapping[str, Callable[[random.Random, int], _Panel]] = {
    "one-type": _one_type,
    "two-formats": _two_formats,
    "relays": _with_relays,
    "mixed": _mixed,
    "choices": _with_choices,
    "tight-pieces": _tight_pieces,
    "tight-modules": _tight_modules,
    "wide": _wide,
}
SIZES = (40, 48, 60, 80, 96, 112, 140, 160)
"""Circuits; each fills whole modules of every kind."""


def planted(kind: str, num_circuits: int, seed: int = 0) -> Planted:
    """Return a panel of a kind with its optimum; equal arguments give equal panels."""
    draw = random.Random(f"{kind}-{num_circuits}-{seed}")
    panel = KINDS[kind](draw, num_circuits)
    panel.deal_feeds(min(12, max(3, len(panel.rows) // 2)))
    total: dict[str, float] = {}
    for feed, load in panel.loads():
        total[feed] = total.get(feed, 0) + load
    sized = build_sized(
        circuits=_shuffled(panel),
        feeds={feed: F(round(1.15 * total[feed]) + 1) for feed in sorted(total)},
        modules=panel.modules,
        panels={"panel": P(max_bays=min(60, panel.optimum["bays"] + 4))},
        carriers=CARRIERS,
        goals=GOALS,
        strip_limit_a=panel.extras.get("strip_limit_a", 10_000),
        cases=panel.extras.get("cases", ("always",)),
    )
    return Planted(f"{kind}-{num_circuits}-{seed}", sized, panel.optimum)


def every_planted() -> Iterator[Planted]:
    """Yield every kind in every size."""
    for kind in KINDS:
        for size in SIZES:
            yield planted(kind, size)


def _shuffled(panel: _Panel) -> dict[str, A]:
    """Return the circuits under names that say nothing of their rows, each on its feed and perhaps on others."""
    feeds = sorted({feed for feed, _ in panel.rows})
    circuits = []
    for feed, held in panel.rows:
        for circuit in held:
            others = panel.draw.sample(feeds, panel.draw.randint(0, min(len(feeds), panel.extras.get("choices", 0))))
            circuits.append(replace(circuit, feeds=tuple(sorted({feed, *others}))))
    panel.draw.shuffle(circuits)
    return {f"c{number:03d}": circuit for number, circuit in enumerate(circuits)}
