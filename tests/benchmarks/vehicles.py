"""
Realistic random vehicles of any size, by seed: what the timings of docs/benchmarks.md are measured on.

The mix of loads, feeds, relays, separations and load cases follows common practice (no source); the seeds are 0, 1,
2, ... Comes in as a size and a seed; goes out as a ``Sized``, built without files. Above 200 circuits a vehicle has two
panels, because one would need more bays than a panel may have.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized

LOADS_A = (0.5, 1, 1.5, 2, 2.5, 3, 4, 4.2, 5, 5.5, 6, 7.5, 8, 9.2, 10, 12, 14, 16, 18, 22)
WEIGHTS = (10, 9, 8, 9, 8, 8, 8, 6, 6, 5, 5, 5, 4, 4, 4, 3, 2, 2, 1, 1)
CASES = ("day", "night", "work", "parked")
MOST_BAYS = 60
ONE_PANEL = 200
"""Circuits up to which a vehicle has one panel."""
STRIP_LIMIT_A = 70
LARGEST_FEED_A = 440
"""What the thickest wire of the tests' catalogue carries, and more than one feed of a vehicle has."""
TIGHT = {
    "twin-7": M(("7F strip", "7F strip"), limit_a=120, price=2150),
    "duo-5-4": M(("5F strip", "4C strip"), limit_a=110, price=1890),
    "bar-6": M(("6C strip",), limit_a=100, price=1240),
    "mixed-4": M(("6F strip",), sockets={"micro": 3}, limit_a=80, price=1975),
    "relay-8": M(sockets={"micro": 8}, price=2080),
    "relay-5": M(sockets={"standard": 5}, price=1655),
    "heavy-2": M(("3C strip",), sockets={"heavy": 2}, limit_a=100, price=1730),
    "wide-9": M(("9F strip", "9F strip", "6C strip"), bays=2, limit_a=200, price=4120),
}
LOOSE = {name: module for name, module in TIGHT.items() if name in ("twin-7", "bar-6", "mixed-4", "relay-5", "heavy-2")}
PRICES = {"frame-3": 1450, "frame-4": 1820, "frame-6": 2490, "mount-1": 700, "mount-2": 1080} | {
    "strip": 400,
    "inlet": 55,
    "tab": 21,
}


def vehicle(num_circuits: int, seed: int, **departing: Any) -> Sized:
    """Return a random vehicle with so many circuits; equal arguments, those of ``arguments``, give equal vehicles."""
    return build_sized(**arguments(num_circuits, seed, **departing))


def arguments(
    num_circuits: int,
    seed: int,
    *,
    tight: bool = True,
    num_feeds: int | None = None,
    modules: Mapping[str, M] | None = None,
    cases: Sequence[str] = CASES,
    panels: tuple[str, ...] = (),
) -> dict[str, Any]:
    """
    Return what ``build_sized`` makes a random vehicle of.

    ``tight`` chooses the catalogue of eight module types, else that of five; ``num_feeds``, ``modules`` and ``cases``
    depart from the usual vehicle of that size, to see what each of them costs; ``panels`` names them where the size is
    not to decide.
    """
    name = f"{num_circuits}-{seed}-{tight}"
    draw, where = random.Random(name), random.Random(f"{name}-panels")
    panels = panels or (("panel",) if num_circuits <= ONE_PANEL else ("cab", "body"))
    usual = min(12, max(4, num_circuits // 14 + draw.randint(2, 4)))
    feeds = _feeds(draw, where, num_circuits, num_feeds or usual, panels)
    circuits = _circuits(draw, where, num_circuits, feeds, panels, cases)
    return {
        "circuits": circuits,
        "feeds": feeds,
        "modules": modules or (TIGHT if tight else LOOSE),
        "panels": dict.fromkeys(panels, P(max_bays=min(MOST_BAYS, max(8, num_circuits // 3)))),
        "carriers": {"frame-3": 3, "frame-4": 4, "frame-6": 6, "mount-1": 1, "mount-2": 2},
        "cases": cases,
        "strip_limit_a": STRIP_LIMIT_A,
        "feed_loading": 90,
        "prices": PRICES,
        "spares": [{"fuse_format": "F", "count": max(1, num_circuits // 20)}, {"fuse_format": "C", "count": 1}],
        "apart": _apart(draw, circuits),
    }


def _feeds(
    draw: random.Random, where: random.Random, num_circuits: int, number: int, panels: tuple[str, ...]
) -> dict[str, F]:
    """Draw the feeds; about three in ten of those after the third branch from the first one."""
    per_feed_a = 3.2 * num_circuits / number
    feeds: dict[str, F] = {}
    for index in range(number):
        rating = draw.choice((1.3, 1.5, 1.8)) * per_feed_a + 30
        if index >= 3 and draw.random() < 0.3:
            branch_a = round(0.7 * rating) if len(panels) == 1 else min(round(0.7 * rating), STRIP_LIMIT_A)
            feeds[f"feed-{index}"] = F(
                branch_a, source="feed-0", fuse="C", relay="heavy", home=where.choice(panels) if panels[1:] else None
            )
        else:
            feeds[f"feed-{index}"] = F(round(rating))
    feeds["feed-0"] = F(min(LARGEST_FEED_A, round(per_feed_a * (3 + number / 3)) + 60))
    return feeds


def _circuits(
    draw: random.Random,
    where: random.Random,
    number: int,
    feeds: dict[str, F],
    panels: tuple[str, ...],
    every_case: Sequence[str],
) -> dict[str, A]:
    """Draw the circuits; a fifth to a third of them have a relay of their own."""
    relay_share = draw.uniform(0.2, 0.35)
    circuits: dict[str, A] = {}
    for index in range(number):
        load = draw.choices(LOADS_A, WEIGHTS)[0]
        accepted = tuple(sorted(draw.sample(list(feeds), min(len(feeds), draw.choice((1, 1, 2, 2, 3, 4))))))
        formats = ("C",) if load > 12 else draw.choice((("F",), ("F",), ("C", "F"), ("C", "F"), ("C",)))
        relays: tuple[str, ...] = ()
        if draw.random() < relay_share:
            relays = ("heavy",) if load > 16 else draw.choice((("micro", "standard"), ("micro",), ("standard",)))
        cases = tuple(case for case in every_case if draw.random() < 0.6) or tuple(every_case)
        at: tuple[str, ...] = ()
        if panels[1:]:
            at = where.choice((*((panel,) for panel in (*panels, *panels)), panels))
            if all(feeds[feed].source for feed in accepted):  # a branch cannot carry all of a large vehicle's share
                accepted = ("feed-1", *accepted)
        circuits[f"c{index:03d}"] = A(load, feeds=accepted, formats=formats, relays=relays, cases=cases, panels=at)
    return circuits


def _apart(draw: random.Random, circuits: dict[str, A]) -> list[tuple[tuple[str, str], str]]:
    """Draw a pair to be kept apart for every twenty circuits."""
    apart = []
    for _ in range(len(circuits) // 20):
        first, second = sorted(draw.sample(list(circuits), 2))
        level = draw.choice(("feed", "row", "module"))
        both = set(circuits[first].feeds) | set(circuits[second].feeds)
        if level != "feed" or len(both) > 1:
            apart.append(((first, second), level))
    return apart
