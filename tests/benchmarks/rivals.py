"""
The rivals of the search: first fit with the best feed, and the direct model in two solvers.

Comes in as a ``Sized``, a limit and a number of threads; goes out as a ``Rival``: bays, types and pieces reached, how
many of them are proven, and when. The direct model starts at the first-fit plan, has the counting bounds as rows, and
is built anew after every goal with no more copies of a type than are of use from there on, as the search does itself.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from allocator.address import Place, parse_place, parse_socket
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from tests.benchmarks.counting import counting_bounds, most_copies
from tests.benchmarks.direct import Direct, Instance, Key, Row, Within
from tests.benchmarks.linear import Answer, Solver
from tests.oracles.arrangement import branch_loads
from tests.oracles.greedy_plan import greedy_plan

GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")


@dataclass(frozen=True)
class Rival:
    """What a rival reached, goal by goal, and the seconds after which each goal was proven (fewer if not all were)."""

    values: tuple[int, ...]
    proven_after_s: tuple[float, ...]
    seconds: float

    @property
    def is_proven(self) -> bool:
        """Whether the last goal was proven, too."""
        return len(self.proven_after_s) == len(GOALS)


def first_fit(sized: Sized) -> Rival:
    """Return what first fit with the best feed reaches; it proves nothing. Raises ``Stuck`` where it finds no plan."""
    started = time.monotonic()
    plan = greedy_plan(sized)
    return Rival(_values(plan), (), time.monotonic() - started)


def direct(sized: Sized, solver: Solver, *, limit_s: float, threads: int) -> Rival:
    """Solve the direct model goal by goal until all are proven or the time is over."""
    started = time.monotonic()
    plan = greedy_plan(sized)
    reached = dict(zip(GOALS, _values(plan), strict=True))
    bounds = counting_bounds(sized)
    hint: Mapping[Key, int] | None = None
    proven: dict[Goal, int] = {}
    proven_after: list[float] = []
    for goal in GOALS:
        copies = most_copies(sized, reached["bays"], proven.get("module-types"))
        model = Direct(sized, Within(copies, {goal: bounds[goal] for goal in GOALS}, proven))
        if hint is None:
            hint = solution_of(model, plan)
        start = {model.columns[key]: value for key, value in hint.items() if key in model.columns}
        left_s = limit_s - (time.monotonic() - started)
        answer = solver(model.linear, model.goals[goal], start, left_s, threads)
        if answer.values:
            hint = dict(zip(model.columns, answer.values, strict=True))
            reached = min(reached, _reached(model, answer), key=lambda values: [values[goal] for goal in GOALS])
        if not answer.proven:
            break
        proven[goal] = reached[goal]
        proven_after.append(time.monotonic() - started)
    return Rival(tuple(reached.values()), tuple(proven_after), time.monotonic() - started)


def _values(plan: Plan) -> tuple[int, ...]:
    values = {result.goal: int(result.value) for result in plan.goals if result.goal in GOALS}
    return tuple(values[goal] for goal in GOALS)


def _reached(model: Direct, answer: Answer) -> dict[Goal, int]:
    return {goal: sum(weight * answer.values[column] for column, weight in model.goals[goal].items()) for goal in GOALS}


def solution_of(model: Direct, plan: Plan) -> dict[Key, int]:
    """Return the value of every column of the model in a plan."""
    values: dict[Key, int] = dict.fromkeys(model.columns, 0)
    for carrier in plan.carriers:
        values["carrier", carrier.carrier] += 1
    instances = _instances(plan)
    for name, copy in instances.values():
        values["used", name, copy] = values["type", name] = 1
    pieces: Counter[tuple[Row, str]] = Counter()
    for piece in plan.pieces:
        key = (_row(instances, parse_place(piece.at)), piece.feed)
        values["piece", *key, pieces[key]] = 1
        pieces[key] += 1
    draws = _draws(model, {way.need: way.feed for way in plan.ways})
    for (feed, case), draw in draws.items():
        values["draw", feed, case] = draw
    for way in plan.ways:
        row = _row(instances, parse_place(way.at))
        values["at", way.need, row, way.feed] = 1
        supplies = model.sized.need_by_id[way.need].supplies
        if supplies is not None:
            for case in model.cases:
                values["branch", way.need, row, case] = draws[supplies, case]
    for socket in plan.sockets:
        place = parse_socket(socket.at)
        relay_class = next(
            o.relay_class for o in model.sized.need_by_id[socket.need].options if o.relay == socket.relay
        )
        values["relay", socket.need, instances[place.panel, place.bay], relay_class] = 1
    return values


def _instances(plan: Plan) -> dict[tuple[str, int | None], Instance]:
    """Return type and copy of the module at each panel and bay."""
    copies: Counter[str] = Counter()
    found: dict[tuple[str, int | None], Instance] = {}
    for module in plan.modules:
        place = parse_place(module.at)
        found[place.panel, place.bay] = (module.module, copies[module.module])
        copies[module.module] += 1
    return found


def _row(instances: Mapping[tuple[str, int | None], Instance], place: Place) -> Row:
    assert place.row is not None
    return (*instances[place.panel, place.bay], place.row)


def _draws(model: Direct, feed_by_need: Mapping[str, str]) -> dict[tuple[str, int], int]:
    """Return the load of every feed in every case, in the model's unit."""
    loads = branch_loads(model.sized, feed_by_need)
    return {(feed, case): loads[feed][case] // model.unit_ma for feed in loads for case in model.cases}
