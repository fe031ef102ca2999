"""Which figures a vehicle is told of: its own, with what they replace, those from memory that it used, practice."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.sizing.figures_told import FigureTold, OwnCell, figures_told
from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, fuse, part, row, sized

BLADE = circuit(fuse_format="C")
LAMP = BLADE | {"load_type": "filament-lamp"}
MOTOR = BLADE | {"load_type": "motor"}
BEAM = BLADE | {"load_type": "electronics"}
PRACTICE = ["coil_lead_largest", "selectivity", "coil_resistor", "relay_near_limit", "quiescent_limit"]


def figures(*circuits: Table, **tables: Any) -> tuple[FigureTold, ...]:
    return figures_told(sized(*circuits, **tables))


def recalled(*circuits: Table, **tables: Any) -> list[str]:
    return [item.name for item in figures(*circuits, **tables) if item.confidence == "M"]


def strips_only() -> dict[str, Any]:
    """Ways for a format of which no gate is published, with every fuse that is wanted here."""
    return {
        "modules": [part("bolted", rows=[row("SF30", 4, 9.5)])],
        "fuses": [fuse("SF30", 30), *(item for item in catalogue_table()["fuses"] if item["fuse_format"] == "SF51")],
    }


@pytest.mark.parametrize(
    ("vehicle", "names"),
    [
        ([BLADE], ["adiabatic_longest"]),
        ([BLADE | {"fuse_format": "F"}], ["adiabatic_longest", "fuse_ratings_recalled"]),
        ([LAMP | {"load": "H7"}], ["adiabatic_longest", "lamp_inrush_time"]),
        ([LAMP | {"load": "H4"}], ["adiabatic_longest", "lamp_watts_recalled", "lamp_inrush_time"]),
        ([BEAM | {"load": "D1S"}], ["adiabatic_longest", "discharge_ballast"]),
        ([BEAM | {"load": "D2S"}], ["adiabatic_longest", "discharge_watts_recalled", "discharge_ballast"]),
        ([MOTOR], ["adiabatic_longest", "motor_stall", "motor_inrush_time"]),
        ([MOTOR | {"stall": "20 A"}], ["adiabatic_longest", "motor_inrush_time"]),
        ([MOTOR | {"id": "fan"}, LAMP | {"load": "H4"}, BEAM | {"id": "beam", "load": "D2S"}], [
            "adiabatic_longest", "lamp_watts_recalled", "discharge_watts_recalled", "discharge_ballast",
            "lamp_inrush_time", "motor_stall", "motor_inrush_time",
        ]),
    ],
)  # fmt: skip
def test_of_the_figures_from_memory_those_are_told_that_the_sums_used(vehicle: list[Table], names: list[str]) -> None:
    assert recalled(*vehicle) == names


def test_fuses_without_a_published_gate_use_no_time_from_memory() -> None:
    """Strips of type SF 30, whose ratings are from memory."""
    assert recalled(circuit(load="20 A"), catalogue=strips_only()) == ["fuse_ratings_recalled"]


def test_the_format_of_a_feed_s_own_fuse_is_none_of_a_circuit() -> None:
    branch = feed("key", source="battery", rating="10 A", fuse_format="F")
    assert recalled(BLADE, feeds=[feed(), branch]) == ["adiabatic_longest"]


def test_at_24_v_other_lamps_are_from_memory() -> None:
    """UN R37 lists gives H7 for 12 V as read, for 24 V as remembered."""
    net = {"nominal_voltage": "24 V", "operating_voltage": "28 V", "minimum_voltage": "22 V"}
    assert "lamp_watts_recalled" in recalled(LAMP | {"load": "H7"}, vehicle=net)
    assert "lamp_watts_recalled" not in recalled(LAMP | {"load": "H1"}, vehicle=net)


def test_figures_come_with_their_own_first_and_practice_last() -> None:
    own = {"figures": {"selectivity": 2, "motor_inrush": 7}}
    found = figures(MOTOR, rules=own)
    assert [(item.name, item.confidence) for item in found] == [
        *((name, "U") for name in ("selectivity", "motor_inrush")),
        *((name, "M") for name in ("adiabatic_longest", "motor_stall", "motor_inrush_time")),
        *((name, "P") for name in PRACTICE if name != "selectivity"),
    ]


def test_a_figure_from_memory_that_the_vehicle_replaces_is_told_as_its_own_alone() -> None:
    found = [(item.name, item.mark) for item in figures(MOTOR, rules={"figures": {"motor_stall": 6}})]
    assert found[:2] == [("motor_stall", "this vehicle's own"), ("adiabatic_longest", "from memory")]
    assert ("motor_stall", "from memory") not in found


def test_a_figure_is_told_with_value_and_source() -> None:
    by_name = {item.name: item for item in figures(MOTOR)}
    longest = by_name["adiabatic_longest"]
    assert (longest.value, longest.own, longest.mark) == ("5 s", (), "from memory")
    assert longest.source.startswith("BS 7671 chapter 54")
    assert (by_name["motor_stall"].value, by_name["selectivity"].mark) == ("5", "common practice")
    assert {item.name: item.value for item in figures(BLADE | {"fuse_format": "F"})}["fuse_ratings_recalled"] == ""


@pytest.mark.parametrize(
    ("own", "value", "cells"),
    [
        ({"motor_inrush": 7}, "7", [OwnCell("", "7", "6")]),
        ({"main_fuse_lead": "0.1 m"}, "0.1 m", [OwnCell("", "0.1 m", "0.1778 m")]),
        (
            {"fuse_share": {"C": {"65 degC": "70 %", "85 degC": "66 %", "105 degC": "50 %"}}},
            "",
            [OwnCell("C, 65", "0.7", "0.76"), OwnCell("C, 105", "0.5", "")],
        ),
        (
            {"fuse_gates": {"C": {"600 %": {"latest": "0.1 s"}}}},
            "",
            [OwnCell("C, 600", "none, 0.1 s", "none, 0.15 s")],
        ),
    ],
)
def test_cells_of_the_vehicle_s_own_are_told_with_what_they_replace(
    own: Table, value: str, cells: list[OwnCell]
) -> None:
    (found,) = (item for item in figures(rules={"figures": own}) if item.confidence == "U")
    assert (found.value, list(found.own)) == (value, cells)


def test_a_cell_in_words() -> None:
    assert OwnCell("C, 65", "0.7", "0.76").text == "C, 65: 0.7 in place of 0.76"
    assert OwnCell("C, 105", "0.5", "").text == "C, 105: 0.5 where nothing is published"
    assert OwnCell("", "7", "6").text == "7 in place of 6"
