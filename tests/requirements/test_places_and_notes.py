"""What the user is told of a row of kept places, and of a note of what was done at the vehicle, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.requirements import load_scenario
from allocator.requirements.kept_places import with_kept_places
from allocator.requirements.vehicle_notes import read_notes
from tests.requirements.folders import write


def test_a_kept_place_that_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("keep.csv").write_text("circuit,place\nlamps,front/1\nlamp,frunt/1\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        with_kept_places(load_scenario(write(Path("float"))), Path("keep.csv"))
    assert str(caught.value) == (
        'error: there is no circuit "lamps"  [kept-place]\n'
        '  where: keep.csv, row 2, circuit "lamps" at "front/1"\n'
        '  try:   did you mean "lamp"?\n'
        'error: there is no panel "frunt"  [kept-place]\n'
        '  where: keep.csv, row 3, circuit "lamp" at "frunt/1"\n'
        '  known: panels are "front", "rear"\n'
        '  try:   did you mean "front"?'
    )


def test_a_note_of_nothing_known(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("notes.csv").write_text("day,by,circuit,what,value,remark\n2025-03-31,me,lamp,fuze,15 A,\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_notes(Path("notes.csv"))
    assert str(caught.value) == (
        "error: what was done is unknown  [vehicle-note]\n"
        '  where: notes.csv, row 2, field "what" = "fuze"\n'
        '  known: expected "way", "socket", "fuse", "wire", "added", "removed"\n'
        '  try:   did you mean "fuse"?'
    )
