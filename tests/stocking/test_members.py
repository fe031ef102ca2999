"""The vehicles of a fleet: how each is ordered, and what is refused."""

from __future__ import annotations

import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.plan.files import read_plan, write_plan
from allocator.requirements.fleet_reading import load_fleet
from allocator.requirements.reading import SHIPPED_CATALOGUE
from allocator.stocking.members import members_of
from tests.cli.running import SCENARIOS, plan_folder

FLEET = SCENARIOS / "example-fleet"


def test_orders_as_expected_and_as_recorded() -> None:
    """Gritters: three orders in the 365 days of the record, hence a quarter a month, of 2, 3 and 1 vehicles."""
    camper, trailer, gritter = members_of(load_fleet(FLEET))
    assert camper.process.vehicles_per_month == Fraction(5, 2)
    assert trailer.process.vehicles_per_month == Fraction(3, 4) * 2
    assert gritter.process.orders_per_month == Fraction(1, 4)
    assert gritter.process.share_by_size == {size: Fraction(1, 3) for size in (1, 2, 3)}


def test_types_that_are_not_to_choose_among_are_shut_out() -> None:
    file = load_fleet(FLEET)
    limits = {limit.module: limit.most for limit in members_of(file)[0].sized.requirements.scenario.rules.modules}
    assert {module for module, most in limits.items() if most} == set(file.fleet.modules)


def _fleet_of(folder: Path, vehicle: str) -> Path:
    text = f'name = "One"\n[[vehicles]]\nname = "van"\n{vehicle}\norders_per_month = 1\n'
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_plan_is_taken_as_it_stands_and_a_broken_one_refused(tmp_path: Path) -> None:
    path = plan_folder(tmp_path / "built") / "plan.json"
    fleet = _fleet_of(tmp_path, 'plan = "built/plan.json"')
    (member,) = members_of(load_fleet(fleet))
    assert member.plan is not None and member.plan.ways == read_plan(path).ways
    plan = read_plan(path)
    write_plan(plan.model_copy(update={"ways": plan.ways[1:]}), path)
    with pytest.raises(InputError) as caught:
        members_of(load_fleet(fleet))
    assert [fault.rule for fault in caught.value.faults] == ["plan-not-kept"]


def test_vehicles_of_another_catalogue_share_no_shelf(tmp_path: Path) -> None:
    """Stock may differ, because it changes from day to day; a price may not."""
    folder = tmp_path / "van"
    shutil.copytree(FLEET / "day-camper", folder)
    scenario = (folder / "scenario.toml").read_text(encoding="utf-8")
    (folder / "scenario.toml").write_text('catalogue = "own.toml"\n' + scenario, encoding="utf-8")
    text = SHIPPED_CATALOGUE.read_text(encoding="utf-8")
    (folder / "own.toml").write_text(
        text.replace("stock = 6, lead_days = 4", "stock = 1, lead_days = 4"), encoding="utf-8"
    )
    fleet = _fleet_of(tmp_path, 'scenario = "van"')
    assert len(members_of(load_fleet(fleet))) == 1
    (folder / "own.toml").write_text(text.replace("price = 6.85", "price = 6.95"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        members_of(load_fleet(fleet))
    assert [fault.rule for fault in caught.value.faults] == ["other-catalogue"]


def test_a_vehicle_outside_the_folder_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "inner").mkdir()
    fleet = _fleet_of(tmp_path / "inner", 'scenario = "../van"')
    with pytest.raises(InputError) as caught:
        members_of(load_fleet(fleet))
    assert [fault.rule for fault in caught.value.faults] == ["outside-fleet"]
