"""Requirements inside a plan: written with their units, read back without loss, and checked as the files were."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import InputError
from allocator.requirements import load_scenario, requirements_from_json, requirements_to_json
from allocator.requirements.catalogue import Wire
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Feed, PanelSite
from tests.requirements.folders import SCENARIO, changed, write

SCENARIOS = sorted(path.parent for path in (Path(__file__).parents[2] / "scenarios").glob("*/scenario.toml"))


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda path: path.name)
def test_nothing_is_lost_on_the_way_through_a_file(scenario: Path) -> None:
    requirements = load_scenario(scenario)
    text = json.dumps(requirements_to_json(requirements))
    again = requirements_from_json(json.loads(text))
    assert again == requirements
    assert json.dumps(requirements_to_json(again)) == text


def test_units_stand_behind_every_number(tmp_path: Path) -> None:
    """A person may edit the file, so it reads as the scenario did."""
    rules = '[[rules.spares]]\nfuse_format = "F"\ncount = 2\nreserve = "1500 mA"\n\n[[load_cases]]\nname = "round"'
    data = requirements_to_json(
        load_scenario(write(tmp_path, changed(SCENARIO, ('[[load_cases]]\nname = "round"', rules))))
    )
    scenario, circuit, wire = data["scenario"], data["circuits"][1], data["catalogue"]["wires"][3]
    assert scenario["panels"][0]["ambient"] == "40.0 degC"
    assert scenario["supply"]["battery_capacity"] == "100.0 Ah"
    assert scenario["load_cases"][0]["hours"] == "3.0 h"
    assert scenario["rules"]["loading_factor"] == "75.0 %"
    assert scenario["rules"]["spares"][0]["reserve"] == "1.5 A"
    assert (circuit["load"], circuit["length"]) == ("21 W", {"front": "3.0 m", "rear": "4.0 m"})
    assert (wire["area"], wire["price"]) == ("1.308696 mm2", "0.21")


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers that a file can hold: at most 12 decimals."""
    return st.floats(low, high).map(lambda number: round(number, 12))


@given(
    rating=_number(0.01, 100_000),
    ambient=_number(-60, 250),
    length=_number(0, 1000),
    area=_number(0.01, 1000),
    cents=st.integers(0, 10**9 - 1),
    load=st.lists(st.tuples(st.integers(1, 9), _number(0.001, 100)), min_size=1, max_size=4),
)
@settings(deadline=None)
def test_any_value_comes_back_as_it_was(
    rating: float, ambient: float, length: float, area: float, cents: int, load: list[tuple[int, float]]
) -> None:
    feed = Feed.model_validate({"name": "a", "kind": "permanent", "rating": f"{rating!r} A"})
    panel = PanelSite.model_validate(
        {"name": "a", "ambient": f"{ambient!r} degC", "max_bays": 1, "supply_distance": f"{length!r} m"}
    )
    price = f"{cents // 100}.{cents % 100:02d}"
    wire = Wire.model_validate({"id": "a", "label": "a", "price": price, "area": f"{area!r} mm2"})
    text = " + ".join(f"{count} x {size!r} W" for count, size in load)
    circuit = Circuit.model_validate(
        {"id": "a", "label": "a", "load": text, "load_type": "led", "feeds": ["a"], "length": {"": f"{length!r} m"}}
    )
    assert (feed.rating, panel.ambient, panel.supply_distance, wire.area, wire.price) == (
        rating,
        ambient,
        length,
        area,
        cents,
    )
    assert circuit.load.parts == tuple(load)
    for value in (feed, panel, wire, circuit):
        assert type(value).model_validate(json.loads(value.model_dump_json())) == value


def _faults(data: Any) -> str:
    with pytest.raises(InputError) as caught:
        requirements_from_json(data)
    return str(caught.value)


def test_an_edited_file_is_checked_like_the_files_of_a_scenario(tmp_path: Path) -> None:
    sound = requirements_to_json(load_scenario(write(tmp_path)))
    edited = copy.deepcopy(sound)
    edited["circuits"][2]["control"] = "swich"
    edited["scenario"]["feeds"][0]["rating"] = 60
    edited["catalogue"]["modules"][1]["rows"][0]["strip"] = None
    assert _faults(edited) == (
        'error: "rating" of feed "battery" is a bare number; a unit is needed  [bare-number]\n'
        '  where: plan.json, [[feeds]] no. 1 "battery", field "rating" = 60\n'
        '  known: expected a value such as "12 A"\n'
        'error: "control" of circuit "pump" names the unknown circuit "swich"  [unknown-circuit]\n'
        '  where: plan.json, [[circuits]] no. 3 "pump", field "control" = "swich"\n'
        '  known: the circuits are "switch", "lamp", "pump"\n'
        '  try:   did you mean "switch"?\n'
        'error: row no. 1 of module "twin-f9" takes a strip and names none  [row-and-strip]\n'
        '  where: plan.json, [[modules]] no. 2 "twin-f9", field "rows no. 1, strip"'
    )


def test_data_that_is_no_requirements_at_all(tmp_path: Path) -> None:
    sound = requirements_to_json(load_scenario(write(tmp_path)))
    assert _faults([]) == "error: the requirements are no table of named values  [not-a-table]\n  where: plan.json"
    assert _faults({"scenario": {}, "circuits": {}}) == (
        'error: the requirements have no "circuits"  [missing-field]\n  where: plan.json\n'
        'error: the requirements have no "catalogue"  [missing-field]\n  where: plan.json'
    )
    assert _faults(sound | {"circuits": []}) == "error: there are no circuits  [empty-table]\n  where: plan.json"
    sound["scenario"]["vehicle"]["name"] = "\ud800"
    assert '"name" of [vehicle] is no proper text  [not-text]' in _faults(sound)
