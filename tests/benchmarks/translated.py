"""
The open data as panels: one function a family, each of which says a published problem in circuits, feeds and modules.

Comes in as one instance of ``data/``; goes out as a ``Case``: the panel that ``allocate()`` is given, and the value of
every goal that is known. One unit of an instance is one milliampere unless stated.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import Any

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized

DATA = Path(__file__).parent / "data"
Instance = Mapping[str, Any]
Best = dict[Goal, Fraction]
LARGEST_FEED_A = 440
"""What the wire of the tests' catalogue carries; no family comes near it but ``hard`` of the bin packing."""
ONE_BAY = {"mount": 1}


@dataclass(frozen=True)
class Case:
    """A panel with what is known of it; ``best`` is None where no plan exists."""

    name: str
    sized: Sized
    best: Best | None


def instances(file: str) -> list[Instance]:
    """Read all instances of a file of the data."""
    text = (DATA / file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines())) if file.endswith(".csv") else json.loads(text)


def bin_packing(instance: Instance) -> Case:
    """Items are circuits on one feed in one long row, a bin is a strip piece with its ampere limit."""
    sizes = [int(size) for size in instance["sizes"].split()]
    sized = build_sized(
        circuits={f"item-{index:03d}": A(size / 1000) for index, size in enumerate(sizes)},
        feeds={"feed": F(LARGEST_FEED_A)},
        modules={"row": M((f"{len(sizes)}F",))},
        panels={"panel": P(1)},
        strip_limit_a=int(instance["capacity"]) / 1000,
        goals=("strip-pieces",),
    )
    return Case(instance["id"], sized, {"strip-pieces": Fraction(instance["optimum"])})


def variable_sized(instance: Instance) -> Case:
    """Items are circuits, a bin is a module of one long row with its ampere limit and price."""
    items = instance["items"]
    sized = build_sized(
        circuits={f"item-{index:03d}": A(size / 1000) for index, size in enumerate(items)},
        feeds={"feed": F(LARGEST_FEED_A)},
        modules={
            f"bin-{capacity}": M((f"{len(items)}F",), limit_a=capacity / 1000, price=cost)
            for capacity, cost in instance["bins"]
        },
        panels={"panel": P(len(items))},
        carriers=ONE_BAY,
        goals=("price",),
    )
    return Case(instance["id"], sized, {"price": Fraction(instance["optimum"])})


def class_constrained(instance: Instance) -> Case:
    """
    Classes are feeds, a bin is a module with its ampere limit.

    That a bin takes few classes is said by module types: one for every set of so many feeds, whose inlets take the
    tails of these feeds and no others.
    """
    classes = sorted(set(instance["classes"]))
    sets = list(combinations(classes, min(instance["max_classes"], len(classes))))
    types = {"bin-" + "-".join(map(str, some)): some for some in sets}
    sized = build_sized(
        circuits={
            f"item-{index:03d}": A(size / 1000, feeds=(f"feed-{of}",))
            for index, (size, of) in enumerate(zip(instance["sizes"], instance["classes"], strict=True))
        },
        feeds={
            f"feed-{of}": F(LARGEST_FEED_A, never_enters=tuple(name for name, some in types.items() if of not in some))
            for of in classes
        },
        modules={name: M((f"{len(instance['sizes'])}F",), limit_a=instance["capacity"] / 1000) for name in types},
        panels={"panel": P(instance["first_fit"])},
        carriers=ONE_BAY,
        goals=("bays",),
    )
    return Case(instance["id"], sized, {"bays": Fraction(instance["optimum"])})


def strip_pieces(instance: Instance) -> Case:
    """Feeds with so many circuits, rows of one width."""
    ways = instance["ways_per_feed"]
    sized = build_sized(
        circuits={
            f"way-{feed:02d}-{index:02d}": A(1, feeds=(f"feed-{feed}",))
            for feed, number in enumerate(ways)
            for index in range(number)
        },
        feeds={f"feed-{feed}": F(100) for feed in range(len(ways))},
        modules={"row": M((f"{instance['row_width']}F",))},
        panels={"panel": P(instance["rows"])},
        carriers=ONE_BAY,
        goals=("strip-pieces",),
    )
    return Case(instance["id"], sized, {"strip-pieces": Fraction(instance["optimum"])})


def feed_balance(instance: Instance) -> Case:
    """Loads are circuits, machines are feeds; one row is wide enough for all."""
    loads = instance["loads"]
    sized = build_sized(
        circuits={
            f"load-{index:02d}": A(load / 1000, feeds=tuple(f"feed-{feed}" for feed in accepts))
            for index, (load, accepts) in enumerate(zip(loads, instance["accepts"], strict=True))
        },
        feeds={f"feed-{feed}": F(1) for feed in range(instance["feeds"])},
        modules={"row": M((f"{len(loads)}F",))},
        panels={"panel": P(1)},
        goals=("peak-utilisation",),
    )
    return Case(instance["id"], sized, {"peak-utilisation": Fraction(instance["optimum_peak"], 1000)})


def racks(instance: Instance) -> Case:
    """Cards are circuits, a rack is a module with its ampere limit, ways and price."""
    sized = build_sized(
        circuits={
            f"card-{card['power']:03d}-{index:02d}": A(card["power"] / 1000)
            for card in instance["cards"]
            for index in range(card["count"])
        },
        feeds={"feed": F(LARGEST_FEED_A)},
        modules={
            f"rack-{model['power']}": M(
                (f"{model['connectors']}F",), limit_a=model["power"] / 1000, price=model["price"]
            )
            for model in instance["models"]
        },
        panels={"panel": P(instance["racks_available"])},
        carriers=ONE_BAY,
        goals=("price", "bays"),
    )
    best: Best = {
        "price": Fraction(instance["optimum_price"]),
        "bays": Fraction(instance["fewest_racks_at_that_price"]),
    }
    return Case(instance["id"], sized, best)


def vector_as_asked(instance: Instance) -> Case:
    """Into as many bins as the instance has: is there a plan?"""
    return _vector(instance, instance["bins"])


def vector_fewest(instance: Instance) -> Case:
    """Into as few bins as will do."""
    return _vector(instance, instance["fewest_bins"])


def vector_one_less(instance: Instance) -> Case:
    """Into one bin less than will do: no plan."""
    return _vector(instance, instance["fewest_bins"] - 1)


def _vector(instance: Instance, bins: int) -> Case:
    """
    Measures are load cases, a bin is a module; an item is a circuit for each measure, all together in one module.

    A module has one limit for all load cases. Where a measure has a smaller capacity, a filler in every module makes up
    for it: there are as many fillers of a measure as modules, and no two of them may share one.
    """
    items, capacity, largest = instance["items"], instance["capacity"], max(instance["capacity"])
    measures = range(len(capacity))
    circuits = {
        f"item-{index:02d}-{measure}": A(item[measure] / 1000, cases=(f"measure-{measure}",))
        for index, item in enumerate(items)
        for measure in measures
        if item[measure]
    }
    fillers = {
        measure: [f"filler-{index}-{measure}" for index in range(bins)]
        for measure in measures
        if capacity[measure] < largest
    }
    for measure, names in fillers.items():
        filler = A((largest - capacity[measure]) / 1000, cases=(f"measure-{measure}",))
        circuits |= dict.fromkeys(names, filler)
    sized = build_sized(
        circuits=circuits,
        feeds={"feed": F(LARGEST_FEED_A)},
        modules={"bin": M((f"{len(circuits)}F",), limit_a=largest / 1000)},
        panels={"panel": P(bins)},
        carriers=ONE_BAY,
        cases=[f"measure-{measure}" for measure in measures],
        goals=("bays",),
        together=[
            (tuple(name for name in circuits if name.startswith(f"item-{index:02d}-")), "module")
            for index in range(len(items))
        ],
        apart=[(tuple(names), "module") for names in fillers.values()] if bins > 1 else (),
    )
    fits = bins >= instance["fewest_bins"]
    return Case(f"{instance['id']} into {bins}", sized, {"bays": Fraction(bins)} if fits else None)


@dataclass(frozen=True)
class Family:
    """A file of the data, its translations, and the part of the model that bears the load."""

    file: str
    translations: tuple[Callable[[Instance], Case], ...]
    functions: str


FAMILIES: Mapping[str, Family] = {
    "bin packing": Family("bin_packing.csv", (bin_packing,), "`solving.splitting.split`, `solving.packing.pack`"),
    "variable-sized bin packing": Family(
        "variable_sized.json", (variable_sized,), "`solving.module_fillings`, `model.fillings`"
    ),
    "class-constrained bin packing": Family(
        "class_constrained.json", (class_constrained,), "`solving.module_fillings`, `model.fillings`"
    ),
    "strip pieces": Family("strip_pieces.json", (strip_pieces,), "`model.tallies`, `solving.grouping`"),
    "feed balance": Family("feed_balance.json", (feed_balance,), "`model.balance.build_balance`"),
    "racks": Family("racks.json", (racks,), "`model.placing`, `model.prices`"),
    "vector bin packing": Family(
        "vector_feasibility.json", (vector_as_asked, vector_fewest, vector_one_less), "`model.currents`, `model.bonds`"
    ),
}
