"""What the tester should find: every part that is placed, every wire at its points, drops and millivolts."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import replace

import pytest

from allocator.figures import PUBLISHED
from allocator.outputs.content import Content
from allocator.outputs.workshop.expectations import (
    COLUMNS,
    NUM_BLANKS,
    Expected,
    as_fitted,
    expectations,
    expectations_csv,
    points_text,
)
from allocator.outputs.workshop.testing import continuity_table, power_table, quiescent_table, sign_off_table
from allocator.plan.parts import bill_of_index
from allocator.plan.quiescent import ColdResistance, cold_resistance
from allocator.plan.wiring import WireEnd
from tests.outputs.conftest import BUNDLED, content_of

NAMES = ["small", "large", *BUNDLED]


def of(name: str) -> list[Expected]:
    return list(expectations(content_of(name)))


def id_of(item: Expected) -> tuple[str, str, str]:
    return item.kind, item.place, item.id


@pytest.mark.parametrize("name", NAMES)
def test_every_fuse_and_relay_of_the_bill_is_looked_for(name: str) -> None:
    content = content_of(name)
    bill, catalogue = bill_of_index(content.index).parts, content.sized.requirements.catalogue
    for table, found in ((catalogue.fuses, Counter(item.fuse for item in of(name))),
                         (catalogue.relays, Counter(item.relay for item in of(name)))):  # fmt: skip
        assert {part.id: found[part.id] for part in table if found[part.id]} == {
            part.id: bill[part.id] for part in table if part.id in bill
        }


@pytest.mark.parametrize("name", NAMES)
def test_every_wire_is_tested_once(name: str) -> None:
    numbers = Counter(re.match(r"(\w+): ", point)[1] for item in of(name) for point in item.points if ": " in point)  # type: ignore[index]
    assert numbers == Counter(run.number for run in content_of(name).runs)


@pytest.mark.parametrize("name", NAMES)
def test_every_circuit_way_and_entry_has_a_row(name: str) -> None:
    content = content_of(name)
    kinds = Counter(item.kind for item in of(name))
    assert kinds["circuit"] == len(content.sized.requirements.circuits)
    assert kinds["entry"] == len(content.index.entries)
    assert {item.place for item in of(name)} >= {str(place) for place in content.index.way_by_place}


def test_a_relay_is_tested_by_its_designations() -> None:
    """DIN 72552: 30 in, 87 out, 85 to earth, 86 to the control; the return of the load is 31."""
    horn = next(item for item in of("creek-workboat") if item.id == "horn")
    text = "; ".join(horn.points)
    for point in (" 30", " 87 – load", "load – 31 (return)", " 85 – switch to 31 (return)", " 86 – "):
        assert point in text


@pytest.mark.parametrize("control", ["fuel-return", "hearth"])
def test_a_control_whose_name_ends_like_earth_or_return_keeps_it(control: str) -> None:
    content = content_of("creek-workboat")
    lead = next(run for run in content.runs if run.end.place == "switch to return")
    far = replace(lead, end=WireEnd(f"switched side of {control}"))
    assert points_text(content, lead).endswith(" – switch to 31 (return)")
    assert points_text(content, far).endswith(f" – switched side of {control}")


def test_drops_are_those_of_the_plan() -> None:
    content = content_of("creek-workboat")
    for item in of("creek-workboat"):
        if item.kind == "circuit":
            drop = content.drop_by_circuit[item.id]
            assert item.run_drop_v == pytest.approx(drop.run_v + drop.return_v)
            assert item.total_drop_v == pytest.approx(drop.total_v)
            assert 0 < item.run_drop_v < item.total_drop_v  # type: ignore[operator]


def test_millivolts_over_a_fuse() -> None:
    """Public workshop-training notes on fuse resistance: 2.4 mV over a 10 A blade of 7.70 mohm are 312 mA."""
    cold = ColdResistance(7.70, "")
    assert cold.drop_mv(0.312) == pytest.approx(2.4, abs=0.01)
    assert cold.ma_per_step == pytest.approx(312 / 24, abs=0.05)


def test_the_catalogue_s_resistance_comes_first_and_nothing_is_interpolated() -> None:
    fuses = {fuse.id: fuse for fuse in content_of("small").sized.requirements.catalogue.fuses}
    ten, five, strip = fuses["fuse-c-10"], fuses["fuse-c-5"], fuses["fuse-sf30-30"]
    assert cold_resistance(ten, PUBLISHED) == ColdResistance(7.70, PUBLISHED.fuse_cold_resistance.source)
    assert cold_resistance(five, PUBLISHED) == ColdResistance(17.5, "catalogue")
    own = ten.model_copy(update={"cold_resistance": 0.0081})
    assert cold_resistance(own, PUBLISHED) == ColdResistance(8.1, "catalogue")
    assert cold_resistance(five.model_copy(update={"cold_resistance": None}), PUBLISHED) is None
    assert cold_resistance(strip, PUBLISHED) is None


def test_quiescent_currents_are_shown_as_millivolts() -> None:
    alarm = next(item for item in of("creek-workboat") if item.id == "bilge-alarm")
    assert alarm.quiescent_ma == 6.0 and alarm.cold is not None
    assert alarm.quiescent_mv == pytest.approx(6.0 * alarm.cold.mohm / 1000)


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_the_csv_leaves_the_tester_s_columns_empty(name: str) -> None:
    rows = [row for row in csv.reader(io.StringIO(expectations_csv(content_of(name)))) if row[0] != "#"]
    assert rows[0] == [column.name for column in COLUMNS]
    assert all(set(row[-NUM_BLANKS:]) == {""} for row in rows[1:])
    assert rows[0][-NUM_BLANKS] == "fuse_found"


def test_the_sheet_has_boxes_for_what_is_found_and_none_for_what_is_not_there() -> None:
    content, expected = content_of("creek-workboat"), of("creek-workboat")
    power = power_table(content, expected)
    tested = [item for item in expected if item.kind == "spare" or item.fuse or item.relay]
    for row, item in zip(power.rows, as_fitted(content, tested), strict=True):
        cells = dict(zip(power.columns, row, strict=True))
        assert (cells["works"] == "") == (bool(item.relay) or item.kind == "supply")
        assert (cells["found, V"] == "") == (item.run_drop_v is not None)
        assert (cells["fitted"] == "") == (item.kind != "spare")
    assert set(continuity_table(content, expected).blank) == {"found", "ok"}
    assert set(quiescent_table(content, expected).blank) == {"found, mV", "ok"}
    assert set(sign_off_table().blank) == set(sign_off_table().columns)


@pytest.mark.parametrize("name", NAMES)
def test_fuses_are_fitted_after_all_that_feeds_what_is_behind_them(name: str) -> None:
    """In-line and main fuses, then a branch feed before what is on it, and the control of a relay before the relay."""
    content = content_of(name)
    order = list(as_fitted(content, of(name)))
    assert Counter(map(id_of, order)) == Counter(map(id_of, of(name)))
    outside = sum(item.kind in ("supply", "entry", "coil") for item in order)
    in_line = sum(item.kind in ("entry", "coil") for item in order)
    assert all(item.kind in ("entry", "coil") for item in order[:in_line])  # as the building steps have them
    assert all(item.kind == "supply" for item in order[in_line:outside])
    at = {item.id: number for number, item in enumerate(order) if number >= outside}
    requirements = content.sized.requirements
    sources = {feed.name: feed.source for feed in requirements.scenario.feeds}
    controls = {item.id: item.control for item in requirements.circuits}
    controls |= {feed.name: feed.control for feed in requirements.scenario.feeds}
    for item in order[outside:]:
        before = {item.feed if sources[item.feed] else None, controls.get(item.id)} - {None}
        assert all(at[str(need)] < at[item.id] for need in before), item.id


@pytest.mark.parametrize("name", NAMES)
def test_a_circuit_with_the_name_of_a_root_feed_holds_nothing_up(name: str) -> None:
    """Fuses are fitted in the same order whatever the root feed is called."""
    content, plain = content_of(name), of(name)
    roots = [feed.name for feed in content.sized.requirements.scenario.feeds if feed.source is None]
    for root in roots:
        last = [item for item in plain if item.kind == "circuit" and item.feed == root][-1:]
        for circuit in last:
            same = [replace(item, feed=circuit.id if item.feed == root else item.feed) for item in plain]
            order = [id_of(item) for item in as_fitted(content, same)]
            assert order == [id_of(item) for item in as_fitted(content, plain)]


def test_a_quiescent_current_that_is_not_stated_is_not_called_zero() -> None:
    """An empty cell says nothing, 0 A says that nothing is drawn: only one of them is a number to test against."""
    plain = content_of("creek-workboat")
    circuits = tuple(
        item.model_copy(update={"quiescent": 0.0}) if item.id == "horn" else item
        for item in plain.sized.requirements.circuits
    )
    requirements = plain.sized.requirements.model_copy(update={"circuits": circuits})
    content = Content(replace(plain.sized, requirements=requirements), plain.plan)
    stated = {item.id for item in circuits if item.quiescent is not None}
    rows = [row for row in csv.DictReader(io.StringIO(expectations_csv(content))) if row["kind"] == "circuit"]
    assert {row["circuit"] for row in rows if row["quiescent_ma"]} == stated > {"horn"}
    assert stated < {row["circuit"] for row in rows}
    assert {row["circuit"] for row in rows if row["quiescent_mv"]} <= stated
    table = quiescent_table(content, tuple(expectations(content)))
    said = {row[1]: row[2] for row in table.rows[:-1]}
    assert {name for name, text in said.items() if text != "not stated"} == stated & set(said)
    assert said["horn"] == "0" and set(said) == {
        item.id for item in expectations(content) if item.kind == "circuit" and item.fuse
    }
    assert table.rows[-1][1] == "all that state it"


@pytest.mark.parametrize("name", NAMES)
def test_list_and_sheet_have_one_order_and_one_figure(name: str) -> None:
    """The number of a row of the sheet is in the list; the drop of both is the same to the millivolt."""
    content, expected = content_of(name), of(name)
    table = power_table(content, expected)
    rows = [row for row in csv.DictReader(io.StringIO(expectations_csv(content))) if row["kind"] != "#"]
    listed = {row["order"]: row for row in rows if row["order"]}
    sheet = {row[0]: dict(zip(table.columns, row, strict=True)) for row in table.rows}
    assert list(sheet) == [str(number) for number in range(1, len(sheet) + 1)]
    assert sheet.keys() == listed.keys()
    for number, row in listed.items():
        assert row["circuit"] == sheet[number]["circuit or feed"]
        if row["run_drop_v"]:
            assert float(sheet[number]["drop, V"]) == float(row["run_drop_v"])
