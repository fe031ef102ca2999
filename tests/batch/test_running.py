"""The loop that gives out tasks, with engines whose every move is the test's: deaths, hung work, a stop."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from pathlib import Path

import pytest

from allocator.batch.keeping import Results
from allocator.batch.rows import Made, Row
from allocator.batch.running import Batch, Standing, finish, look
from allocator.batch.tasks import Task
from tests.batch.folders import batch_of, write_plain

NAMES = ("a", "b", "c", "d")


class Died(Exception):  # noqa: N818
    """What the engine of these tests raises for a dead worker."""


class Hung(Exception):  # noqa: N818
    """What it raises for one that had to be ended."""


class Scripted:
    """An engine that does each task at once, in the way that the test says."""

    tries = 2
    died: tuple[type[BaseException], ...] = (Died,)
    hung: tuple[type[BaseException], ...] = (Hung,)
    width = 2

    def __init__(self, does: Callable[[str, int], Made]) -> None:
        self.does, self.given, self.most, self.closed = does, Counter[str](), 0, False
        self.open: set[Future[Made]] = set()

    def submit(self, task: Task) -> Future[Made]:
        future: Future[Made] = Future()
        self.given[task.name] += 1
        self.open = {other for other in self.open if not other.done()} | {future}
        self.most = max(self.most, len(self.open))
        try:
            made = self.does(task.name, self.given[task.name])
        except Exception as error:
            future.set_exception(error)
        else:
            future.set_result(made)
        return future

    def close(self) -> None:
        self.closed = True


def well(name: str, _: int) -> Made:
    return Made(Row(scenario=name, status="done"), files={"plan.json": name.encode()})


@pytest.fixture
def batch(tmp_path: Path) -> Batch:
    for name in NAMES:
        write_plain(tmp_path / "in", name)
    return batch_of(tmp_path / "in")


@pytest.fixture
def results(tmp_path: Path) -> Results:
    found = Results(tmp_path / "results")
    found.folder.mkdir()
    return found


def run(batch: Batch, results: Results, engine: Scripted, stop: threading.Event | None = None) -> Standing:
    standing = look(batch, results)
    seen: list[str] = []
    finish(batch, standing, engine, results, stop=stop or threading.Event(), told=lambda row: seen.append(row.scenario))
    assert engine.closed
    assert sorted(seen) == sorted({*engine.given} & {*standing.rows}), "every kept result is told, once"
    return standing


def statuses(standing: Standing) -> dict[str, str]:
    return {row.scenario: row.status for row in standing.table}


def test_every_scenario_is_done_once_and_the_next_run_does_nothing(batch: Batch, results: Results) -> None:
    first, second = Scripted(well), Scripted(well)
    assert statuses(run(batch, results, first)) == dict.fromkeys(NAMES, "done")
    assert first.given == Counter(NAMES)
    assert statuses(run(batch, results, second)) == dict.fromkeys(NAMES, "done")
    assert second.given == Counter()


def test_only_a_changed_scenario_is_done_again(batch: Batch, results: Results) -> None:
    run(batch, results, Scripted(well))
    with (batch.folder / "c" / "circuits.csv").open("a", encoding="utf-8") as stream:
        stream.write("\n")
    again = Scripted(well)
    run(batch, results, again)
    assert again.given == Counter("c")


def test_a_scenario_whose_worker_died_is_tried_again(batch: Batch, results: Results) -> None:
    def once(name: str, number: int) -> Made:
        if name == "b" and number == 1:
            raise Died
        return well(name, number)

    engine = Scripted(once)
    standing = run(batch, results, engine)
    assert statuses(standing) == dict.fromkeys(NAMES, "done")
    assert engine.given == Counter((*NAMES, "b"))
    assert standing.deaths == Counter("b")


def test_one_that_kills_every_worker_is_told_and_tried_by_the_next_run(batch: Batch, results: Results) -> None:
    def deadly(name: str, number: int) -> Made:
        if name == "b":
            raise Died("killed")
        return well(name, number)

    engine = Scripted(deadly)
    assert statuses(run(batch, results, engine)) == dict.fromkeys(NAMES, "done") | {"b": "worker died"}
    assert engine.given["b"] == engine.tries
    assert "worker-died" in (results.folder / "b" / "faults.txt").read_text(encoding="utf-8")
    again = Scripted(well)
    assert statuses(run(batch, results, again)) == dict.fromkeys(NAMES, "done")
    assert again.given == Counter("b")


@pytest.mark.parametrize(("error", "status"), [(Hung(), "no plan in time"), (ModuleNotFoundError("no"), "failed")])
def test_what_else_befalls_one_does_not_stop_the_others(
    batch: Batch, results: Results, error: Exception, status: str
) -> None:
    def badly(name: str, number: int) -> Made:
        if name == "a":
            raise error
        return well(name, number)

    assert statuses(run(batch, results, Scripted(badly))) == dict.fromkeys(NAMES, "done") | {"a": status}


def test_a_lost_cluster_ends_the_batch_and_keeps_what_is_done(batch: Batch, results: Results) -> None:
    def lost(name: str, number: int) -> Made:
        if name == "c":
            raise CancelledError
        return well(name, number)

    standing = run(batch, results, Scripted(lost))
    assert standing.was_left
    found = statuses(standing)
    assert (found["a"], found["b"], found["c"]) == ("done", "done", "not done")


def test_a_stop_keeps_what_has_come(batch: Batch, results: Results) -> None:
    stop = threading.Event()

    def stopping(name: str, number: int) -> Made:
        if name == "b":
            stop.set()
        return well(name, number)

    standing = run(batch, results, Scripted(stopping), stop)
    assert statuses(standing) == {"a": "done", "b": "done", "c": "not done", "d": "not done"}


def test_no_more_is_given_out_than_the_engine_can_use(batch: Batch, results: Results) -> None:
    class Late(Scripted):
        def submit(self, task: Task) -> Future[Made]:
            future: Future[Made] = Future()
            self.open = {other for other in self.open if not other.done()} | {future}
            self.most = max(self.most, len(self.open))
            self.given[task.name] += 1
            threading.Timer(0.01, lambda: future.set_result(well(task.name, 1))).start()
            return future

    engine = Late(well)
    run(batch, results, engine)
    assert engine.most == engine.width


def test_a_scenario_that_cannot_be_read_is_a_row_of_its_own(batch: Batch, results: Results) -> None:
    standing = look(batch, results)
    for path in (batch.folder / "b").iterdir():
        path.unlink()
    (batch.folder / "b").rmdir()
    finish(batch, standing, Scripted(well), results, stop=threading.Event(), told=lambda row: None)
    assert statuses(standing) == dict.fromkeys(NAMES, "done") | {"b": "bad input"}
