"""
Panels whose optimum lies above every counting bound: the rest must be proven by search.

Comes in as a kind and a seed; goes out as a ``Sized`` that ``tests/oracles/milp.py`` (HiGHS) knows, too. ``SEEDS``
names the panels of which that solver and ``counting.py`` say that some level is above its counting bound.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized
from tests.oracles.milp import LEVELS


def _fragments(draw: random.Random) -> dict[str, Any]:
    """Rows of one width, all full: some feed must be cut up once more than its ways ask for."""
    width = draw.choice((4, 5, 6))
    num_feeds, rows = draw.choice(((4, 4), (5, 5), (5, 6), (6, 6)))
    sizes = [1] * num_feeds
    for _ in range(rows * width - num_feeds):
        sizes[draw.randrange(num_feeds)] += 1
    return {
        "circuits": _circuits(draw, sizes),
        "feeds": {f"feed-{index}": F(100) for index in range(num_feeds)},
        "modules": {"row": M((f"{width}F",))},
        "panels": {"panel": P(rows)},
    }


def _two_widths(draw: random.Random) -> dict[str, Any]:
    """Modules with a long and a short row: how many feeds fit is not what their ways say."""
    long, short = draw.choice(((5, 3), (6, 4), (7, 4)))
    modules = draw.choice((3, 4))
    num_feeds = draw.choice((5, 6, 7))
    sizes = [1] * num_feeds
    for _ in range(modules * (long + short) - num_feeds):
        sizes[draw.randrange(num_feeds)] += 1
    return {
        "circuits": _circuits(draw, sizes),
        "feeds": {f"feed-{index}": F(100) for index in range(num_feeds)},
        "modules": {"duo": M((f"{long}F", f"{short}F"))},
        "panels": {"panel": P(modules)},
    }


def _loads(draw: random.Random) -> dict[str, Any]:
    """Loads that would fill modules to the last per cent, if only they went together: one more module is needed."""
    modules, limit = draw.choice((3, 4)), 50
    loads: list[int] = []
    while not 0.99 * modules * limit <= sum(loads) <= modules * limit:
        loads = [draw.randint(13, 20) for _ in range(3 * modules)]
    circuits = {
        f"c{index:02d}": A(load, feeds=("feed-0", "feed-1")[: draw.choice((1, 2))]) for index, load in enumerate(loads)
    }
    return {
        "circuits": circuits,
        "feeds": {"feed-0": F(200), "feed-1": F(200)},
        "modules": {"row": M(("4F",), limit_a=limit)},
        "panels": {"panel": P(len(loads))},
    }


def _with_relays(draw: random.Random) -> dict[str, Any]:
    """Full rows of one width, with relays in modules of their own and circuits that accept two feeds."""
    panel = _fragments(draw)
    names = list(panel["feeds"])
    for name, circuit in panel["circuits"].items():
        relays = draw.choice((("micro",), (), ()))
        feeds = circuit.feeds if draw.random() < 0.8 else tuple(sorted({*circuit.feeds, draw.choice(names)}))
        panel["circuits"][name] = replace(circuit, relays=relays, feeds=feeds)
    sockets = sum(bool(circuit.relays) for circuit in panel["circuits"].values())
    panel["modules"]["relay-4"] = M(sockets={"micro": 4})
    panel["panels"] = {"panel": P(panel["panels"]["panel"].max_bays + -(-sockets // 4))}
    return panel


def _circuits(draw: random.Random, sizes: list[int]) -> dict[str, A]:
    feeds = [f"feed-{index}" for index, size in enumerate(sizes) for _ in range(size)]
    draw.shuffle(feeds)
    return {f"c{index:02d}": A(draw.choice((1, 2, 3)), feeds=(feed,)) for index, feed in enumerate(feeds)}


KINDS: Mapping[str, Callable[[random.Random], dict[str, Any]]] = {
    "fragments": _fragments,
    "two-widths": _two_widths,
    "loads": _loads,
    "relays": _with_relays,
}
SEEDS: Mapping[str, tuple[int, ...]] = {
    "fragments": (1, 3, 4, 9, 10, 11, 13, 14, 18, 23),
    "two-widths": (0, 1, 2, 3, 4, 5, 6, 7, 9, 10),
    "loads": (4, 5, 6, 10, 25, 33, 43, 55),
    "relays": (0, 2, 3, 4, 6, 8, 9, 10, 12, 15),
}


def beyond(kind: str, seed: int) -> Sized:
    """Return a panel; equal arguments give equal panels."""
    arguments = KINDS[kind](random.Random(f"{kind}-{seed}"))
    return build_sized(**arguments, goals=LEVELS, one_piece_per_feed_and_row=True)


def every_beyond() -> Iterator[tuple[str, Sized]]:
    """Yield every panel of ``SEEDS`` with its name."""
    for kind, seeds in SEEDS.items():
        for seed in seeds:
            yield f"{kind}-{seed}", beyond(kind, seed)
