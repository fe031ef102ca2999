"""A small sound scenario folder, and copies of it with something changed: what the tests of the input room read."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from allocator.errors import InputError
from allocator.requirements import load_scenario
from allocator.requirements.reading import SHIPPED_CATALOGUE

SCENARIO = """\
[vehicle]
name = "Milk float"
nominal_voltage = "12 V"
operating_voltage = "14 V"
minimum_voltage = "11 V"

[supply]
charger_rating = "90 A"
battery_capacity = "100 Ah"
fault_current = "800 A"

[[panels]]
name = "front"
ambient = "40 degC"
max_bays = 6
supply_distance = "2 m"

[[panels]]
name = "rear"
ambient = "35 degC"
max_bays = 4
supply_distance = "5 m"

[[feeds]]
name = "battery"
kind = "permanent"
rating = "60 A"

[[feeds]]
name = "key"
kind = "ignition"
rating = "40 A"
source = "battery"
fuse_format = "E"
relay_class = "heavy"
control = "switch"
home = "front"

[[load_cases]]
name = "round"
engine_running = true
hours = "3 h"

[[load_cases]]
name = "parked"
engine_running = false
hours = "10 h"
"""

CIRCUITS = """\
id,label,load,load_type,feeds,panels,switching,control,length,critical,key_out,separate_from,together_with,pin,order
switch,Key switch,1 A,electronics,battery,front,,,2 m,,,,,,
lamp,Lamp,21 W,filament-lamp,battery;key,,,,front: 3 m; rear: 4 m,yes,,,,,
pump,Pump,6 A,motor,battery;key,front,relay,switch,2.5 m,,,lamp@row,,,
"""


def changed(text: str, *edits: tuple[str, str]) -> str:
    """Return the text with each edit made once; an edit that finds nothing would test nothing."""
    for old, new in edits:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    return text


def write(folder: Path, scenario: str = SCENARIO, circuits: str | bytes | None = CIRCUITS) -> Path:
    """Write a scenario folder and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "scenario.toml").write_text(scenario, encoding="utf-8")
    if circuits is not None:
        content = circuits if isinstance(circuits, bytes) else circuits.encode()
        (folder / "circuits.csv").write_bytes(content)
    return folder


def catalogue_text(edits: Mapping[str, str]) -> str:
    """Return the text of the catalogue that ships, with each edit made once."""
    return changed(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), *edits.items())


def faults_text(folder: Path) -> str:
    """Return the whole text of what is wrong with a scenario folder."""
    try:
        load_scenario(folder)
    except InputError as error:
        return str(error)
    raise AssertionError("no fault was found")
