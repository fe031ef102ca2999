"""
One call of the solver: limits in, a status that was read and values that may be read out.

The solve runs in a thread of its own while the caller waits on an event, so that an interrupt or a limit stops it at
once and the best solution is kept. Deterministic limits come first; wall time is the guard behind them.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Literal, Protocol

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import CpModel, IntVar

Status = Literal["optimal", "feasible", "infeasible", "unknown"]
_STATUS: Mapping[cp_model.CpSolverStatus, Status] = {
    cp_model.OPTIMAL: "optimal",
    cp_model.FEASIBLE: "feasible",
    cp_model.INFEASIBLE: "infeasible",
    cp_model.UNKNOWN: "unknown",
}
SEED = 20
INCLUSION_WORK = 0
"""Presolve does not compare sets of variables: ortools 9.15 loses best solutions where it does (its issue 5293)."""
POLL_S = 0.05
MANY_WORKERS = 8
"""With fewer threads a proof is left to one: with two the solver took ten times the effort to prove counts."""


@dataclass
class Clock:
    """Wall time and interrupts of one allocation, shared by all of its solves."""

    deadline: float
    workers: int = 1
    stop: threading.Event = field(default_factory=threading.Event)
    progress: Callable[[str], None] | None = None
    was_cut: bool = False
    """Whether a solve or a part was ended by wall time or an interrupt, so that the result depends on time."""
    abandoned: bool = False
    """Whether nobody waits for the result any more."""

    @property
    def left_s(self) -> float:
        """Seconds to the deadline; 0 when stopped."""
        return 0.0 if self.stop.is_set() or self.abandoned else max(0.0, self.deadline - time.monotonic())

    def with_grace(self, grace_s: float) -> Clock:
        """Return a clock that others stop as they do this one, with so much time left at least."""
        return replace(self, deadline=max(self.deadline, time.monotonic() + grace_s))

    def within(self, most_s: float) -> Clock:
        """Return a clock that others stop as they do this one, with so much time at most."""
        return replace(self, deadline=min(self.deadline, time.monotonic() + most_s))

    @contextmanager
    def part(self, share: float) -> Iterator[None]:
        """Leave only a share of the time that is left, until the end of the block; what uses it up was cut."""
        deadline = self.deadline
        self.deadline -= (1 - share) * self.left_s
        try:
            yield
        finally:
            self.was_cut = self.was_cut or self.left_s <= 0
            self.deadline = deadline

    def say(self, text: str) -> None:
        """Report progress, if anybody listens."""
        if self.progress is not None:
            self.progress(text)


class Abandoned(Exception):  # noqa: N818 - nobody waits any more, so nobody hears of it
    """Ends work that was left behind."""


class Valued(Protocol):
    """A solution that values of variables can be read from."""

    def value(self, variable: IntVar) -> int:
        """Return the value of a variable."""


@dataclass(frozen=True)
class Solved:
    """What one solve found; values may be read only where ``has_solution``."""

    status: Status
    solver: cp_model.CpSolver
    objective: int | None
    bound: int | None

    @property
    def has_solution(self) -> bool:
        """Whether there are values to read."""
        return self.status in ("optimal", "feasible")

    @property
    def all_values(self) -> Sequence[int]:
        """Values of all variables, by their index."""
        return tuple(self.solver.response_proto.solution)

    def value(self, variable: IntVar) -> int:
        """Return the value of a variable."""
        return int(self.solver.value(variable))


def solve(
    model: CpModel,
    clock: Clock,
    *,
    effort: float,
    linear: int = 2,
    from_below: bool = False,
    nearby: bool = False,
    is_small: bool = False,
    every: cp_model.CpSolverSolutionCallback | None = None,
) -> Solved:
    """
    Solve a model within a deterministic effort and the clock's wall time.

    Parameters
    ----------
    effort
        Deterministic time of the solver, in its own unit (about a second of one core).
    linear
        How much of the model goes into the linear relaxation, 0 to 2: with all of it counts are proven, with none of it
        good solutions come early (docs/benchmarks.md).
    from_below
        Whether to ask for the least value of the objective that is not refuted yet, one value after the other.
    nearby
        Whether only to improve the hinted solution part by part, without a proof (large neighbourhood search; the
        interleaved search of the solver, which is deterministic with any number of threads).
    is_small
        Whether the model is so small that making it smaller first takes longer than solving it.
    every
        Is shown every solution of a model without an objective; "optimal" then says that these are all.
    """
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    is_shared = (nearby or clock.workers >= MANY_WORKERS) and every is None  # all solutions are one thread's work
    parameters.num_workers = clock.workers if is_shared else 1
    if is_small:
        parameters.cp_model_presolve, parameters.symmetry_level = False, 0
    parameters.presolve_inclusion_work_limit = INCLUSION_WORK
    parameters.linearization_level = linear
    parameters.random_seed = SEED
    parameters.use_objective_lb_search = from_below
    parameters.interleave_search = parameters.use_lns_only = nearby
    parameters.enumerate_all_solutions = every is not None
    parameters.max_deterministic_time = effort
    parameters.max_time_in_seconds = max(0.05, clock.left_s)
    parameters.catch_sigint_signal = False
    outcome: list[cp_model.CpSolverStatus] = []
    errors: list[BaseException] = []
    done = threading.Event()

    def work() -> None:
        try:
            outcome.append(solver.solve(model, every))
        except BaseException as error:
            errors.append(error)
        finally:
            done.set()

    threading.Thread(target=work, daemon=True).start()
    while not done.wait(POLL_S):
        if clock.left_s <= 0:
            solver.stop_search()
    if clock.abandoned:
        raise Abandoned
    if errors:
        raise errors[0]
    if outcome[0] == cp_model.MODEL_INVALID:
        raise RuntimeError(f"invalid model: {model.validate()}")
    status = _STATUS[outcome[0]]
    if status in ("feasible", "unknown") and clock.left_s <= 0:
        clock.was_cut = True
    has_objective = model.has_objective() and status in ("optimal", "feasible")
    return Solved(
        status,
        solver,
        round(solver.objective_value) if has_objective else None,
        round(solver.best_objective_bound) if model.has_objective() and status != "infeasible" else None,
    )
