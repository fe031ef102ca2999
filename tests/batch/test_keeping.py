"""A result counts only when it is whole and of the same input; nothing of others is touched."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.batch.keeping import RECORD, Results
from allocator.batch.rows import FINAL, STATUSES, Made, Row, Status
from allocator.errors import InputError

NAME, KEY = "van", "fingerprint"


def made(text: str = "a plan", status: Status = "done") -> Made:
    return Made(Row(scenario=NAME, status=status), files={"plan.json": text.encode(), "parts.csv": b"parts"})


@pytest.fixture
def results(tmp_path: Path) -> Results:
    found = Results(tmp_path / "results")
    found.folder.mkdir()
    return found


def test_a_kept_result_counts_for_its_fingerprint_alone(results: Results) -> None:
    results.keep(made(), KEY)
    assert results.finished(NAME, KEY) == made().row
    assert results.finished(NAME, "another") is None
    assert results.finished("bus", KEY) is None


@pytest.mark.parametrize("status", STATUSES)
def test_only_what_would_come_out_again_counts(results: Results, status: Status) -> None:
    results.keep(made(status=status), KEY)
    assert (results.finished(NAME, KEY) is not None) == (status in FINAL)


@pytest.mark.parametrize("file", ["plan.json", "parts.csv", RECORD])
def test_a_result_that_lacks_a_file_or_was_torn_does_not_count(results: Results, file: str) -> None:
    results.keep(made(), KEY)
    path = results.folder / NAME / file
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    assert results.finished(NAME, KEY) is None
    path.unlink()
    assert results.finished(NAME, KEY) is None
    path.write_bytes(whole)
    assert results.finished(NAME, KEY) is not None


def test_a_new_result_takes_the_place_of_the_old_one_as_a_whole(results: Results) -> None:
    results.keep(made("old"), "old key")
    results.keep(Made(made().row, files={"plan.json": b"new"}), KEY)
    place = results.folder / NAME
    assert sorted(path.name for path in place.iterdir()) == ["plan.json", RECORD]
    assert (place / "plan.json").read_bytes() == b"new"
    assert [path.name for path in results.folder.iterdir()] == [NAME]


def test_a_result_that_cannot_be_written_leaves_the_old_one(results: Results, monkeypatch: pytest.MonkeyPatch) -> None:
    results.keep(made("old"), KEY)
    real = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if self.suffix == ".part":
            raise OSError(28, "No space left on device")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(OSError, match="No space left"):
        results.keep(made("new"), KEY)
    assert (results.folder / NAME / "plan.json").read_bytes() == b"old"
    assert [path.name for path in results.folder.iterdir()] == [NAME]


def test_what_a_killed_batch_left_half_made_is_taken_away(results: Results) -> None:
    for name in (".van.part", ".van.old"):
        (results.folder / name).mkdir()
        (results.folder / name / "plan.json").write_text("half", encoding="utf-8")
    (results.folder / ".mine").mkdir()
    with results.opened():
        assert sorted(path.name for path in results.folder.iterdir()) == [".in-use", ".mine"]


def test_two_batches_cannot_write_to_one_place(results: Results) -> None:
    with (
        results.opened(),
        pytest.raises(InputError, match="another batch is at work"),
        Results(results.folder).opened(),
    ):
        pass
    with results.opened():  # the lock ends with its batch
        pass


def test_files_of_others_are_never_replaced(results: Results) -> None:
    results.keep(made(), KEY)
    (results.folder / NAME / "notes.txt").write_text("mine", encoding="utf-8")
    (results.folder / "file").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        results.refuse_foreign([NAME, "file", "bus"])
    assert [fault.rule for fault in caught.value.faults] == ["foreign-files", "not-a-folder"]
    assert "notes.txt" in caught.value.faults[0].message
    assert results.finished(NAME, KEY) is not None  # it counts all the same
