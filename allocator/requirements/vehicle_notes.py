"""
Changes made at the vehicle after building, one dated line each: ``notes.csv`` in, typed notes out.

Columns: ``day``, ``by``, ``circuit``, ``what``, ``value``, ``remark``. What was done is one of the words below; on it
depends what stands in ``value``. All faults of the file come at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal, get_args

from pydantic import BaseModel, Field, ValidationError, create_model

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Identifier, Strict, Text
from allocator.requirements.markings import Day
from allocator.requirements.places import Item, Spot, did_you_mean, quoted
from allocator.requirements.scenario import Circuit
from allocator.requirements.tables import TableRow, read_csv
from allocator.requirements.translating import faults_of

Done = Literal["way", "socket", "fuse", "wire", "added", "removed"]
VALUES: dict[Done, str] = {
    "way": "the way that the circuit is in now, such as cabin/2/A/3",
    "socket": "the socket that its relay is in now, such as cabin/2/S1",
    "fuse": 'the rating of its fuse now, such as "10 A"',
    "wire": 'the size of its load wire now, such as "2.5 mm2" or "14 AWG"',
    "added": 'way; load; kind of load; length; wire; fuse: "cabin/2/A/3; 2 A; electronics; 3 m; 1 mm2; 5 A"',
    "removed": "nothing",
}
"""What stands in ``value``, by what was done."""
COLUMNS = ("day", "by", "circuit", "what", "value", "remark")
WORDS: tuple[Done, ...] = get_args(Done)
ADDED = ("load", "load_type", "length", "wire", "fuse_rating")
"""What stands behind the way of a circuit that was added, as fields of a circuit."""
NUM_ADDED = 1 + len(ADDED)
FIELDS: Mapping[Done, tuple[str, ...]] = {"fuse": ("fuse_rating",), "wire": ("wire",), "added": ADDED}
"""The fields of a circuit that a note says."""


class VehicleNote(Strict):
    """One change made at the vehicle."""

    day: Day
    by: Text = Field("", max_length=40)
    circuit: Identifier
    what: Done
    value: Text = Field("", max_length=200)
    remark: Text = Field("", max_length=200)

    @property
    def way(self) -> str:
        """The way of a circuit that was added."""
        return self.value.split(";")[0].strip()

    @property
    def fields(self) -> dict[str, Any]:
        """The fields of a circuit that the note says, as they stand in a file."""
        return _fields(self.what, self.value)


def _fields(done: Done, value: str) -> dict[str, Any]:
    texts = value.split(";")[1:] if done == "added" else [value]
    fields: dict[str, Any] = {name: text.strip() for name, text in zip(FIELDS.get(done, ()), texts, strict=False)}
    return fields | ({"length": {"": fields["length"]}} if "length" in fields else {})


def _model_of(done: Done) -> type[BaseModel]:
    infos = {name: Circuit.model_fields[name] for name in FIELDS[done]}
    fields: dict[str, Any] = {name: (info.annotation, info) for name, info in infos.items()}
    return create_model(f"Noted{done.title()}", __base__=Strict, **fields)


_MODELS: Mapping[Done, type[BaseModel]] = {done: _model_of(done) for done in FIELDS}


def read_notes(path: Path) -> tuple[Item[VehicleNote], ...]:
    """
    Read the notes of a vehicle with their rows, in the order in which they are written.

    Raises
    ------
    InputError
        With a fault for every row that cannot be read.
    """
    table = read_csv(path, path.as_posix(), COLUMNS, of_what="notes")
    faults = list(table.faults)
    notes: list[Item[VehicleNote]] = []
    for row in table.rows:
        spot = Spot(table.file, f"row {row.number}", "the note", (row.number,), row.cells)
        wrong = list(_word_faults(row, spot)) or list(_value_faults(row, spot))
        if not wrong:
            try:
                notes.append(Item(spot, VehicleNote.model_validate(row.cells)))
            except ValidationError as error:
                wrong = [placed.fault for placed in faults_of(error, VehicleNote, spot, frozenset())]
        faults += wrong
    if faults:
        raise InputError(faults)
    return tuple(notes)


def _word_faults(row: TableRow, spot: Spot) -> Iterator[Fault]:
    word, value = row.cells.get("what"), row.cells.get("value", "")
    if word is None:
        return
    done = next((known for known in WORDS if known == word), None)
    if done is None:
        message, known = "what was done is unknown", f"expected {quoted(WORDS)}"
        yield spot.fault("vehicle-note", message, "what", known=known, hint=did_you_mean(word, WORDS)).fault
        return
    wrong = bool(value) if done == "removed" else not value
    if done == "added":
        wrong = len(value.split(";")) != NUM_ADDED
    if wrong:
        message = f'the value does not say what "{done}" needs'
        yield spot.fault("vehicle-note", message, "value", known=f"expected {VALUES[done]}").fault


def _value_faults(row: TableRow, spot: Spot) -> Iterator[Fault]:
    """Yield what is wrong with loads, lengths, wires and fuses."""
    done = next((known for known in FIELDS if known == row.cells.get("what")), None)
    if done is None:
        return
    raw = _fields(done, row.cells["value"])
    try:
        _MODELS[done].model_validate(raw)
    except ValidationError as error:
        for placed in faults_of(error, _MODELS[done], replace(spot, raw=raw), frozenset()):
            yield replace(placed.fault, where=spot.where("value"))
