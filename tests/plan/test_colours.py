"""Wire colours: the first row of the table that fits, else a default that tells feeds and functions apart."""

from __future__ import annotations

from itertools import product
from typing import get_args

from allocator.plan.colours import NAMES, WireLook, default_look, function_of, look_of
from allocator.plan.index import PlanIndex
from allocator.plan.wiring import Run, runs_of
from allocator.requirements.markings import COLOURS, FeedKind, WireColour, WireFunction
from allocator.requirements.scenario import Requirements
from allocator.sizing import size
from tests.outputs.packer import Packer
from tests.outputs.samples import LARGE, requirements_of
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


def test_the_leads_of_a_coil_have_the_feed_and_colour_of_what_controls_it() -> None:
    """On a control that is always live 86 is live with the key out: it must not look dead."""
    requirements = requirements_of(LARGE)
    circuits = tuple(
        item.model_copy(update={"feeds": ("battery",)}) if item.id == "circuit-01" else item
        for item in requirements.circuits
    )
    sized = size(requirements.model_copy(update={"circuits": circuits}))
    index = PlanIndex(sized, Packer(sized, LARGE).plan())
    runs = [run for run in runs_of(index) if run.role == "wire"]
    driven = {item.id for item in circuits if item.control == "circuit-01"}
    coils = [run for run in runs if run.need in driven and run.start.cavity in ("86", "85")]
    assert len(coils) == 2 * len(driven) >= 6
    assert {index.need_by_id[name].feed for name in driven} == {"ignition"}
    assert {run.feed for run in coils} == {"battery"}
    looks = {look_of(run, sized.requirements) for run in coils if run.start.cavity == "86"}
    assert looks == {default_look("control", "permanent")}
    others = [run for run in runs if run.need in driven and run not in coils]
    assert others and {run.feed for run in others} == {"ignition"}
    own = next(run for run in runs if run.need == "ignition" and run.start.cavity == "86")
    assert own.feed == index.need_by_id["ignition"].feed == "battery"
