"""A vehicle's own figures: each changes what is sized or told, and nothing else is taken for the published ones."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from allocator.errors import InputError
from allocator.figures import PUBLISHED
from allocator.requirements import requirements_from_json, requirements_to_json
from allocator.requirements.catalogue import LoadType
from allocator.requirements.own_figures import FIXED, OwnFigures
from allocator.sizing import size
from allocator.sizing.figures_told import figures_told
from allocator.sizing.relays import strict_rating_a
from allocator.sizing.wires import ampacity_a, resistance_ohm_per_m
from allocator.units import area_mm2
from allocator.verifying.drop import wire_ohm_per_m
from allocator.verifying.relays import strict_factor
from tests.sizing.vehicles import Table, circuit, feed, fuse, panel, part, relay, requirements

ROOT = Path(__file__).parents[2]
MOTOR = circuit(load="5 A", load_type="motor", fuse_rating="10 A", fuse_format="C")
LAMP = circuit(load="2 x P21W", load_type="filament-lamp", fuse_format="C")
DISCHARGE = circuit(load="D1S", load_type="electronics", fuse_format="C")
RELAY = circuit(switching="relay", fuse_format="C")
THICK = circuit(load="12 A", fuse_rating="20 A", fuse_format="C", length="1 m")
STRICT = {"strict_contacts": True}
CAMP = [{"name": "camp", "engine_running": False, "hours": "10 h"}]
HIGH_NET = {"nominal_voltage": "60 V", "operating_voltage": "60 V", "minimum_voltage": "60 V"}


def table(*circuits: Table, **tables: Any) -> tuple[tuple[Table, ...], dict[str, Any]]:
    return circuits, tables


def only_wires(*areas: str) -> dict[str, Any]:
    return {"wires": [part(f"w{area}", area=area) for area in areas]}


EXAMPLES: dict[str, tuple[Any, Any]] = {
    "copper_alpha": ("0.005 1/K", table()),
    "metric_resistance": ({"1 mm2": "25 mohm/m"}, table()),
    "gauge_resistance": ({"14 AWG": "4 mohm/ft"}, table(catalogue=only_wires("14 AWG", "4 mm2", "25 mm2"))),
    "other_resistivity": ("25 mohm mm2/m", table(catalogue=only_wires("3 mm2", "4 mm2", "25 mm2"))),
    "ampacity": ({"1 mm2": {"105 degC": "18 A"}}, table()),
    "ampacity_ambient": ("40 degC", table(panels=[panel(ambient="50 degC")])),
    "ambient_factor_step": (0.1, table(panels=[panel(ambient="50 degC")])),
    "bundles": ({"steps": {"3": "50 %"}}, table(circuit(bundle=3))),
    "smallest_separate": ("3 mm2", table()),
    "adiabatic_copper": ("150 A s^0.5/mm2", table(circuit(fuse_format="C"))),
    "copper_inferred_zero": ("210 degC", table(circuit(fuse_format="C"))),
    "final_temperature": ({"60 degC": "120 degC"}, table(circuit(fuse_format="C"))),
    "adiabatic_longest": ("1 s", table(circuit(fuse_format="C"))),
    "coil_lead_largest": ("0.75 mm2", table(THICK | {"switching": "relay"})),
    "system_maximum": ({"12 V": "40 V"}, table()),
    "system_maximum_ratio": (
        1.5,
        table(vehicle=HIGH_NET, catalogue={"fuses": [fuse("C", 7.5, 80), fuse("E", 20, 80)]}),
    ),
    "fuse_share": ({"C": {"65 degC": 0.7}}, table(circuit(fuse_format="C"))),
    "fuse_published": ({"C": {"10 A": {"65 degC": "7.6 A"}}}, table(circuit(fuse_rating="10 A", fuse_format="C"))),
    "fuse_ratings": ({"C": ["10 A"]}, table(circuit(fuse_format="C"))),
    "fuse_gates": ({"C": {"200 %": {"earliest": "0.15 s", "latest": "4 s"}}}, table(circuit(fuse_format="C"))),
    "fuse_cold_resistance": (
        {"C": {"10 A": "8 mohm"}},
        table(circuit(fuse_rating="10 A", fuse_format="C", quiescent="80 mA")),
    ),
    "fuse_melting": ({"C": {"5 A": "60 A2s"}}, table(LAMP)),
    "small_craft_share": (1.2, table(THICK, rules={"fuse_over_wire": "small-craft-150"})),
    "small_craft_below": ("12 V", table(rules={"fuse_over_wire": "small-craft-150"})),
    "clearing_multiple": (4, table(circuit(fuse_format="C"), supply={"fault_current": "25 A"})),
    "main_fuse_lead": ("0.1 m", table(feeds=[feed(main_fuse_distance="0.15 m")])),
    "main_fuse_lead_sheathed": ("0.3 m", table(feeds=[feed(main_fuse_distance="0.5 m", main_fuse_sheathed=True)])),
    "selectivity": (2, table(circuit(fuse_format="C", fuse_rating="35 A"), feeds=[feed(rating="60 A")])),
    "lamp_watts": ({"12 V": {"P21W": "26.5 W"}}, table(LAMP)),
    "discharge_watts": ({"D1S": "25 W"}, table(DISCHARGE)),
    "discharge_ballast": (0.7, table(DISCHARGE)),
    "discharge_start": ("5 A", table(DISCHARGE)),
    "discharge_start_time": ("0.01 s", table(DISCHARGE | {"fuse_rating": "10 A"})),
    "lamp_inrush": (3, table(LAMP)),
    "lamp_inrush_time": ("0.05 s", table(LAMP)),
    "motor_inrush": (2, table(MOTOR)),
    "motor_stall": (3, table(MOTOR)),
    "motor_inrush_time": ("0.05 s", table(MOTOR)),
    "relay_operates": (0.95, table(RELAY)),
    "contact_factors": ({"resistive": {"12 V": 2}}, table(circuit(load="20 A", switching="relay"), rules=STRICT)),
    "coil_resistor": (10, table(RELAY, catalogue={"relays": [relay("bare", "micro", suppressed=False)]})),
    "relay_near_limit": (0.5, table(circuit(load="10 A", load_type="motor", switching="relay"))),
    "charger_share": (0.1, table(circuit(load="17 A"))),
    "quiescent_limit": ("10 mA", table(circuit(quiescent="30 mA"))),
    "battery_share": (0.1, table(circuit(load="4 A"), cases=CAMP)),
}
"""By figure: another value, and a vehicle in which it shows."""


def seen(vehicle: Any, own: dict[str, Any]) -> object:
    """Return what becomes of a vehicle: its faults, or sums and cautions; that a figure is its own does not count."""
    circuits, tables = vehicle
    rules = {**tables.get("rules", {}), "figures": own}
    try:
        plain = requirements_to_json(requirements(*circuits, **{**tables, "rules": rules}))
        sized = size(requirements_from_json(plain))
    except InputError as refusal:
        return [fault.rule for fault in refusal.faults]
    cautions = [caution for caution in sized.cautions if not caution.rule.startswith("figure-")]
    return sized.needs, sized.feeds, sized.entries, cautions


def test_every_figure_can_be_a_vehicles_own_or_says_why_not() -> None:
    assert [*OwnFigures.model_fields] == [name for name in PUBLISHED.by_name() if name not in FIXED]
    assert sorted(EXAMPLES) == sorted(OwnFigures.model_fields)


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_own_figure_changes_sums_or_cautions(name: str) -> None:
    value, vehicle = EXAMPLES[name]
    assert seen(vehicle, {name: value}) != seen(vehicle, {})


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_own_figure_is_told(name: str) -> None:
    """With its mark and what it replaces, wherever figures are told."""
    own = OwnFigures.model_validate({name: EXAMPLES[name][0]})
    in_force = own.over(PUBLISHED)
    assert getattr(in_force, name).confidence == "U"
    assert [other for other, figure in in_force.by_name().items() if figure.confidence == "U"] == [name]
    vehicle = requirements(circuit(), rules={"figures": {name: EXAMPLES[name][0]}})
    if name not in ("system_maximum", "small_craft_below"):  # these refuse the plain vehicle
        (told,) = [figure for figure in figures_told(size(vehicle)) if figure.confidence == "U"]
        assert told.name == name and told.own and told.source == getattr(PUBLISHED, name).source


def test_a_table_is_replaced_cell_by_cell() -> None:
    own = OwnFigures.model_validate({"fuse_share": {"C": {"65 degC": "70 %", "105 degC": "50 %"}}})
    share = own.over(PUBLISHED).fuse_share.value
    assert share["C"] == {20: 0.92, 65: 0.70, 85: 0.66, 105: 0.50} and list(share["C"]) == [20, 65, 85, 105]
    assert share["F"] == PUBLISHED.fuse_share.value["F"]


def test_an_own_row_of_few_columns_serves_hot_insulation_only() -> None:
    """2.5 mm2 of 105 degC by its own row; of 90 degC still by the row of 14 AWG, which is the next thinner one."""
    figures = OwnFigures.model_validate({"ampacity": {"2.5 mm2": {"105 degC": "40 A"}}}).over(PUBLISHED)
    assert (ampacity_a(2.5, 105, 30, 1.0, figures), ampacity_a(2.5, 90, 30, 1.0, figures)) == (40, 30)


OWN_COPPER = OwnFigures.model_validate(
    {
        "copper_alpha": "0.0045 1/K",
        "metric_resistance": {"2.5 mm2": "8.21 mohm/m"},
        "gauge_resistance": {"14 AWG": "2.9 mohm/ft"},
        "other_resistivity": "21 mohm mm2/m",
        "contact_factors": {"motor": {"12 V": 2.5}, "lamp": {"28 V": 9}},
    }
).over(PUBLISHED)


@pytest.mark.parametrize(
    ("area", "milliohm"), [("2.5 mm2", 8.21), ("4 mm2", 4.95), ("14 AWG", 2.9 / 0.3048), ("3 mm2", 21 / 3)]
)
def test_sizing_and_checker_take_the_same_copper(area: str, milliohm: float) -> None:
    hot = 1 + 0.0045 * (70 - 20)
    mm2 = area_mm2(area)
    assert resistance_ohm_per_m(mm2, 70, OWN_COPPER) * 1000 == pytest.approx(milliohm * hot)
    assert wire_ohm_per_m(mm2, 70, OWN_COPPER) * 1000 == pytest.approx(milliohm * hot, rel=1e-5)


@pytest.mark.parametrize(("kind", "volts", "factor"), [("motor", 12, 2.5), ("motor", 24, 3), ("filament-lamp", 24, 9)])
def test_sizing_and_checker_take_the_same_contact_factors(kind: LoadType, volts: float, factor: float) -> None:
    assert strict_rating_a(10, kind, volts, OWN_COPPER) == 10 * factor
    assert strict_factor(kind, volts, OWN_COPPER) == Fraction(str(factor))


def test_the_example_of_the_readme_is_read() -> None:
    (block,) = re.findall(r"```toml\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    rules = tomllib.loads(block)["rules"]
    assert set(rules["figures"]) == {"motor_stall", "ampacity", "fuse_share"}
    vehicle = requirements_to_json(requirements(circuit(), rules=rules))
    assert requirements_from_json(vehicle).figures.ampacity.value[2.5] == {105: 32}


def _takers(tree: ast.Module) -> set[str]:
    """Return the functions of a file that take figures."""
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    return {node.name for node in functions if any(arg.arg == "figures" for arg in node.args.args)}


def _called(node: ast.Call) -> str:
    """Return the name of what is called, with what stands before its last dot."""
    inner = node.func.value if isinstance(node.func, ast.Attribute) else None
    before = {ast.Name: "id", ast.Attribute: "attr"}.get(type(inner), "")
    last = getattr(node.func, "attr", getattr(node.func, "id", ""))
    return f"{getattr(inner, before)}.{last}" if before else str(last)


def _calls_without_figures(name: str, trees: dict[str, ast.Module]) -> Iterator[str]:
    nodes = list(ast.walk(trees[name]))
    known = _takers(trees[name]) | {"load.total", "load.sizes"}
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and node.module in trees:
            known |= _takers(trees[node.module]) & {alias.name for alias in node.names}
    for node in nodes:
        if isinstance(node, ast.Call) and _called(node) in known and "figures" not in ast.unparse(node):
            yield f"{name}, line {node.lineno}: {_called(node)}"


def test_no_sum_forgets_the_figures_in_force() -> None:
    """A call that names no figures gets the published ones: right for a person who tries a sum, never in here."""
    trees = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / "allocator").rglob("*.py"))
    }
    assert sum(len(_takers(tree)) for tree in trees.values()) > 30
    assert [fault for name in trees for fault in _calls_without_figures(name, trees)] == []
