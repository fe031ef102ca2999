"""Whatever stands in a file, the user gets requirements or faults: never a traceback, never a word of a library."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import InputError
from allocator.requirements import load_scenario, requirements_from_json, requirements_to_json
from allocator.requirements.cells import COLUMNS
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, write

LIBRARY_WORDS = ("pydantic", "validation error", "Input should", "Traceback", "http", "pint", "[bad-value]")
NEAR_MISSES = st.sampled_from(
    [
        "6 A", "6", "6,5 A", "-1 A", "1e99 A", "1e-99 W", "9" * 13 + " A", "2 x 21 W + 5 W", "0 x 5 W", "+", "x", "2 x",
        "14 AWG", "00 AWG", "99 AWG", "mm2", "1 mm2", "1 m**9**9", "1 A/A", "1 %", "1 °C", "300 K", "1 A A", "1 m^2^9",
        "yes", "no", "battery", "key;key", ";", ":", "front: 1 m", "front:", ": 1 m", "front/1/A/1", "/", "front/1/Z",
        "lamp@row", "@", "lamp@", "@row", "motor", "none", "relay", "flasher", "switch", "pump", "=1+1", "\u202e",
        "\ud7ff", "nan A", "inf A", "1_0 A", "٣ A", "1 \u00b5A", "٣", "\x00", "1.", ".5 A", "5 years", "0x10 A",
    ]
)  # fmt: skip
CELL = st.one_of(NEAR_MISSES, st.text(max_size=30), st.text("0123456789.,eE+-xAWmVhC %@:;/", max_size=12))
TOML_LEAF = st.one_of(
    NEAR_MISSES, st.text(max_size=20), st.integers(), st.booleans(), st.floats(), st.none(), st.just([]), st.just({})
)


def _read(folder: Path) -> None:
    try:
        load_scenario(folder)
    except InputError as error:
        text = str(error)
        assert all(fault.where for fault in error.faults)
        assert not [word for word in LIBRARY_WORDS if word in text], text


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


@given(st.dictionaries(st.sampled_from(COLUMNS), CELL, min_size=1, max_size=6))
@settings(max_examples=150, deadline=None)
def test_any_cells(cells: dict[str, str]) -> None:
    row = {
        "id": "extra",
        "label": "Extra",
        "load": "1 A",
        "load_type": "led",
        "feeds": "battery",
        "length": "1 m",
    } | cells
    table = ",".join(row) + "\n" + ",".join(_quoted(cell) for cell in row.values()) + "\n"
    with tempfile.TemporaryDirectory() as folder:
        _read(write(Path(folder), circuits=table.encode("utf-8", "surrogatepass")))


@given(st.text(max_size=200) | st.text(',;"\n\r idlamp', max_size=60), st.booleans())
@settings(max_examples=60, deadline=None)
def test_any_text_as_a_table(text: str, headed: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        _read(write(Path(folder), circuits=(CIRCUITS + text if headed else text).encode("utf-8", "surrogatepass")))


@given(st.binary(max_size=200))
@settings(max_examples=40, deadline=None)
def test_any_bytes_as_any_file(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = write(Path(name), circuits=content)
        _read(folder)
        (folder / "circuits.csv").rename(folder / "circuits.xlsx")
        _read(folder)
        (folder / "scenario.toml").write_bytes(content)
        _read(folder)


@given(st.text(max_size=80))
@settings(max_examples=60, deadline=None)
def test_any_text_within_the_scenario(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        _read(
            write(
                Path(folder),
                scenario=changed(SCENARIO, ('[[panels]]\nname = "rear"', text + '\n[[panels]]\nname = "rear"')),
            )
        )


def _paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [*([path] if path else []), *(found for key, value in inner for found in _paths(value, (*path, key)))]


with tempfile.TemporaryDirectory() as _folder:
    SOUND = json.dumps(requirements_to_json(load_scenario(write(Path(_folder)))))
PATHS = _paths(json.loads(SOUND))


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_any_value_at_any_place_of_a_plan(data: st.DataObject) -> None:
    """Every field of every table, catalogue and rules too, is overwritten with something that may not belong there."""
    changed_data = json.loads(SOUND)
    for path in data.draw(st.lists(st.sampled_from(PATHS), min_size=1, max_size=3)):
        place = changed_data
        try:
            for key in path[:-1]:
                place = place[key]
            place[path[-1]] = data.draw(TOML_LEAF)
        except (TypeError, KeyError, IndexError):
            continue  # an earlier change took this place away
    try:
        requirements_from_json(changed_data)
    except InputError as error:
        assert not [word for word in LIBRARY_WORDS if word in str(error)], str(error)
