"""
Small random vehicles with everything at once, by seed: feed trees, relays, load cases, two panels, wishes, own goals.

Built on the vehicles that timings are measured on (``tests/benchmarks/vehicles.py``), so that loads, feeds and modules
have a common mix; what those leave out (bonds of every level, pins, hot ways, tolerances and caps) is drawn here.
"""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from allocator.sizing.sized import Sized
from tests.benchmarks.vehicles import arguments
from tests.builders import build_sized
from tests.specs import A, F, P

SIZES = (3, 4, 5, 6, 7, 8, 10, 12, 15)
WEIGHTS = (30, 22, 16, 12, 8, 6, 3, 2, 1)
LEVELS = ("feed", "row", "module", "panel")
OBJECTIVES: tuple[tuple[Any, ...], ...] = (
    ("carriers", "bays", "strip-pieces", "price"),
    ("bays", {"goal": "strip-pieces", "tolerance": 1}, "peak-utilisation", "price"),
    ("price", "bays", "peak-utilisation"),
    ("panels", "footprint", "long-jumpers", "wire-length"),
    ("strip-pieces", {"goal": "price", "tolerance": "5 %"}, "copper"),
    ("bays", "spare-ways", "strip-pieces"),
)


def random_vehicle(seed: int) -> Sized:
    """Return a vehicle; most have a plan, but none is made so that it must."""
    draw = random.Random(f"everything-{seed}")
    size = draw.choices(SIZES, WEIGHTS)[0]
    panels = ("cab", "body") if draw.random() < 0.35 else ("panel",)
    found = arguments(size, seed, tight=draw.random() < 0.6, panels=panels)
    found["panels"] = dict.fromkeys(panels, P(max_bays=draw.randint(3, 5)))
    circuits: dict[str, A] = dict(found["circuits"])
    found["feeds"] = {name: _feed(draw, feed) for name, feed in found["feeds"].items()}
    if draw.random() < 0.25:
        name = draw.choice(sorted(circuits))
        panel = draw.choice(circuits[name].panels or panels)
        pin = draw.choice((panel, f"{panel}/1", f"{panel}/2"))
        circuits[name] = replace(circuits[name], pin=pin, panels=())
    levels = LEVELS if len(panels) > 1 else LEVELS[:3]
    for wish in ("apart", "together"):
        if draw.random() < 0.3:
            first, second = sorted(draw.sample(sorted(circuits), 2))
            found[wish] = [*found.get(wish, ()), ((first, second), draw.choice(levels))]
    if draw.random() < 0.15:
        found |= {"hot_share": "60 %", "hot_from": draw.choice(("5 A", "8 A"))}
    if draw.random() < 0.15:
        found["relay_beside_fuse_from"] = "15 A"
    if draw.random() < 0.4:
        found["one_piece_per_feed_and_row"] = True
    if draw.random() < 0.3:
        found["goals"] = draw.choice(OBJECTIVES)
    if draw.random() < 0.3:
        found["coil_ma"] = {"micro": 150, "standard": 180, "heavy": 350}
    return build_sized(**(found | {"circuits": circuits}))


def _feed(draw: random.Random, feed: F) -> F:
    """Return a feed that may be live with the key only, or whose tails may have fuses of their own."""
    kind = "ignition" if feed.source is None and draw.random() < 0.3 else feed.kind
    return replace(feed, kind=kind, tail_fuse=feed.tail_fuse or (feed.source is None and draw.random() < 0.1))
