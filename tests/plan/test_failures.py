"""What goes dark with what: by hand, and against a simulation that asks from the supply outwards what is still live."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.plan.failures import Failure, failures, shared_fates
from allocator.plan.index import PlanIndex
from allocator.plan.wiring import runs_of
from allocator.sizing.sized import InlineFuse, Sized
from tests.outputs.conftest import BUNDLED, content_of
from tests.plan.plans import small


def _with_circuits(sized: Sized, **changes: dict[str, Any]) -> Sized:
    """Return the sizing with some fields of some circuits changed; the needs stay as they are."""
    circuits = tuple(circuit.model_copy(update=changes.get(circuit.id, {})) for circuit in sized.requirements.circuits)
    return replace(sized, requirements=sized.requirements.model_copy(update={"circuits": circuits}))


def _found(**changes: dict[str, Any]) -> dict[str, Failure]:
    sized, plan = small()
    return {f"{item.kind} {item.name}": item for item in failures(PlanIndex(_with_circuits(sized, **changes), plan))}


def _dark(failure: Failure) -> list[tuple[str, ...]]:
    return [effect.dark for effect in failure.effect_by_case]


def test_every_feed_fuse_and_relay_is_looked_at_once() -> None:
    assert list(_found()) == [
        "feed battery", "feed key", "main fuse battery", "fuse fan", "fuse horn", "fuse lamp", "fuse pump", "fuse key",
        "relay pump", "relay key",
    ]  # fmt: skip


def test_a_branch_goes_with_its_source_its_fuse_and_its_relay() -> None:
    found = _found()
    assert _dark(found["feed battery"]) == [("fan", "horn", "pump"), ("fan", "lamp", "pump")]
    for name in ("feed key", "fuse key", "relay key"):
        assert _dark(found[name]) == [("fan",), ("fan", "lamp")]
    assert _dark(found["fuse horn"]) == [("horn",), ()]


def test_a_relay_whose_coil_hangs_on_a_circuit_goes_with_it() -> None:
    found = _found(pump={"control": "fan"})
    assert _dark(found["fuse fan"]) == [("fan", "pump"), ("fan", "pump")]
    assert _dark(found["relay key"]) == [("fan", "pump"), ("fan", "lamp", "pump")]
    assert _dark(found["relay pump"]) == [("pump",), ("pump",)]


def test_a_changeover_relay_falls_back_and_is_dark_only_without_its_own_supply() -> None:
    found = _found(pump={"control": "fan", "switching": "changeover", "critical": True}, fan={"critical": True})
    fan = found["fuse fan"].effect_by_case[0]
    assert (fan.dark, fan.falls_back, fan.critical_pairs) == (("fan",), ("pump",), (("fan", "pump"),))
    battery = found["feed battery"].effect_by_case[0]
    assert (battery.dark, battery.falls_back) == (("fan", "horn", "pump"), ())


def _with_coil_fuse(sized: Sized, name: str) -> Sized:
    """Return the sizing with a fuse in the lead to the coil of one need."""
    inline = InlineFuse("fuse-c-1", "holder-c")
    needs = tuple(
        replace(need, options=tuple(replace(option, coil_fuse=inline) for option in need.options))
        if need.id == name
        else need
        for need in sized.needs
    )
    return replace(sized, needs=needs)


@pytest.mark.parametrize(
    ("need", "switching", "dark", "falls_back"),
    [("pump", "relay", ("pump",), ()), ("pump", "changeover", (), ("pump",)), ("key", "relay", ("fan",), ())],
)
def test_the_fuse_in_the_lead_of_a_coil_takes_what_its_relay_switches(
    need: str, switching: str, dark: tuple[str, ...], falls_back: tuple[str, ...]
) -> None:
    sized, plan = small()
    changed = _with_circuits(_with_coil_fuse(sized, need), pump={"switching": switching})
    found = [item for item in failures(PlanIndex(changed, plan)) if item.kind == "coil fuse"]
    assert [(item.name, item.place) for item in found] == [
        (need, next(used.at for used in plan.sockets if used.need == need))
    ]
    effect = found[0].effect_by_case[0]
    assert (effect.dark, effect.falls_back) == (dark, falls_back)


def test_a_flasher_does_not_go_with_what_its_control_names() -> None:
    found = _found(pump={"control": "fan", "switching": "flasher"})
    assert _dark(found["fuse fan"]) == [("fan",), ("fan",)]


def test_critical_circuits_share_a_fate_only_in_a_case_in_which_both_run() -> None:
    found = list(_found(horn={"critical": True}, lamp={"critical": True}, fan={"critical": True}).values())
    shared = {pair: [f"{item.kind} {item.name}" for item in items] for pair, items in shared_fates(found).items()}
    assert shared == {
        ("fan", "horn"): ["feed battery", "main fuse battery"],
        ("fan", "lamp"): ["feed battery", "feed key", "main fuse battery", "fuse key", "relay key"],
    }


def _live(index: PlanIndex, failure: Failure | None) -> tuple[set[str], set[str]]:
    """Return circuits with current at 87 (or without a relay at their fuse), and those with current at 87a, by asking
    again and again what has become live."""
    requirements = index.sized.requirements
    circuits = {circuit.id: circuit for circuit in requirements.circuits}
    feeds = {feed.name: feed for feed in requirements.scenario.feeds}
    broken = (failure.kind, failure.name, failure.place) if failure else ("", "", "")
    live_feeds: set[str] = set()
    live: set[str] = set()
    at_rest: set[str] = set()
    for _ in range(2 * len(index.needs) + 2):
        for name, feed in feeds.items():
            own = index.need_by_id.get(name)
            up = feed.source is None or (own is not None and name in live)
            if up and broken not in (("feed", name, ""), ("main fuse", name, "")):
                live_feeds.add(name)
        for item in index.needs:
            name = item.need.id
            entry = index.entry_by_way.get(item.way) if item.way else None
            tail = entry.piece.at if entry else str(item.socket)
            supplied = item.feed in live_feeds and broken != ("tail fuse", item.feed, tail)
            supplied = (
                supplied and broken != ("fuse", name, str(item.way)) and broken != ("relay", name, str(item.socket))
            )
            rule = circuits.get(name) or feeds.get(name)
            coil = rule is None or rule.control is None or item.socket is None or rule.control in live
            coil = coil and broken != ("coil fuse", name, str(item.socket))
            switching = getattr(rule, "switching", "relay")
            if supplied and (coil or switching == "flasher"):
                live.add(name)
            if supplied and switching == "changeover":
                at_rest.add(name)
    return live, at_rest


@pytest.mark.parametrize("name", [*BUNDLED, "large", "wide"])
def test_what_goes_dark_is_what_a_simulation_finds_without_current(name: str) -> None:
    index = content_of(name).index
    requirements = index.sized.requirements
    whole, _ = _live(index, None)
    assert {circuit.id for circuit in requirements.circuits} <= whole
    found = failures(index)
    for failure in found:
        live, at_rest = _live(index, failure)
        for case, effect in zip(requirements.scenario.load_cases, failure.effect_by_case, strict=True):
            running = {c.id for c in requirements.circuits if not c.load_cases or case.name in c.load_cases}
            assert set(effect.dark) == running - live - at_rest, (failure.kind, failure.name)
            assert set(effect.falls_back) == (running & at_rest) - live, (failure.kind, failure.name)
    fused = {entry.piece.at for entry in index.entries if entry.piece.tail_fuse is not None}
    assert {failure.place for failure in found if failure.kind == "tail fuse"} == fused
    in_leads = {(run.need, run.start.place) for run in runs_of(index) if run.role == "wire" and run.inline is not None}
    assert {(failure.name, failure.place) for failure in found if failure.kind == "coil fuse"} == in_leads
    entered = {entry.piece.feed for entry in index.entries}
    roots = {feed.name for feed in requirements.scenario.feeds if feed.source is None}
    assert {failure.name for failure in found if failure.kind == "main fuse"} == roots & entered
