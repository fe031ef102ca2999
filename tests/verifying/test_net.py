"""Fuses of the hand-built panel against the net, and main fuses with their holders: where each limit lies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from allocator.sizing.sized import Sized
from allocator.verifying.net import main_fuse, suits_panel
from allocator.verifying.view import View
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_options, with_part, with_sized_feed, with_tables

ROOTS = ("battery", "ignition")


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("voltage", 16.0, None),  # ISO 16750-2: a net of 12 V may have 16 V
        ("voltage", 15.9, 'fuse "C-15" is for 15.9 V; the net may have 16 V'),
        ("breaking_capacity", 900.0, None),
        ("breaking_capacity", 899.0, 'fuse "C-15" breaks 899 A; a short circuit may draw 900 A there'),
    ],
)
def test_a_fuse_that_just_suits_the_net(field: str, value: float, said: str | None) -> None:
    """Type C of 15 A: in ways, each told once, though it is among the parts of a circuit with a relay as well."""
    sized, plan = good()
    found = told(with_part(sized, "fuses", "C-15", **{field: value}), plan, "fuse-suits-net")
    places = [f"{way.at} ({way.kind} {way.need})" for way in plan.ways if way.fuse == "C-15"]
    assert found == ([] if said is None else [f"{where}: {said}  [fuse-suits-net]" for where in places])


@pytest.mark.parametrize(("voltage", "breaking_a", "may"), [(16, 900, True), (15.9, 900, False), (16, 899, False)])
def test_which_fuse_a_way_may_hold(voltage: float, breaking_a: float, may: bool) -> None:
    """ISO 16750-2: a net of 12 V may have 16 V; a short circuit in the panel draws 900 A."""
    sized, plan = good()
    view = View(sized, plan)
    fuse = view.fuses["C-15"].model_copy(update={"voltage": voltage, "breaking_capacity": breaking_a})
    assert suits_panel(view, fuse) is may


@pytest.mark.parametrize(("parts", "coil"), [({"C-15": 1}, False), ({"C-15": 2}, True), ({"C-5": 1, "C-15": 1}, False)])
def test_the_fuse_in_the_lead_of_a_coil_is_looked_at_too(parts: dict[str, int], coil: bool) -> None:
    """Of the fan, whose own fuse is of 15 A: a second one like it, or another, stands before the coil."""
    sized, plan = good()
    small = with_part(with_options(sized, "fan", parts=parts), "fuses", "C-15", voltage=15.0)
    found = told(small, plan, "fuse-suits-net")
    assert any(text.startswith("coil of cabin/1/S2: ") for text in found) == coil
    other = with_part(with_options(sized, "fan", parts=parts), "fuses", "C-5", voltage=15.0)
    found = told(other, plan, "fuse-suits-net")
    assert any(text.startswith("coil of cabin/1/S2: ") for text in found) == ("C-5" in parts)


def test_every_root_feed_without_a_main_fuse_is_told() -> None:
    """Whether the sizing table has no main fuse for it, or not even the feed."""
    sized, plan = good()
    said = [("main-fuse", f'feed "{name}"', "has no main fuse and holder of the catalogue") for name in ROOTS]
    bare = {name: replace(feed, main=None) for name, feed in sized.feeds.items()}
    for feeds in (bare, {}):
        found = list(main_fuse(View(replace(sized, feeds=feeds), plan)))
        assert [(finding.rule, finding.where, finding.detail) for finding in found] == said


def _told_of_battery(sized: Sized) -> list[str]:
    found = told(sized, good()[1], "main-fuse")
    assert all(text.startswith('feed "battery": ') for text in found)
    return [text.removeprefix('feed "battery": ').removesuffix("  [main-fuse]") for text in found]


NO_RING = 'terminal "ring-M8-50" is no ring M8 for its cable and 100 A'


@pytest.mark.parametrize(
    ("table", "part", "field", "value", "said"),
    [
        ("main_holders", "main-sf30", "limit", 100.0, []),
        ("main_holders", "main-sf30", "limit", 99.0, ['holder "main-sf30" does not take fuse "SF30-100"']),
        ("main_holders", "main-sf30", "stack", 1, ['holder "main-sf30" takes 1 cables; 2 start there']),
        ("terminals", "ring-M8-50", "limit", 100.0, []),
        ("terminals", "ring-M8-50", "limit", 99.0, [NO_RING]),
        ("terminals", "ring-M8-50", "largest_wire", 16.0, []),  # the cable has 16 mm2
        ("terminals", "ring-M8-50", "largest_wire", 15.9, [NO_RING]),
        ("terminals", "ring-M8-50", "smallest_wire", 16.0, []),
        ("terminals", "ring-M8-50", "smallest_wire", 16.1, [NO_RING]),
        ("terminals", "ring-M8-50", "kind", "inlet", [NO_RING]),
    ],
)
def test_holder_and_ring_that_just_fit(table: str, part: str, field: str, value: object, said: list[str]) -> None:
    """Battery has 100 A and a cable to each of two panels; ignition has 60 A, one cable and a smaller ring."""
    assert _told_of_battery(with_part(good()[0], table, part, **{field: value})) == said


def _lead(of_table_mm: int) -> list[str]:
    return [f"its main fuse is 700 mm from the source; the sizing table has a lead of {of_table_mm} mm"]


BOTH_WRONG = [NO_RING.replace("ring M8", "ring M6"), NO_RING.replace("ring-M8", "ring-M6")]


@pytest.mark.parametrize(
    ("supply_stud", "lead_mm", "rings", "said"),
    [
        (None, 700, ("ring-M8-50", "ring-M8-50"), []),
        ("M6", 700, ("ring-M6-50", "ring-M8-50"), []),
        ("M6", 700, ("ring-M8-50", "ring-M6-50"), BOTH_WRONG),
        (None, 700, ("ring-M8-50", "no-such"), [NO_RING.replace("ring-M8-50", "no-such")]),
        (None, 700, (), _lead(700)),
        (None, 699, ("ring-M8-50", "ring-M8-50"), _lead(699)),
    ],
)
def test_the_lead_of_a_main_fuse_away_from_its_source(
    supply_stud: str | None, lead_mm: int, rings: tuple[str, ...], said: list[str]
) -> None:
    """A ring on the stud of the source, where it is named, and one on that of the holder."""
    sized, _ = good()
    away = with_feed(sized, "battery", main_fuse_distance=0.7)
    main = sized.feeds["battery"].main
    assert main is not None
    led = with_sized_feed(away, "battery", main=replace(main, lead_mm=lead_mm, lead_rings=rings))
    supply = sized.requirements.scenario.supply.model_copy(update={"stud": supply_stud})
    assert _told_of_battery(with_tables(led, supply=supply)) == said


def test_a_cable_that_nobody_sells_fits_no_ring() -> None:
    assert _told_of_battery(with_sized_feed(good()[0], "battery", cable_wire="string")) == [NO_RING]
