"""``allocator stock``: the example fleet from its file to its files, and what goes wrong on the way."""

from __future__ import annotations

import csv
import shutil
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from allocator.notices import CAUTIONS
from allocator.outputs.stock.files import STOCK_FILES
from tests.cli.running import SCENARIOS, Ran, ran

FLEET = SCENARIOS / "example-fleet"


@cache
def stocked() -> tuple[Ran, dict[str, bytes]]:
    """Run the example once for all tests."""
    with TemporaryDirectory() as folder:
        result = ran("stock", FLEET, "--out", Path(folder) / "out", "--json", "--jobs", "1")
        files = {path.name: path.read_bytes() for path in sorted((Path(folder) / "out").iterdir())}
    return result, files


def rows(name: str) -> list[dict[str, str]]:
    return [row for row in csv.DictReader(stocked()[1][name].decode().splitlines()) if "#" not in row.values()]


def test_the_example_fleet() -> None:
    result, files = stocked()
    assert (result.status, result.stderr) == (0, "")
    assert set(STOCK_FILES) | {"cover.png", "service.svg", "run.json"} <= set(files)
    data = result.data
    assert [point["module_types"] for point in data["range"]] == [2, 3]
    assert all(point["exact"] and point["known"] == "best possible" for point in data["range"])
    assert data["open_orders_proven"] is True
    assert CAUTIONS[0] in data["cautions"]
    assert CAUTIONS[0] in files["summary.txt"].decode().replace("\n    ", " ")
    for name in files:
        if name.endswith(".csv"):
            assert CAUTIONS[0] in files[name].decode()


def test_the_curve_falls_and_every_vehicle_has_a_checked_plan() -> None:
    curve = rows("range.csv")
    bays = [float(row["bays_per_year"]) for row in curve]
    assert bays == sorted(bays, reverse=True)
    assert {row["known_from"] for row in rows("range-vehicles.csv")} == {"checked plan"}


def test_the_summary_says_why_no_fewer_types_do_and_what_each_type_is_worth() -> None:
    result, files = stocked()
    summary = " ".join(files["summary.txt"].decode().split())
    assert result.data["fewest_types_proven"] is True
    assert "2 types at least: no set of fewer types builds every vehicle" in summary
    left_out = rows("range-without.csv")
    assert left_out and {row["must_stay"] for row in left_out} == {"no"}
    for row in left_out:
        bays, price = float(row["bays_more_per_year"]), float(row["price_more_per_year"])
        assert f"{row['left_out']} {bays:.1f} bays, {price:.2f} EUR" in summary


def test_purchases_and_cuts_are_in_the_data_as_in_the_lists() -> None:
    """Line by line, and every piece is cut from a length that holds it."""
    data = stocked()[0].data
    assert [
        (item["needed_by"], item["part"], str(item["quantity"]), str(item["lead_days"])) for item in data["purchases"]
    ] == [(row["needed_by"], row["part"], row["quantity"], row["lead_days"]) for row in rows("purchases.csv")]
    assert [
        (item["part"], item["colour"], str(item["lengths"]), str(item["one_by_one"]), item["known"])
        for item in data["cuts"]
    ] == [(row["part"], row["colour"], row["lengths"], row["one_by_one"], row["proof"]) for row in rows("cuts.csv")]
    lengths = [length for item in data["cuts"] for length in item["cut_from"]]
    assert len(lengths) == len(rows("cut-pieces.csv")) > 0
    assert all(sum(length["pieces"]) + length["left"] == length["of"] for length in lengths)
    assert data["ordered_together"]["every_days"] > 0
    assert sum(not item["build_now"] for item in data["open_orders"]) == 0 or data["open_orders_lacking"]


def test_every_part_that_is_kept_has_the_service_asked_for() -> None:
    wanted = {"frame-3": 99.0}
    kept = rows("quantities.csv")
    assert len(kept) > 40
    for row in kept:
        assert float(row["service_percent"]) >= wanted.get(row["part"], 95.0)


def test_gritters_come_as_the_record_says() -> None:
    """Three orders in 2025 with six vehicles: half a vehicle a month, and one frame for each."""
    frame = next(row for row in rows("quantities.csv") if row["part"] == "frame-3")
    assert (frame["per_month"], frame["largest_order"]) == ("0.50", "3")


def test_the_same_fleet_gives_the_same_bytes(tmp_path: Path) -> None:
    """With two vehicles at once, too."""
    assert ran("stock", FLEET / "fleet.toml", "--out", tmp_path / "out", "--jobs", "2").status == 0
    files = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert {name: files[name] for name in files if name != "run.json"} == {
        name: content for name, content in stocked()[1].items() if name != "run.json"
    }


def test_faults_of_all_vehicles_come_at_once(tmp_path: Path) -> None:
    fleet = tmp_path / "fleet"
    shutil.copytree(FLEET, fleet)
    for vehicle in ("day-camper", "road-gritter"):
        path = fleet / vehicle / "scenario.toml"
        path.write_text(path.read_text(encoding="utf-8").replace("max_bays", "max_bais"), encoding="utf-8")
    result = ran("stock", fleet, "--out", tmp_path / "out")
    assert result.status == 2 and result.stdout == ""
    assert result.stderr.count("error:") == 2
    assert not (tmp_path / "out").exists()


def test_a_vehicle_that_cannot_be_built_is_named(tmp_path: Path) -> None:
    fleet = tmp_path / "fleet"
    shutil.copytree(FLEET, fleet)
    path = fleet / "market-trailer" / "scenario.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('rating = "80 A"', 'rating = "60 A"'), encoding="utf-8")
    result = ran("stock", fleet, "--out", tmp_path / "out")
    assert result.status == 3
    assert result.stderr.startswith("error: no plan can be made: vehicle trailer: no plan, whatever types are kept")
    assert not (tmp_path / "out").exists()


def test_a_limit_that_is_no_limit(tmp_path: Path) -> None:
    result = ran("stock", FLEET, "--out", tmp_path / "out", "--plan-limit", "0")
    assert (result.status, result.stdout) == (2, "")
    assert "--plan-limit 0" in result.stderr
