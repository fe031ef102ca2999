"""Two sets of sums, one answer: each row of the sizing table of each bundled scenario passes the checker's own sums."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from allocator.plan.plan import Piece, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements import load_scenario
from allocator.requirements.catalogue import Module
from allocator.sizing import size
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from allocator.verifying import Finding, verify

SCENARIOS = sorted(path.parent for path in (Path(__file__).parents[2] / "scenarios").glob("*/scenario.toml"))
BY_PLACE = {
    "way-exists", "one-need-per-way", "format-matches", "panel-accepted", "feed-accepted", "feed-reaches-panel",
    "key-out", "fuse-protects-wire", "wire-withstands-fault", "drop-within-limit", "fuse-carries-load",
    "terminal-fits", "stud-fits", "inline-fuse", "wires-as-stated",
    "cable-lengths", "as-sized",
    "piece-exists", "pieces-apart", "way-is-fed", "one-feed-per-piece", "tail-fits", "inlet-protected", "socket-exists",
    "one-relay-per-socket", "class-matches", "relay-in-panel", "relay-carries-load",
}  # fmt: skip
"""Rules that look at a need where it is, not at what is beside it."""


@cache
def _sized(folder: Path) -> Sized:
    return size(load_scenario(folder))


def _row_and_feed(sized: Sized, need: Need, option: Option) -> tuple[Module, int, str] | None:
    """Return the first module, row and feed that take a need; None where no feed enters such a row."""
    for module in sized.requirements.catalogue.modules:
        for group, rows in enumerate(supply_groups(module)):
            for feed in need.feeds:
                fits = module.rows[rows[0]].fuse_format == option.fuse_format
                if fits and (option.panel, module.id, group, feed) in sized.entries:
                    return module, rows[0], feed
    return None


class Lonely:
    """A plan in which every need has modules of its own: far too many, but each need is where it may be."""

    def __init__(self, sized: Sized, rank: int) -> None:
        self._sized = sized
        self._bay = 0
        self._modules: list[PlacedModule] = []
        self._ways: list[UsedWay] = []
        self._sockets: list[UsedSocket] = []
        self._pieces: list[Piece] = []
        for need in sized.needs:
            self._place(need, need.options[min(rank, len(need.options) - 1)])

    def _next(self, panel: str, module: str) -> str:
        self._bay += 4
        self._modules.append(PlacedModule(at=f"{panel}/{self._bay}", module=module))
        return f"{panel}/{self._bay}"

    def _place(self, need: Need, option: Option) -> None:
        if need.takes_way:
            found = _row_and_feed(self._sized, need, option)
            if found is None:
                return
            module, row, feed = found
            at, bus = self._next(option.panel, module.id), module.rows[row].bus
            way = f"{at}/{'ABCDEF'[row]}/1"
            self._ways.append(
                UsedWay(at=way, kind=need.kind, need=need.id, feed=feed, fuse=option.fuse, wire=option.wire)
            )
            place = {"strip": f"{way}-1", "single": way, "stud": f"{at}/stud"}[bus]
            group = next(n for n, rows in enumerate(supply_groups(module)) if row in rows)
            tail = self._sized.tail_of(option.panel, module.id, group, feed)
            self._pieces.append(Piece(at=place, kind=bus, feed=feed, tail_fuse=tail.fuse))
        if option.relay is not None:
            self._place_relay(need, option)

    def _place_relay(self, need: Need, option: Option) -> None:
        modules = self._sized.requirements.catalogue.modules
        module = next(m for m in modules if m.sockets and m.sockets[0].relay_class == option.relay_class)
        at = f"{self._next(option.panel, module.id)}/S1"
        self._sockets.append(UsedSocket(at=at, kind=need.kind, need=need.id, relay=str(option.relay)))
        if not need.takes_way:
            feed = need.feeds[0]
            tail_fuse = self._sized.feeds[feed].tail_fuse
            self._pieces.append(Piece(at=at, kind="socket", feed=feed, tail_fuse=tail_fuse))

    def plan(self) -> Plan:
        return Plan(
            allocator_version="0",
            solver_version="none",
            depends_on_time=False,
            requirements=self._sized.requirements,
            carriers=(),
            modules=tuple(self._modules),
            ways=tuple(self._ways),
            sockets=tuple(self._sockets),
            pieces=tuple(self._pieces),
            goals=(),
        )


def _about_places(sized: Sized, plan: Plan) -> list[Finding]:
    """Return the findings on single places; what a feed carries depends on all that is on it, so it is left out."""
    findings = [finding for finding in verify(sized, plan) if finding.rule in BY_PLACE]
    by_load = ("fuse-carries-load", "relay-carries-load")
    return [finding for finding in findings if finding.rule not in by_load or "feed " not in finding.text()]


@pytest.mark.parametrize("folder", SCENARIOS, ids=lambda folder: folder.name)
def test_every_row_of_the_sizing_table_is_safe(folder: Path) -> None:
    """Fuse over wire, load over fuse, contact, tail and terminal: each option in turn, every need alone."""
    sized = _sized(folder)
    placed: set[str] = set()
    for rank in range(max(len(need.options) for need in sized.needs)):
        plan = Lonely(sized, rank).plan()
        placed |= {way.need for way in plan.ways} | {socket.need for socket in plan.sockets}
        assert _about_places(sized, plan) == []
    assert placed == {need.id for need in sized.needs}


def test_there_are_scenarios() -> None:
    """An empty list of folders would pass the test above."""
    assert len(SCENARIOS) >= 3
