"""What a load draws at its start, and which published figure shows that its fuse stays whole."""

from __future__ import annotations

import pytest

from allocator.figures import PUBLISHED
from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.scenario import Circuit
from allocator.sizing.inrush import Inrush, evidence, inrush_of
from tests.sizing.vehicles import circuit


@pytest.mark.parametrize(
    ("letter", "rating_a", "peak_a", "seconds", "shown"),
    [
        ("C", 10, 13.5, 0.5, "gate"),  # 135 %: 0.75 s at the earliest
        ("C", 10, 13.6, 0.5, "none"),  # the next gate, 160 %, begins at 0.25 s
        ("C", 10, 45, 0.5, "none"),  # 450 %, half a second
        ("F", 20, 80, 0.02, "gate"),  # 400 %: the 600 % gate opens after 0.03 s at the earliest
        ("F", 20, 80, 0.04, "melting"),  # 256 A2s against 380 A2s
        ("C", 20, 200, 0.005, "melting"),  # 200 A2s against a melting integral of 520 A2s
        ("C", 15, 150, 0.005, "none"),  # nothing is published for 15 A or less
        ("N", 15, 14, 100, "gate"),  # up to its rating a fuse does not open
    ],
)
def test_a_start_is_shown_only_by_a_published_figure(letter, rating_a, peak_a, seconds, shown):
    assert evidence(letter, rating_a, Inrush(5, peak_a, seconds)) == shown


@pytest.mark.parametrize(
    ("letter", "rating_a", "peak_a", "seconds", "shown"),
    [
        ("F", 20, 80, 0.03, "melting"),  # as long as the gate's earliest time: no longer shown by it
        ("F", 20, 80, 0.059, "melting"),  # 377.6 A2s
        ("F", 20, 80, 0.06, "none"),  # 384 A2s
        ("F", 20, 100, 0.038, "none"),  # the 380 A2s of the data sheet themselves
    ],
)
def test_what_is_published_is_a_bound_and_not_passed(letter, rating_a, peak_a, seconds, shown):
    assert evidence(letter, rating_a, Inrush(5, peak_a, seconds)) == shown


def test_evidence_goes_by_the_gates_of_the_vehicle_s_own():
    own = OwnFigures.model_validate({"fuse_gates": {"C": {"135 %": {"earliest": "0.4 s", "latest": "600 s"}}}})
    start_of_pump = Inrush(5, 13.5, 0.5)
    assert evidence("C", 10, start_of_pump) == "gate"
    assert evidence("C", 10, start_of_pump, own.over(PUBLISHED)) == "none"


def start(**fields):
    return inrush_of(Circuit.model_validate(circuit(**fields)), 4.0)


def test_lamps_and_motors_start_and_others_do_not():
    assert start(load_type="filament-lamp") == Inrush(4.0, 40.0, 0.005)  # cold resistance is one tenth of hot
    assert start(load_type="motor") == Inrush(4.0, 24.0, 0.5, 20.0)  # six times at the start, five held fast
    assert start(load_type="heater") is None and start(load_type="led") is None


def test_a_stated_stall_current_replaces_the_ratios():
    assert start(load_type="motor", stall="31 A") == Inrush(4.0, 31.0, 0.5, 31.0)


def test_gas_discharge_lamps_start_with_what_their_ballasts_draw():
    """Lighting pages: 10 to 20 A each, for less than 1 s."""
    assert start(load="2 x D1S", load_type="electronics") == Inrush(4.0, 40.0, 1.0)
    assert start(load="60 W", load_type="electronics") is None
