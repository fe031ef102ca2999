"""The output folder: all or nothing, whatever fails, and whatever its record says."""

from __future__ import annotations

import errno
import json
from pathlib import Path

import pytest

from allocator.cli.folder import RECORD, out_folder
from allocator.errors import InputError
from tests.cli.running import contents


def _filled(folder: Path, *names: str) -> Path:
    """An output folder as an earlier run left it."""
    folder.mkdir(parents=True)
    for name in names:
        (folder / name).write_text(f"old {name}", encoding="utf-8")
    (folder / RECORD).write_text(json.dumps({"files": sorted([*names, RECORD])}), encoding="utf-8")
    return folder


def _make(out: Path, *names: str) -> list[str]:
    with out_folder(out, names) as folder:
        folder.files.mkdir()
        for name in names:
            (folder.files / name).write_text(f"new {name}", encoding="utf-8")
        return folder.place()


def test_a_new_folder_appears_with_all_above_it(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b" / "out"
    assert _make(out, "b", "a") == ["a", "b"]
    assert contents(out) == {"a": b"new a", "b": b"new b"}
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def test_nothing_is_left_of_a_folder_that_was_not_placed(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), out_folder(tmp_path / "a" / "out", []) as folder:
        folder.files.mkdir()
        raise ZeroDivisionError
    assert list(tmp_path.iterdir()) == []


def test_files_that_are_not_written_again_go(tmp_path: Path) -> None:
    out = _filled(tmp_path / "out", "stays", "goes")
    _make(out, "stays", "comes", RECORD)
    assert sorted(contents(out)) == ["comes", RECORD, "stays"]
    assert contents(out)["stays"] == b"new stays"


@pytest.mark.parametrize("fails_at", range(1, 8))
def test_a_move_that_fails_half_way_is_taken_back(
    fails_at: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Old and new sheets must never lie mixed in one folder: two plans would look like one."""
    out = _filled(tmp_path / "out", "one", "two", "three")
    before, replace = contents(out), Path.replace
    moves = []

    def failing(path: Path, target: Path) -> Path:
        moves.append(path)
        if len(moves) == fails_at:
            raise PermissionError(errno.EACCES, "open in another program", str(path))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(PermissionError):
        _make(out, "one", "two", "four", RECORD)
    assert len(moves) >= fails_at
    assert contents(out) == before


@pytest.mark.parametrize(
    "record",
    [
        "",
        "no JSON",
        "[]",
        "{}",
        '{"files": 7}',
        '{"files": [7, null]}',
        '{"files": ["../precious", "..", ".", "/etc", "a/b"]}',
        "[" * 100_000,
        "\udcff",
    ],
    ids=lambda record: record[:20].encode("ascii", "backslashreplace").decode(),
)
def test_a_record_that_is_not_ours_makes_no_file_ours(record: str, tmp_path: Path) -> None:
    """Whatever stands in it, no file is overwritten or taken away for its sake."""
    (tmp_path / "precious").write_text("mine", encoding="utf-8")
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan").write_text("mine", encoding="utf-8")
    (out / RECORD).write_bytes(record.encode("utf-8", "surrogateescape"))
    with pytest.raises(InputError, match=f"plan, {RECORD}"):
        _make(out, "plan", RECORD)
    assert (tmp_path / "precious").read_text(encoding="utf-8") == "mine"
    assert (out / "plan").read_text(encoding="utf-8") == "mine"


def test_a_folder_of_the_name_of_a_file_is_foreign(tmp_path: Path) -> None:
    out = _filled(tmp_path / "out", "plan")
    (out / "plan").unlink()
    (out / "plan").mkdir()
    (out / "plan" / "inside").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="no earlier run wrote there: plan "):
        _make(out, "plan", RECORD)
    assert contents(out / "plan") == {"inside": b"mine"}


def test_a_file_that_came_while_the_search_went_on_is_not_overwritten(tmp_path: Path) -> None:
    out = _filled(tmp_path / "out", "one")
    with pytest.raises(InputError, match="no earlier run wrote there: two "), out_folder(out, ["one"]) as folder:
        folder.files.mkdir()
        for name in ("one", "two"):
            (folder.files / name).write_text("new", encoding="utf-8")
        (out / "two").write_text("mine", encoding="utf-8")
        folder.place()
    assert contents(out)["two"] == b"mine"
    assert contents(out)["one"] == b"old one"
