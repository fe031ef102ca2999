"""
Small panels for tests, built straight into the sizing table: no files are read and no engineering sums are done.

Comes in as a few keyword arguments; goes out as a complete ``Sized`` whose requirements validate. Extras (carriers,
terminals, wires, fuses, ...) cost nothing and bind nothing unless a test says so.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from allocator.requirements.catalogue import Catalogue, Module
from allocator.requirements.scenario import DEFAULT_GOALS, Requirements, Scenario
from allocator.requirements.vehicle import Feed
from allocator.sizing.sized import Cut, Entry, MainFuse, Need, Option, Sized, SizedFeed, Tail, supply_groups
from allocator.units import limit_to_model, to_model
from tests.specs import LARGE_A, A, F, M, P
from tests.tables import (
    CLASSES,
    RELAY_TABS,
    catalogue_table,
    circuit_row,
    main_fuse_id,
    relay_id,
    scenario_table,
    tail_fuse_id,
)

__all__ = ["MINI_PANELS", "A", "F", "M", "P", "build_sized", "mini_panel"]

MINI_PANELS: Sequence[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "data" / "packing" / "mini_panels.json").read_text(encoding="utf-8")
)


def build_sized(
    *,
    circuits: Mapping[str, A],
    modules: Mapping[str, M],
    feeds: Mapping[str, F],
    panels: Mapping[str, P] | None = None,
    carriers: Mapping[str, int] | None = None,
    cases: Sequence[str] = ("always",),
    strip_limit_a: float = LARGE_A,
    feed_loading: float = 100,
    coil_ma: Mapping[str, int] | None = None,
    prices: Mapping[str, int] | None = None,
    accessories: Sequence[Mapping[str, Any]] = (),
    stud_stack: int = 4,
    goals: Sequence[Any] = DEFAULT_GOALS,
    spares: Sequence[Mapping[str, Any]] = (),
    apart: Sequence[tuple[tuple[str, ...], str]] = (),
    together: Sequence[tuple[tuple[str, ...], str]] = (),
    most: Mapping[str, int] | None = None,
    one_piece_per_feed_and_row: bool = False,
    use_stock: bool = False,
    **rules: Any,
) -> Sized:
    """
    Build a sizing table and the requirements inside it.

    Parameters
    ----------
    carriers
        Bays by carrier id; none: ``carrier-1``, ``carrier-2``, ... up to the largest panel.
    coil_ma
        Coil current by relay class, mA; none: 0.
    prices
        Unit price in cents by part id, for parts that are not modules: ``carrier-3``, ``fuse-F``,
        ``relay-micro``, ``tab``, ``inlet``, ``ring``, ``wire``, ``strip`` (whole length of 20 ways), ``stud``,
        ``holder``, accessory ids.
    spares, apart, together
        As in the scenario's rules; amperes as text ("2 A").
    rules
        Other fields of the scenario's rules.

    Returns
    -------
    Sized
        With every need, entry and limit filled in.
    """
    panels = panels or {"panel": P()}
    carriers = carriers or {f"carrier-{n}": n for n in range(1, max(panel.max_bays for panel in panels.values()) + 1)}
    coils = dict.fromkeys(CLASSES, 0) | dict(coil_ma or {})
    # Twice the largest current behind any fuse of the panel: none binds, whatever its share at the ambient temperature.
    fused = [feed.rating_a for feed in feeds.values() if feed.source or feed.tail_fuse]
    rating_a = 2 * math.ceil(max([a.load_a for a in circuits.values()] + fused) + 1)
    parts = catalogue_table(
        modules, feeds, carriers, strip_limit_a, prices or {}, accessories, stud_stack, rating_a, coils
    )
    rules = {
        "loading_factor": "100 %",
        "bundle_factor": "100 %",
        "feed_loading": f"{feed_loading} %",
        "one_piece_per_feed_and_row": one_piece_per_feed_and_row,
        "use_stock": use_stock,
        "objective": goals,
        **rules,
        "modules": [{"module": module, "most": number} for module, number in (most or {}).items()],
        "spares": spares,
        "apart": [{"circuits": names, "level": level} for names, level in apart],
        "together": [{"circuits": names, "level": level} for names, level in together],
    }
    requirements = Requirements(
        scenario=Scenario.model_validate(scenario_table(panels, feeds, cases, rules, rating_a)),
        circuits=tuple(circuit_row(name, a, feeds, panels) for name, a in circuits.items()),
        catalogue=Catalogue.model_validate(parts),
    )
    scenario, catalogue = requirements.scenario, requirements.catalogue
    return Sized(
        requirements=requirements,
        needs=(
            *_circuit_needs(requirements, circuits, feeds, coils, rating_a),
            *_feed_needs(requirements, feeds, coils, rating_a),
            *_spare_needs(requirements),
        ),
        feeds={feed.name: _sized_feed(feed, feeds, requirements, stud_stack) for feed in scenario.feeds},
        entries={
            (panel, module.id, group, feed.name): _entry(
                module, rows, strip_limit_a, _protection_a(feed, scenario.feeds, rating_a)
            )
            for panel in panels
            for module in catalogue.modules
            for group, rows in enumerate(supply_groups(module))
            for feed in scenario.feeds
            if panel in (feed.panels or panels) and module.id not in feeds[feed.name].never_enters
        },
        row_limit_ma={
            (panel, module.id, index): None if row.limit is None else limit_to_model(row.limit)
            for panel in panels
            for module in catalogue.modules
            for index, row in enumerate(module.rows)
        },
        module_limit_ma={
            (panel, module.id): None if module.limit is None else limit_to_model(module.limit)
            for panel in panels
            for module in catalogue.modules
        },
    )


def _option(
    panel: str,
    letter: str | None,
    relay_class: str | None,
    rating_a: float,
    switching: str = "relay",
    control: str | None = None,
) -> Option:
    function = "make" if switching == "relay" else switching
    relay = None if relay_class is None else relay_id(relay_class, function)
    places = [*([] if letter is None else ["way"]), *([] if relay is None else RELAY_TABS[function])]
    parts = (
        {"tab": len(places)} | ({} if letter is None else {f"fuse-{letter}": 1}) | ({} if relay is None else {relay: 1})
    )
    return Option(
        panel=panel,
        fuse_format=letter,
        relay_class=relay_class,
        fuse=None if letter is None else f"fuse-{letter}",
        fuse_rating_a=rating_a,
        relay=relay,
        wire="wire",
        wire_limit_a=LARGE_A,
        jumper_wire=None if relay is None or letter is None else "wire",
        cavities=len(places),
        parts=parts,
        wires=(Cut("wire", 100, "86", "own fuse way"),) if {"way", "86"} <= {*places} and control is None else (),
        terminal_by_designation=dict.fromkeys(places, "tab"),
    )


def _circuit_needs(
    requirements: Requirements,
    circuits: Mapping[str, A],
    feeds: Mapping[str, F],
    coils: Mapping[str, int],
    rating_a: int,
) -> list[Need]:
    cases = [case.name for case in requirements.scenario.load_cases]
    all_panels = tuple(panel.name for panel in requirements.scenario.panels)

    def load_ma(name: str, case: str) -> int:
        a = circuits[name]
        total = to_model(a.load_a) if case in (a.cases or cases) else 0
        for other, b in circuits.items():
            coil = max((coils[relay] for relay in b.relays), default=0)
            if (b.control or other) == name and case in (b.cases or cases):
                total += coil
        return total + sum(coils[feed.relay] for feed in feeds.values() if feed.relay and feed.control == name)

    return [
        Need(
            id=name,
            kind="circuit",
            label=name,
            feeds=a.feeds or tuple(feeds),
            load_ma_by_case=tuple(load_ma(name, case) for case in cases),
            options=tuple(
                _option(panel, letter, relay, rating_a, a.switching, a.control)
                for panel in a.panels or all_panels
                for letter in a.formats
                for relay in a.relays or (None,)
            ),
            pin=a.pin,
        )
        for name, a in sorted(circuits.items())
    ]


def _home(feed: F | Feed, feeds: Mapping[str, F], all_panels: Sequence[str]) -> str:
    above = feeds[str(feed.source)].panels or all_panels
    return feed.home or next(panel for panel in feed.panels or all_panels if panel in above)


def _feed_needs(
    requirements: Requirements, feeds: Mapping[str, F], coils: Mapping[str, int], rating_a: int
) -> list[Need]:
    all_panels = tuple(panel.name for panel in requirements.scenario.panels)

    return [
        Need(
            id=name,
            kind="feed",
            label=name,
            feeds=(feed.source,),
            load_ma_by_case=(coils[feed.relay] if feed.relay and not feed.control else 0,)
            * len(requirements.scenario.load_cases),
            options=(_option(_home(feed, feeds, all_panels), feed.fuse, feed.relay, rating_a, control=feed.control),),
            supplies=name,
            takes_way=feed.fuse is not None,
        )
        for name, feed in feeds.items()
        if feed.source is not None
    ]


def _spare_needs(requirements: Requirements) -> list[Need]:
    scenario = requirements.scenario
    accepted = {feed for circuit in requirements.circuits for feed in circuit.feeds}
    return [
        Need(
            id=f"spare-{rule}-{number}",
            kind="spare",
            label="spare",
            feeds=(spare.feed,) if spare.feed else tuple(feed.name for feed in scenario.feeds if feed.name in accepted),
            load_ma_by_case=(to_model(spare.reserve),) * len(scenario.load_cases),
            options=tuple(
                Option(panel, spare.fuse_format, None, None, 0.0, None, None, 0.0, None, 0)
                for panel in ([spare.panel] if spare.panel else [panel.name for panel in scenario.panels])
            ),
        )
        for rule, spare in enumerate(scenario.rules.spares, 1)
        for number in range(1, spare.count + 1)
    ]


def _sized_feed(feed: Feed, feeds: Mapping[str, F], requirements: Requirements, stud_stack: int) -> SizedFeed:
    all_panels = tuple(panel.name for panel in requirements.scenario.panels)
    panels = feed.panels or all_panels
    home = None if feed.source is None else _home(feed, feeds, all_panels)
    tail_fused = feed.tail_fuse is not None
    return SizedFeed(
        name=feed.name,
        source=feed.source,
        panels=panels,
        rating_ma=limit_to_model(feed.rating),
        allowed_ma=limit_to_model(feed.rating) * Fraction(requirements.scenario.rules.feed_loading) / 100,
        tail_protection_a=feed.rating if feed.tail_fuse is None else feed.tail_fuse,
        tail_wire="wire",
        tail_fuse="fuse-C" if tail_fused else None,
        tail_holder="holder" if tail_fused else None,
        cable_wire="wire",
        cable_mm_by_panel={name: 1000 if home is None else 400 if name == home else 2000 for name in panels},
        stud="stud",
        stud_stack=stud_stack,
        tail_ring="ring",
        cable_ring="ring",
        main=MainFuse(main_fuse_id(feed.rating), "main-holder", "ring", 0, ()) if feed.source is None else None,
    )


def _protection_a(feed: Feed, feeds: Sequence[Feed], rating_a: float) -> float:
    """Rating of what stands before a feed's tails: main fuse, tail fuse, own fuse, or what protects its source."""
    if feed.tail_fuse is not None:
        return feed.tail_fuse
    if feed.source is None:
        return feed.rating
    if feed.fuse_format is not None:
        return rating_a
    return _protection_a(next(item for item in feeds if item.name == feed.source), feeds, rating_a)


def _entry(module: Module, rows: Sequence[int], strip_limit_a: float, protection_a: float) -> Entry:
    """Return an entry with a tail fuse of its own where strip or stud carry less than what stands before them."""
    limit_ma = _entry_limit_ma(module, rows, strip_limit_a)
    rating_a = limit_ma / 1000
    fused = rating_a < protection_a
    tail = Tail("wire", "ring", tail_fuse_id(rating_a), "tail-holder", rating_a) if fused else None
    return Entry(limit_ma, _entry_terminal(module, rows), tail)


def _entry_limit_ma(module: Module, rows: Sequence[int], strip_limit_a: float) -> int:
    by_bus = {"strip": strip_limit_a, "single": LARGE_A, "stud": module.stud_limit or LARGE_A}
    return limit_to_model(by_bus[module.rows[rows[0]].bus])


def _entry_terminal(module: Module, rows: Sequence[int]) -> str:
    return {"strip": "inlet", "single": "tab", "stud": "ring"}[module.rows[rows[0]].bus]


def mini_panel(instance: Mapping[str, Any]) -> Sized:
    """Build one panel of ``data/packing/mini_panels.json``; its README says what each field means."""
    names = [feed["id"] for feed in instance["feeds"]]
    return build_sized(
        feeds={feed["id"]: F(feed["rating10"] / 10) for feed in instance["feeds"]},
        circuits={
            row["id"]: A(
                row["amps10"] / 10, feeds=tuple(names[index] for index in row["feeds"]), formats=(row["format"],)
            )
            for row in instance["circuits"]
        },
        modules={
            module["id"]: M(
                rows=tuple(f"{row['ways']}{row['format']}" for row in module["rows"]),
                bays=module["bays"],
                limit_a=instance["module_limit10"] / 10,
                price=module["price"],
            )
            for module in instance["modules"]
        },
        panels={"panel": P(max_bays=instance["max_bays"])},
        strip_limit_a=instance["strip_limit10"] / 10,
        goals=("bays", "module-types", "strip-pieces", "peak-utilisation", "price"),
        one_piece_per_feed_and_row=True,
    )
