"""Cases that no other test of the sums reaches: parts that do not go together, and places hotter than any table."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.errors import InputError
from allocator.sizing import options, size
from allocator.sizing.figures_told import figures_told
from allocator.sizing.kept import KeptSizings
from allocator.sizing.wires import ambient_factor
from tests.sizing.vehicles import (
    AREAS,
    catalogue_table,
    circuit,
    faults,
    feed,
    need,
    panel,
    part,
    requirements,
    sized,
    wire,
)

WIRES = requirements().catalogue.wires


def branch(**fields: Any) -> dict[str, Any]:
    return feed("key", source="battery", **fields)


def test_a_branch_whose_fuse_no_module_takes() -> None:
    """The catalogue has main fuses of that format, and they stand in no way."""
    (fault,) = faults(feeds=(feed(), branch(rating="30 A", fuse_format="SF51")))
    assert fault.rule == "format-not-offered"
    assert (fault.known, "SF51, which no module on offer takes" in fault.message) == ("formats on offer: C, E, F", True)


def test_a_branch_whose_relay_takes_its_load_but_not_its_supply() -> None:
    """Terminal 30 is narrower than 87: what fits it carries 40 A, and the fuse before it lets 60 A pass."""
    tabs = [
        entry | ({"tabs": entry["tabs"] | {"30": "6.3 mm"}} if entry["relay_class"] == "heavy" else {})
        for entry in catalogue_table()["relay_tabs"]
    ]
    (fault,) = faults(
        circuit(feeds=["key"]),
        circuit("switch"),
        feeds=(feed(rating="60 A"), branch(rating="60 A", relay_class="heavy", control="switch")),
        catalogue={"relay_tabs": tabs},
    )
    assert fault.rule == "no-terminal"
    assert "no terminal of 6.3 mm on offer that takes w6 at 30 and carries its protection of 60 A" in fault.message


def test_a_branch_for_whose_jumper_there_is_no_wire_thin_enough() -> None:
    """A tab of 6.3 mm takes up to 6 mm2; the cable of 10 mm2 ends at 87, which is wider."""
    thick = [wire(area) for area in AREAS if area >= 10]
    (fault,) = faults(
        circuit(feeds=["key"]),
        feeds=(feed(rating="150 A"), branch(rating="40 A", fuse_format="C", relay_class="heavy")),
        catalogue={"wires": thick},
    )
    assert fault.rule == "no-jumper" and "behind its fuse of 40 A" in fault.message


def test_modules_without_a_single_way() -> None:
    sockets = part("sockets", sockets=[{"relay_class": "micro", "count": 2}])
    assert [fault.rule for fault in faults(catalogue={"modules": [sockets]})] == ["no-ways"]


def test_a_branch_whose_fuse_stands_hotter_than_its_table() -> None:
    """Nothing is published for a type C fuse at 120 degC, so that it is called too hot for any load."""
    table = sized(
        circuit(feeds=["key"], panels=["cabin"], load="1 A"),
        feeds=(feed(rating="30 A"), branch(rating="5 A", fuse_format="C", home="engine")),
        panels=(panel(), panel("engine", ambient="120 degC")),
        catalogue={"wires": [wire(area, 125) for area in AREAS]},
    )
    (caution,) = [caution for caution in table.cautions if caution.rule == "feed-fuse-hot"]
    assert caution.about == "key"


def test_holders_that_no_fuse_suits_are_passed_over() -> None:
    """One of a format of which no fuse is on offer, and one that takes less than the smallest fuse."""
    holders = [
        part("of-another-format", fuse_format="A", limit="30 A"),
        part("weak", fuse_format="F", limit="1 A"),
        part("holder", fuse_format="F", limit="30 A") | {"price": "2.00"},
    ]
    found = need(
        circuit(switching="relay", load="22 A", load_type="heater", relay_class="heavy", fuse_format="C"),
        catalogue={"holders": holders},
    )
    assert {name for option in found.options for name in option.parts} & {"of-another-format", "weak", "holder"} == {
        "holder"
    }


def test_a_control_circuit_of_which_one_format_does_not_carry_the_load() -> None:
    """29 A is more than any type F fuse carries; only the larger ones of types C and E stand before the coil."""
    found = need(
        circuit("switch", load="29 A"),
        circuit("lamp", switching="relay", control="switch", relay_class="heavy"),
        name="lamp",
    )
    leads = {step.text for item in found.options for step in item.reasons if step.text.startswith("coil leads")}
    assert leads == {"coil leads of w1 behind an in-line fuse of 2 A"}


@pytest.mark.parametrize(
    ("wrongly", "rule", "message"),
    [
        ({"limit_ma": 1000}, "fuse-protects-wire", "a fuse of 7.5 A stands above its wire"),
        ({"wire": WIRES[-1]}, "no-terminal", "no terminal of 6.3 mm takes w50"),
    ],
    ids=["too weak", "too thick"],
)
def test_a_wire_that_was_chosen_wrongly_is_refused(
    wrongly: dict[str, Any], rule: str, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever chooses it: what leaves sizing never has a fuse above its wire, nor a wire without a terminal."""
    choose = options.choose_run_wire
    monkeypatch.setattr(options, "choose_run_wire", lambda *given: replace(choose(*given), **wrongly))
    with pytest.raises(InputError) as refused:
        size(requirements(circuit(fuse_format="C")))
    (fault,) = refused.value.faults
    assert (fault.rule, fault.message) == (rule, f'circuit "lamp": {message}')
    assert (fault.known, fault.hint) == ("panel cabin, format C", "")


def test_insulation_below_every_column_of_the_table_bears_nothing() -> None:
    assert ambient_factor(20, 10) == 0.0


def test_every_figure_that_is_told_says_how_it_is_known() -> None:
    own = sized(rules={"figures": {"motor_stall": 7}})
    marks = {figure.name: figure.mark for figure in figures_told(own)}
    assert marks["motor_stall"] == "this vehicle's own"
    assert set(marks.values()) <= {"this vehicle's own", "from memory", "common practice"}


def test_kept_sizings_are_taken_again_and_not_mixed_up() -> None:
    """Equal requirements get what was found before; a larger load is sized anew."""
    kept = KeptSizings()
    first, again = (size(requirements(circuit()), kept=kept) for _ in range(2))
    assert again.needs == first.needs == size(requirements(circuit())).needs
    assert again.entries == first.entries == size(requirements(circuit())).entries
    larger = size(requirements(circuit(load="12 A")), kept=kept)
    assert larger.needs == size(requirements(circuit(load="12 A"))).needs != first.needs
