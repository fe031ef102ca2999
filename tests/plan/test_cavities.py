"""Every cavity that a plan uses holds a terminal that fits its tab or stud, takes its wire and carries its current."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from allocator.address import parse_place, parse_socket
from allocator.outputs.content import Content
from allocator.plan.index import NeedAt
from allocator.plan.wiring import INLET, OUTPUT, STUD, Run, WireEnd, is_spliced
from allocator.requirements.catalogue import Terminal
from tests.outputs.conftest import BUNDLED, content_of

CONTACTS = ("30", "49", "87", "87a", "49a")
COILS = ("85", "86", "31")


def ends(content: Content) -> Iterator[tuple[Run, WireEnd]]:
    for run in content.runs:
        for end in (run.start, run.end):
            if end.cavity and not is_spliced(end):
                yield run, end


def need_at_socket(content: Content, place: str) -> NeedAt:
    return content.index.need_by_id[content.index.socket_by_place[parse_socket(place)].need]


def tab_mm(content: Content, end: WireEnd) -> float | str:
    """What the terminal must fit: the width of the tab, mm, or the size of the stud; from the catalogue alone."""
    catalogue = content.sized.requirements.catalogue
    if end.cavity in (*CONTACTS, *COILS):
        socket = parse_socket(end.place)
        used = content.index.socket_by_place[socket]
        relay = next(item for item in catalogue.relays if item.id == used.relay)
        tabs = next(
            item.tabs
            for item in catalogue.relay_tabs
            if (item.relay_class, item.function) == (relay.relay_class, relay.function)
        )
        return {str(name): width for name, width in tabs.items()}[end.cavity]
    panel, bay = end.place.split("/")[:2]
    module = next(item.module for item in content.index.modules if (item.panel, str(item.bay)) == (panel, bay))
    if end.place.endswith("/stud"):
        return str(module.stud)
    row = module.rows[parse_place(end.place).row or 0]
    if end.cavity == OUTPUT or row.bus == "single":
        return row.tab
    return next(strip.inlet_tab for strip in catalogue.strips if strip.id == row.strip)


def least_a(content: Content, run: Run, end: WireEnd) -> float:
    """What the terminal must carry: the rating of the fuse before it; at an inlet the largest load that flows in."""
    if end.cavity == INLET:
        entry = next(item for item in content.index.entries if item.piece.at == end.place)
        return content.entry_peak_ma(entry) / 1000
    if end.cavity == OUTPUT:
        use = content.index.way_by_place[parse_place(end.place)]
        return content.index.need_by_id[use.need].option.fuse_rating_a
    item = need_at_socket(content, end.place)
    if end.cavity in COILS:
        relay = next(r for r in content.sized.requirements.catalogue.relays if r.id == item.option.relay)
        return content.sized.requirements.scenario.vehicle.operating_voltage / relay.coil
    return item.option.fuse_rating_a  # 0 where a feed enters directly: the load is checked at its entry


@pytest.mark.parametrize("name", ["small", "large", "wide", "many", "small-48-volts", *BUNDLED])
def test_every_used_cavity_has_a_terminal_that_fits(name: str) -> None:
    content = content_of(name)
    catalogue = content.sized.requirements.catalogue
    terminals = {item.id: item for item in catalogue.terminals}
    areas = {wire.id: wire.area for wire in catalogue.wires}
    checked = 0
    for run, end in ends(content):
        if end.cavity == STUD:
            continue
        terminal: Terminal = terminals[end.terminal]
        wanted = tab_mm(content, end)
        assert wanted == (terminal.stud if terminal.kind == "ring" else terminal.tab), (run, end)
        assert (terminal.kind == "inlet") == (end.cavity == INLET and "-" in end.place), (run, end)
        assert terminal.smallest_wire <= areas[run.wire] <= terminal.largest_wire, (run, end)
        if name in BUNDLED or end.cavity != INLET:  # the packer of the samples does not mind what its strips carry
            assert terminal.limit >= least_a(content, run, end), (run, end)
        checked += 1
    assert checked >= len(content.plan.ways)


@pytest.mark.parametrize("name", ["large", "wide", *BUNDLED])
def test_every_ring_fits_its_stud_and_carries_what_protects_its_wire(name: str) -> None:
    content = content_of(name)
    catalogue = content.sized.requirements.catalogue
    terminals = {item.id: item for item in catalogue.terminals}
    areas = {wire.id: wire.area for wire in catalogue.wires}
    for run, end in ends(content):
        if end.cavity == STUD:
            ring, feed = terminals[end.terminal], content.sized.feeds[run.feed]
            stud = next(item for item in catalogue.studs if item.id == feed.stud)
            assert ring.kind == "ring" and ring.stud == stud.size
            assert ring.smallest_wire <= areas[run.wire] <= ring.largest_wire


@pytest.mark.parametrize("name", ["large", *BUNDLED])
def test_every_tab_of_a_fitted_relay_has_its_wire(name: str) -> None:
    """No cavity of a used socket or way is left open: each tab of the relay is an end of some wire."""
    content = content_of(name)
    catalogue = content.sized.requirements.catalogue
    for place, use in content.index.socket_by_place.items():
        relay = next(item for item in catalogue.relays if item.id == use.relay)
        tabs = next(
            item.tabs
            for item in catalogue.relay_tabs
            if (item.relay_class, item.function) == (relay.relay_class, relay.function)
        )
        for tab in tabs:
            assert content.runs_at.get((str(place), str(tab))), f"{place} {tab}"
    for place, way in content.index.way_by_place.items():
        assert bool(content.runs_at.get((str(place), OUTPUT))) == (way.kind != "spare"), place
