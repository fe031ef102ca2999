"""Wire colours: the first row of the table that fits, else a default that tells feeds and functions apart."""

from __future__ import annotations

from itertools import product
from typing import get_args

from allocator.plan.colours import NAMES, WireLook, default_look, function_of, look_of
from allocator.plan.index import PlanIndex
from allocator.plan.wiring import Run, runs_of
from allocator.requirements.markings import COLOURS, FeedKind, WireColour, WireFunction
from allocator.requirements.scenario import Requirements
from tests.verifying.hand_built import good

SIZED, PLAN = good()
RUNS = runs_of(PlanIndex(SIZED, PLAN))


def coloured(*rows: WireColour) -> Requirements:
    scenario = SIZED.requirements.scenario.model_copy(update={"wire_colours": rows})
    return SIZED.requirements.model_copy(update={"scenario": scenario})


def of(need: str, cavity: str) -> Run:
    return next(run for run in RUNS if run.need == need and run.start.cavity == cavity)


def test_what_the_wires_of_a_relay_do() -> None:
    """87 leads to the load, 85 to the earthed switch, 86 brings the plus side; the jumper comes from the way."""
    functions = [function_of(of("horn", cavity)) for cavity in ("87", "85", "86", "output")]
    assert functions == ["load", "earth", "control", "jumper"]


def test_every_wire_does_something_that_the_table_can_name() -> None:
    assert {function_of(run) for run in RUNS} <= set(get_args(WireFunction))


def test_the_first_row_that_fits_counts() -> None:
    horn = of("horn", "87")
    rows = (
        WireColour(functions=("return",), colour="GY"),
        WireColour(kinds=("ignition",), colour="YE"),
        WireColour(feeds=("battery",), circuits=("radio",), colour="PK"),
        WireColour(feeds=("battery",), functions=("load", "jumper"), circuits=("horn",), colour="GN", tracer="RD"),
        WireColour(colour="BU"),
    )
    assert look_of(horn, coloured(*rows)) == WireLook("GN", "RD")
    assert look_of(of("horn", "85"), coloured(*rows)) == WireLook("BU")
    assert look_of(of("radio", "output"), coloured(*rows)) == WireLook("YE")


def test_the_default_tells_live_wires_apart() -> None:
    """By kind of feed and function no two live wires look alike, and none of them like a return or an earth."""
    live = [function for function in get_args(WireFunction) if function not in ("return", "earth")]
    looks = [default_look(function, kind) for function, kind in product(live, get_args(FeedKind))]
    assert len(set(looks)) == len(looks)
    assert not {default_look("return", "ignition"), default_look("earth", "ignition")} & set(looks)
    assert look_of(of("horn", "87"), coloured()) == default_look("load", "permanent")


def test_the_default_keeps_green_and_yellow_free() -> None:
    """IEC 60757 clause 5.1: these two are not to be combined with other colours."""
    looks = [default_look(*pair) for pair in product(get_args(WireFunction), get_args(FeedKind))]
    assert not {"GN", "YE"} & {colour for look in looks for colour in (look.colour, look.tracer)}


def test_a_colour_in_letters_and_words() -> None:
    assert (WireLook("RD").code, WireLook("RD", "WH").code) == ("RD", "RD/WH")
    assert (WireLook("RD").words, WireLook("RD", "WH").words) == ("red", "red, white tracer")
    assert tuple(NAMES) == COLOURS
