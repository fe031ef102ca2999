"""What lights up with each item is what plan.json and the lists say belongs to it."""

from __future__ import annotations

import json

import pytest

from allocator.outputs.failures import failures_csv
from allocator.outputs.lists import wires_csv
from allocator.outputs.report.items import Items
from allocator.plan.files import plan_text
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.report.expected import Expected, rows_of


@pytest.mark.parametrize("name", [*BUNDLED, "small", "large", "wide"])
def test_every_item_lights_up_just_what_belongs_to_it(name: str) -> None:
    content = content_of(name)
    lists = rows_of(wires_csv(content)), rows_of(failures_csv(content))
    expected = Expected(json.loads(plan_text(content.plan)), *lists).all()
    found = {key: set(item.lights) for key, item in Items(content).by_key.items()}
    assert found.keys() == expected.keys()
    for key, lights in found.items():
        assert lights == expected[key], key


@pytest.mark.parametrize("name", BUNDLED)
def test_an_item_is_filtered_by_the_cases_in_which_it_carries_something(name: str) -> None:
    content = content_of(name)
    items = Items(content).by_key
    cases = [case.name for case in content.sized.requirements.scenario.load_cases]
    for placed in content.index.needs:
        loads = content.loads_by_need[placed.need.id]
        wanted = tuple(case for case, load_ma in zip(cases, loads, strict=True) if load_ma)
        assert items[f"need:{placed.need.id}"].cases == wanted
        assert items[f"need:{placed.need.id}"].feeds == (placed.feed,)
