"""catalogue: every part listed, every module drawn in letters, every fault told."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.requirements import load_catalogue
from allocator.requirements.reading import SHIPPED_CATALOGUE
from tests.cli import schemas
from tests.cli.running import Ran, ran
from tests.requirements.folders import changed

CATALOGUE = """\
name = "Two parts"
notice = "Invented."
currency = "EUR"

[[modules]]
id = "both"
label = "Row C 3 with a bus, row E 1, a socket"
price = 4.5
bays = 2
limit = "60 A"
rows = [
    { ways = 3, fuse_format = "C", bus = "strip", tab = "6.3 mm", strip = "strip", limit = "40 A" },
    { ways = 2, fuse_format = "SF30", bus = "stud", tab = "9.5 mm" },
    { ways = 1, fuse_format = "E", bus = "single", tab = "9.5 mm" },
]
sockets = [{ relay_class = "micro", count = 2 }, { relay_class = "heavy", count = 1 }]
stud = "M6"
stud_limit = "100 A"

[[carriers]]
id = "frame"
label = "Frame"
price = 10
bays = 4
width = "200 mm"
height = "12 cm"

[[strips]]
id = "strip"
label = "Strip"
price = 2.05
ways = 20
limit = "90 A"
derating = [{ ambient = "60 degC", factor = "80 %" }]
inlet_tab = "9.5 mm"

[[fuses]]
id = "fuse"
label = "Fuse"
price = 0.2
fuse_format = "C"
rating = "7.5 A"
voltage = "32 V"
breaking_capacity = "1 kA"

[[relays]]
id = "relay"
label = "Relay"
price = 3
relay_class = "micro"
function = "make"
voltage = "12 V"
coil = "100 ohm"
resistive = "20 A"
lamp = "10 A"
motor = "10 A"
inductive = "10 A"

[[relay_tabs]]
relay_class = "micro"
function = "make"
tabs = { 30 = "6.3 mm", 87 = "6.3 mm", 85 = "4.8 mm", 86 = "4.8 mm" }

[[relay_tabs]]
relay_class = "heavy"
function = "make"
tabs = { 30 = "9.5 mm", 87 = "9.5 mm", 85 = "6.3 mm", 86 = "6.3 mm" }

[[terminals]]
id = "tab"
label = "Tab"
price = 0.1
kind = "tab"
tab = "6.3 mm"
smallest_wire = "1 mm2"
largest_wire = "14 AWG"
limit = "20 A"

[[wires]]
id = "wire"
label = "Wire"
price = 0.5
area = "1 mm2"
"""

SHOWN = """\
Two parts
Invented.
Wire for a feed tail 0.4 m, a short jumper 0.1 m, a long jumper 0.5 m

Modules
  both: Row C 3 with a bus, row E 1, a socket, 4.50 EUR; 2 bays, 3 ways C, 2 ways SF30, 1 way E, 60 A up to 40 degC
      A  C C C
         = = =  strip strip, 40 A; outputs 6.3 mm
      B  SF30 SF30
         #### ####  solid bus, stud M6; outputs 9.5 mm
      C  E
         .  each fed singly; outputs 9.5 mm
         S1 S2  micro
         S3  heavy

Carriers
  frame  Frame  10.00 EUR  bays 4, width 200 mm, height 120 mm

Strips
  strip  Strip  2.05 EUR  ways 20, limit 90 A, derating 60 degC 80 %, inlet tab 9.5 mm

Fuses
  fuse  Fuse  0.20 EUR  fuse format C, rating 7.5 A, voltage 32 V, breaking capacity 1000 A

Relays
  relay  Relay  3.00 EUR  relay class micro, function make, voltage 12 V, coil 100 ohm, resistive 20 A, \
lamp 10 A, motor 10 A, inductive 10 A

Tabs of relay sockets, mm by terminal
  micro  make  30: 6.3, 87: 6.3, 85: 4.8, 86: 4.8
  heavy  make  30: 9.5, 87: 9.5, 85: 6.3, 86: 6.3

Terminals
  tab  Tab  0.10 EUR  kind tab, tab 6.3 mm, smallest wire 1 mm2, largest wire 2.081 mm2, limit 20 A

Wires
  wire  Wire  0.50 EUR  area 1 mm2
"""


@pytest.fixture
def parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("parts.toml").write_text(CATALOGUE, encoding="utf-8")
    return Path("parts.toml")


def test_parts_and_modules_are_shown(parts: Path) -> None:
    assert ran("catalogue", "show", parts) == Ran(0, SHOWN, "")


def test_parts_are_counted(parts: Path) -> None:
    assert ran("catalogue", "check", parts) == Ran(
        0,
        "parts.toml: no fault found\n"
        "  1  modules\n  1  carriers\n  1  strips\n  1  fuses\n  1  relays\n  1  terminals\n  1  wires\n  0  studs\n"
        "  0  holders\n  0  main_holders\n  0  accessories\n",
        "",
    )
    data = ran("catalogue", "check", parts, "--json").data
    assert data["num_parts_by_table"]["fuses"] == 1
    assert (data["command"], data["file"]) == ("catalogue check", "parts.toml")


def test_the_catalogue_that_ships_is_shown_whole() -> None:
    """Every part of it has a line, and none is called by anything but its own id."""
    lines = ran("catalogue", "show").stdout.splitlines()
    shown = {line.split()[0].removesuffix(":") for line in lines if line.startswith("  ") and line[2] != " "}
    catalogue = load_catalogue()
    shown -= {tabs.relay_class for tabs in catalogue.relay_tabs}
    tables = (getattr(catalogue, name) for name in type(catalogue).model_fields)
    parts = {part.id for table in tables if isinstance(table, tuple) for part in table if hasattr(part, "id")}
    assert shown == parts
    assert catalogue.notice in lines


def test_as_json(parts: Path) -> None:
    """What is printed is what would be read again."""
    assert ran("catalogue", "show", "--json").data["catalogue"] == load_catalogue().model_dump(mode="json")


@pytest.mark.parametrize("command", ["show", "check"])
def test_faults(command: str, parts: Path) -> None:
    text = changed(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), ("price = 6.85", "price = -1"))
    parts.write_text(text.replace('strip = "strip-f"', 'strip = "strip-g"', 1), encoding="utf-8")
    result = ran("catalogue", command, parts, "--json")
    assert result.status == 2
    schemas.check(result.data, schemas.refused(f"catalogue {command}", 2))
    assert {fault["rule"] for fault in result.data["faults"]} == {"bad-price", "unknown-strip"}
    assert all(fault["where"].startswith("parts.toml, ") for fault in result.data["faults"])
    assert result.stderr.count("error: ") == 2


def test_no_such_file(parts: Path) -> None:
    assert ran("catalogue", "show", "part.toml") == Ran(
        2,
        "",
        'error: there is no file "part.toml"  [no-file]\n  where: part.toml\n  try:   did you mean "parts.toml"?\n',
    )
