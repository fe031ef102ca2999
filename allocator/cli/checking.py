"""
``allocator check``: a scenario folder in, the sizing table with its reasons and the cautions out. Nothing is allocated.

Requirements that sums alone refute get their sums in place of the table.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from allocator.cli.answers import Answer, faulty
from allocator.cli.statuses import NOT_KEPT
from allocator.notices import CAUTIONS
from allocator.outputs.summary import WIDTH, caution_lines, columns
from allocator.requirements import load_scenario
from allocator.sizing import Sized, size
from allocator.sizing.figures_told import figures_told
from allocator.sizing.overfull import overfull
from allocator.sizing.sized import Need, Option
from allocator.sizing.supply import quiescent, supply_cases
from allocator.units import from_model


def check(scenario: Path, variant: Path | None, *, brief: bool) -> Answer:
    """
    Validate and size a scenario.

    Parameters
    ----------
    scenario
        Folder with ``scenario.toml``.
    variant
        File of that folder that says what is other.
    brief
        Leave out the reasons.
    """
    sized = size(load_scenario(scenario, variant))
    if faults := overfull(sized):
        return faulty(faults, NOT_KEPT)
    return Answer("\n".join(_lines(sized, brief)) + "\n", _data(scenario, sized))


def _lines(sized: Sized, brief: bool) -> Iterator[str]:
    scenario, circuits = sized.requirements.scenario, sized.requirements.circuits
    yield f"{scenario.vehicle.name}: {len(circuits)} circuits, {len(scenario.feeds)} feeds, no fault found"
    yield ""
    yield "Sizing table: every choice that a plan may make"
    for need in sized.needs:
        yield from _need(sized, need, brief)
    yield ""
    yield "Feeds"
    yield from columns(list(_feed_rows(sized)), right=(2, 3))
    yield ""
    yield from _supply(sized)
    yield ""
    yield "Figures that no source confirms, or that are this vehicle's own"
    yield from columns([(figure.name, figure.value or "a table", figure.mark) for figure in figures_told(sized)])
    yield ""
    yield from caution_lines((*CAUTIONS, *(caution.text for caution in sized.cautions)))


def _need(sized: Sized, need: Need, brief: bool) -> Iterator[str]:
    peak = max(need.load_ma_by_case)
    load = f"; up to {from_model(peak):g} A" if peak else ""
    label = f" ({need.label})" if need.label != need.id else ""
    name = f"feed {need.id}" if need.kind == "feed" else need.id
    yield f"{name}{label}: on {' or '.join(need.feeds)}{load}"
    rows = list(columns([_option(sized, option) for option in need.options]))
    for option, row in zip(need.options, rows, strict=True):
        yield row
        for reason in () if brief else option.reasons:
            head = f"      {reason.step + ':':<10}"
            rest = " " * len(head)
            yield from textwrap.wrap(
                reason.text, WIDTH, initial_indent=head, subsequent_indent=rest, break_on_hyphens=False
            )


def _option(sized: Sized, option: Option) -> tuple[str, ...]:
    labels = _labels(sized)
    fuse = f"{option.fuse_rating_a:g} A {option.fuse_format}" if option.fuse else f"{option.fuse_format or 'no'} way"
    relay = labels[option.relay] if option.relay else "no relay"
    return option.panel, fuse, relay, labels[option.wire] if option.wire else "no wire"


def _labels(sized: Sized) -> Mapping[str, str]:
    catalogue = sized.requirements.catalogue
    return {part.id: part.label for part in (*catalogue.relays, *catalogue.wires)}


def _feed_rows(sized: Sized) -> Iterator[tuple[str, ...]]:
    yield "feed", "from", "rating", "allowed", "panels", "cable", "tail"
    labels = _labels(sized)
    for feed in sized.feeds.values():
        tail = labels[feed.tail_wire] + (f" behind {feed.tail_protection_a:g} A" if feed.tail_fuse else "")
        yield (
            feed.name,
            feed.source or "the supply",
            f"{from_model(feed.rating_ma):g} A",
            f"{from_model(feed.allowed_ma):g} A",
            ", ".join(feed.panels),
            labels[feed.cable_wire],
            tail,
        )


def _supply(sized: Sized) -> Iterator[str]:
    """Say what charger and battery must bear in each load case, with everything off, and in a short circuit."""
    supply, figures = sized.requirements.scenario.supply, sized.requirements.figures
    gone = f"{figures.battery_share.value:.0%} of {supply.battery_capacity:g} A h"
    yield "Supply"
    rows = [("load case", "engine", "mean", "at most", "")]
    for case in supply_cases(sized):
        if case.engine_running:
            what = f"{case.charger_share:.0%} of the charger's {supply.charger_rating:g} A"
            what += f"; up to {figures.charger_share.value:.0%} is sound"
        elif case.endurance_h is None:
            what = "nothing is drawn"
        else:
            what = f"{case.drained_ah:.3g} A h in {case.hours:g} h; {gone} gone after {case.endurance_h:.3g} h"
        engine = "runs" if case.engine_running else "off"
        rows.append((case.name, engine, f"{case.mean_a:.3g} A", f"{case.peak_a:.3g} A", what))
    yield from columns(rows, right=(2, 3))
    drain = quiescent(sized)
    days = "nothing is drawn" if drain.days is None else f"{gone} gone after {drain.days:.3g} days"
    yield f"  everything off: {drain.drain_a * 1000:.3g} mA; {days}"
    yield f"  a short circuit at a panel draws up to {supply.fault_current:g} A"


def _data(scenario: Path, sized: Sized) -> dict[str, Any]:
    return {
        "scenario": str(scenario),
        "vehicle": sized.requirements.scenario.vehicle.name,
        "load_cases": [case.name for case in sized.requirements.scenario.load_cases],
        "needs": [asdict(need) for need in sized.needs],
        "feeds": [asdict(feed) | {"allowed_ma": str(feed.allowed_ma)} for feed in sized.feeds.values()],
        "supply": {
            "cases": [asdict(case) for case in supply_cases(sized)],
            "quiescent": asdict(quiescent(sized)),
        },
        "figures": [asdict(figure) for figure in figures_told(sized)],
        "cautions": [*CAUTIONS, *(caution.text for caution in sized.cautions)],
    }
