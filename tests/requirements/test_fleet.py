"""What the user is told of a fleet file, word for word, and what a sound one holds."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.requirements.fleet_reading import load_fleet

SOUND = """\
name = "Two kinds"
modules = ["twin-c7", "heavy2"]

[record]
first = 2025-01-01
last = 2025-12-31

[stock]
service = "97 %"

[[stock.parts]]
part = "heavy2"
price_breaks = [{ quantity = 10, price = 9.00 }]

[[vehicles]]
name = "van"
scenario = "van"
orders_per_month = 1.25
order_sizes = [1, 2]

[[vehicles]]
name = "boat"
plan = "boat/plan.json"

[[orders]]
vehicle = "boat"
day = 2025-04-01
vehicles = 2

[[orders]]
vehicle = "van"
day = "2026-01-15"
open = true
worth = 900
"""
FAULTS = {
    "no number": ("orders_per_month = 1.25", 'orders_per_month = "often"', """\
error: "orders_per_month" of vehicle "van" is no number  [not-a-number]
  where: fleet.toml, [[vehicles]] no. 1 "van", field "orders_per_month" = "often"
  known: expected a number such as 1.5
"""),
    "below zero": ("orders_per_month = 1.25", "orders_per_month = -1", """\
error: "orders_per_month" of vehicle "van" is out of range  [out-of-range]
  where: fleet.toml, [[vehicles]] no. 1 "van", field "orders_per_month" = -1
  known: expected a number from 0 to 10000
"""),
    "two sources": ('scenario = "van"', 'scenario = "van"\nplan = "van.json"', """\
error: vehicle "van" has both a scenario and a plan  [one-source]
  where: fleet.toml, [[vehicles]] no. 1 "van"
  known: expected one of the two
"""),
    "no source": ('scenario = "van"\n', "", """\
error: vehicle "van" has neither a scenario nor a plan  [one-source]
  where: fleet.toml, [[vehicles]] no. 1 "van"
  known: expected one of the two
"""),
    "nobody orders it": ('vehicle = "boat"\nday = 2025-04-01', 'vehicle = "van"\nday = 2025-04-01', """\
error: vehicle "boat" has neither "orders_per_month" nor orders of the record  [no-demand]
  where: fleet.toml, [[vehicles]] no. 2 "boat", field "orders_per_month"
  try:   write 0 for a vehicle that is no longer expected
"""),
    "no record": ("[record]\nfirst = 2025-01-01\nlast = 2025-12-31\n", "", """\
error: vehicle "boat" is expected as the record says, and there is no table "record"  [no-record]
  where: fleet.toml, [[vehicles]] no. 2 "boat", field "orders_per_month"
  try:   give the first and the last day of the record
"""),
    "record backwards": ("last = 2025-12-31", "last = 2024-12-31", """\
error: the record ends on or before its first day  [record-order]
  where: fleet.toml, [record], field "last" = 2024-12-31
"""),
    "order outside": ("day = 2025-04-01", "day = 2026-04-01", """\
error: [[orders]] no. 1 is outside the record  [outside-record]
  where: fleet.toml, [[orders]] no. 1, field "day" = 2026-04-01
  known: the record is from 2025-01-01 to 2025-12-31
"""),
    "no such day": ('"2026-01-15"', '"2026-02-30"', """\
error: "day" of [[orders]] no. 2 is no date  [bad-date]
  where: fleet.toml, [[orders]] no. 2, field "day" = "2026-02-30"
  known: expected a day such as 2025-03-31
"""),
    "unknown vehicle": ('vehicle = "van"', 'vehicle = "vam"', """\
error: "vehicle" of [[orders]] no. 2 names the unknown vehicle "vam"  [unknown-vehicle]
  where: fleet.toml, [[orders]] no. 2, field "vehicle" = "vam"
  known: the vehicles are "van", "boat"
  try:   did you mean "van"?
"""),
    "unknown module": ('"twin-c7", "heavy2"', '"twin-c8", "heavy2"', """\
error: "modules" of the file names the unknown module "twin-c8"  [unknown-module]
  where: fleet.toml, field "modules" = ["twin-c8", "heavy2"]
  known: the modules are "twin-c7", "twin-f9", "twin-e3", "mixed-c6-f8", "c6-micro2", "f8-standard1", "e2-heavy1", \
"micro6", "standard4", "heavy2", "standard1-micro3", "single-c8-e1" and 4 more
  try:   did you mean "twin-c7"?
"""),
    "breaks fall": ("[{ quantity = 10, price = 9.00 }]",
                    "[{ quantity = 10, price = 9.00 }, { quantity = 5, price = 8.00 }]", """\
error: the quantities in the price breaks of part "heavy2" do not rise  [break-order]
  where: fleet.toml, [[stock.parts]] no. 1 "heavy2", field "price_breaks" = [a table, a table]
"""),
    "outside": ('name = "Two kinds"', 'name = "Two kinds"\ncatalogue = "../parts.toml"', """\
error: it is outside the fleet's folder  [outside-fleet]
  where: fleet.toml, field "catalogue" = "../parts.toml"
  known: expected a name within the folder of the fleet file
"""),
    "misspelt": ("order_sizes", "order_size", """\
error: vehicle "van" has the unknown field "order_size"  [unknown-field]
  where: fleet.toml, [[vehicles]] no. 1 "van", field "order_size" = [1, 2]
  known: the fields are "name", "scenario", "plan", "orders_per_month", "order_sizes"
  try:   did you mean "order_sizes"?
"""),
}  # fmt: skip


def _told(text: str) -> str:
    Path("fleet.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_fleet(Path("fleet.toml"))
    return str(caught.value) + "\n"


@pytest.mark.parametrize("name", FAULTS)
def test_the_user_is_told(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    old, new, wanted = FAULTS[name]
    assert SOUND.count(old) == 1
    assert _told(SOUND.replace(old, new)) == wanted


def test_an_unknown_part_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    told = _told(SOUND.replace('part = "heavy2"', 'part = "heavy3"'))
    assert told.startswith('error: "part" of part "heavy3" names the unknown part "heavy3"  [unknown-part]\n')
    assert told.endswith('  try:   did you mean "heavy2"?\n')


def test_all_faults_come_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = (
        SOUND.replace('"97 %"', '"197 %"').replace('scenario = "van"\n', "").replace('vehicle = "van"', 'vehicle = "x"')
    )
    assert re.findall(r"\[([a-z-]+)\]\n", _told(text)) == ["out-of-range", "one-source", "unknown-vehicle"]


def test_a_sound_file(tmp_path: Path) -> None:
    """The folder will do for the file; numbers are exact."""
    (tmp_path / "fleet.toml").write_text(SOUND, encoding="utf-8")
    fleet = load_fleet(tmp_path).fleet
    assert [vehicle.orders_per_month for vehicle in fleet.vehicles] == [Fraction(5, 4), None]
    assert (fleet.stock.service, fleet.stock.parts[0].price_breaks[0].price) == (97.0, 900)
    assert [order.day for order in fleet.orders] == ["2025-04-01", "2026-01-15"]
