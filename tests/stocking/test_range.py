"""The range of module types against enumeration: every set of types, each vehicle planned with it by the main call."""

from __future__ import annotations

import itertools
import threading
import time
from collections.abc import Collection
from fractions import Fraction

import pytest

from allocator.batch.engines import worker_processes
from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.housing import accessory_cents
from allocator.outputs.stock.summary import proof_of
from allocator.sizing.sized import Sized
from allocator.solving.allocate import allocate
from allocator.solving.engine import Clock
from allocator.solving.housing import Housings
from allocator.stocking.curve import Range, RangePoint
from allocator.stocking.demand import OrderProcess
from allocator.stocking.housing_plans import Answered, housing_cents
from allocator.stocking.members import Member, limited
from allocator.stocking.range import RangeSearch, search_range
from allocator.verifying import verify
from tests.benchmarks.fleets import fleet
from tests.builders import A, F, M, P, build_sized

TYPES = {
    "four": M(("4C strip",), price=1000),
    "six": M(("6C strip",), price=1700),
    "mix": M(("3C strip",), sockets={"micro": 2}, price=1500),
    "sockets": M(sockets={"micro": 4}, price=900),
}
CARRIERS = {"mount": 1, "frame": 3}
PRICES = {"mount": 500, "frame": 1100}


def _vehicle(num_plain: int, num_relays: int, *, apart: bool = False, most_a: float = 1000) -> Sized:
    circuits = {f"p{n}": A(5, feeds=("f",), formats=("C",)) for n in range(num_plain)}
    circuits |= {f"r{n}": A(5, feeds=("f",), formats=("C",), relays=("micro",)) for n in range(num_relays)}
    bonds = [(("p0", "p1"), "module")] if apart else []
    types = {name: M(m.rows, sockets=m.sockets, price=m.price, limit_a=most_a) for name, m in TYPES.items()}
    return build_sized(
        circuits=circuits, modules=types, feeds={"f": F(400)}, carriers=CARRIERS, prices=PRICES, apart=bonds,
        panels={"panel": P(max_bays=6)},
    )  # fmt: skip


def _members(*vehicles: Sized) -> list[Member]:
    rates = (Fraction(1), Fraction(3, 2), Fraction(1, 4))
    return [Member(f"v{n}", sized, OrderProcess(rates[n], {1: Fraction(1)})) for n, sized in enumerate(vehicles)]


FLEETS = {
    "counts decide": (_vehicle(4, 0), _vehicle(2, 3)),
    "kept apart": (_vehicle(2, 0, apart=True), _vehicle(3, 2, apart=True)),
    "amperes decide": (_vehicle(4, 0, most_a=12), _vehicle(1, 2), _vehicle(2, 0, most_a=6)),
}


def _best_by_enumeration(members: list[Member], kept: tuple[str, ...]) -> tuple[Fraction, Fraction] | None:
    """Return bays and price a year with a set of types; what is not a module or carrier costs nothing here."""
    total = [Fraction(0), Fraction(0)]
    for member in members:
        inner = limited(member.sized, dict.fromkeys(kept, 99), ("bays", "price"))
        try:
            goals = allocate(inner).goals
        except CannotBeMet:
            return None
        assert all(goal.outcome == "best possible" for goal in goals)
        for place, goal in enumerate(goals):
            total[place] += goal.value * member.process.vehicles_per_month * 12
    return total[0], total[1]


@pytest.mark.parametrize(
    "fleet", [pytest.param(name, marks=[pytest.mark.long] if name == "kept apart" else []) for name in FLEETS]
)
def test_every_point_is_the_best_of_all_sets(fleet: str) -> None:
    members = _members(*FLEETS[fleet])
    assert not members[0].sized.requirements.catalogue.accessories
    found = search_range(members, time_limit_s=100)
    best: dict[int, tuple[Fraction, Fraction]] = {}
    for size in range(1, len(TYPES) + 1):
        values = [_best_by_enumeration(members, kept) for kept in itertools.combinations(TYPES, size)]
        for value in filter(None, values):
            best[size] = min(best.get(size, value), value)
        if size - 1 in best and size in best:
            best[size] = min(best[size], best[size - 1])
    assert found.points and all(point.is_exact for point in found.points)
    assert found.has_fewest
    assert [point.most for point in found.points] == list(range(min(best), found.points[-1].most + 1))
    assert {point.most: (point.bays, point.cents) for point in found.points} == {
        size: value for size, value in best.items() if size <= found.points[-1].most
    }
    assert best[len(TYPES)] == (found.points[-1].bays, found.points[-1].cents)
    _check_what_is_left_out(members, found)


def _check_what_is_left_out(members: list[Member], found: Range) -> None:
    for item in found.without:
        rest = tuple(name for name in TYPES if name != item.module)
        value = _best_by_enumeration(members, rest)
        assert value == (None if item.point is None else (item.point.bays, item.point.cents))
        assert (item.point is None) == bool(item.unbuildable)


def _both_needed() -> Sized:
    types = {"only": M(sockets={"heavy": 1}, price=100), "ways": M(("4C strip",), price=100)}
    circuits = {"winch": A(5, formats=("C",), relays=("heavy",), feeds=("f",))}
    return build_sized(circuits=circuits, modules=types, feeds={"f": F(100)}, panels={"panel": P(max_bays=4)})


def test_a_type_that_must_stay_says_why() -> None:
    found = search_range(_members(_both_needed()), time_limit_s=100)
    assert [point.most for point in found.points] == [2] and found.has_fewest
    assert {item.module: (item.unbuildable, item.only_source_of) for item in found.without} == {
        "only": (("v0",), ("heavy sockets",)),
        "ways": (("v0",), ("ways for format C",)),
    }


def test_fewest_types_are_not_called_proven_where_sets_were_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Housings, "is_whole", False)
    found = search_range(_members(_both_needed()), time_limit_s=100)
    assert [point.most for point in found.points] == [2] and not found.has_fewest


def test_the_housing_of_a_point_is_in_its_plan() -> None:
    """A price that the plan does not have would be a promise that nobody keeps."""
    members = _members(*FLEETS["counts decide"])
    for member in members:
        assert accessory_cents(member.sized.requirements.catalogue, "module") == 0
        sized = limited(member.sized, dict.fromkeys(TYPES, 99), ("bays", "price"))
        plan = allocate(sized)
        assert housing_cents(member.sized, plan) == plan.goals[1].value
        assert verify(sized, plan) == ()


def test_worker_processes_find_the_same_range() -> None:
    members = _members(*FLEETS["counts decide"])
    with worker_processes(2) as submit:
        spread = search_range(members, time_limit_s=100, submit=submit)
    alone = search_range(members, time_limit_s=100)
    assert spread.points == alone.points
    assert [item.module for item in spread.without] == [item.module for item in alone.without]


def test_an_interrupt_ends_the_search() -> None:
    stop = threading.Event()
    stop.set()
    with pytest.raises(NoPlanInTime) as caught:
        search_range(_members(*FLEETS["counts decide"]), time_limit_s=100, stop=stop)
    assert caught.value.interrupted


@pytest.mark.long
def test_a_small_generated_fleet_is_exact() -> None:
    """The generator of the large ones, with three vehicles: all ten types, every point with checked plans."""
    found = search_range(fleet(3, 5), time_limit_s=200)
    assert found.points and all(point.is_exact for point in found.points)
    bays = [point.bays for point in found.points]
    assert bays == sorted(bays, reverse=True)


def test_what_no_plan_has_shown_is_not_called_exact(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no plan came in time the range is relaxations alone: bounds, and it says so."""
    monkeypatch.setattr("allocator.stocking.range.confirm", lambda *_: Answered())
    members = _members(*FLEETS["counts decide"])
    found = search_range(members, time_limit_s=100)
    assert found.points and not any(point.is_exact for point in found.points)
    assert {proof_of(point) for point in found.points} == {"relaxation alone"}
    assert found.num_plans == 0


def test_a_curve_that_time_cuts_keeps_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first point stands; the search for fewer types ends where the clock does."""
    members = _members(*FLEETS["counts decide"])
    search = RangeSearch(members, Clock(time.monotonic() + 100), plan_limit_s=20)
    whole = search.point

    def point(most: int, *, leave_out: Collection[str] = ()) -> RangePoint | None:
        if most < len(search.offers):
            search.clock.deadline = 0.0
            raise NoPlanInTime("no choice was found within the limit")
        return whole(most, leave_out=leave_out)

    monkeypatch.setattr(search, "point", point)
    found = search.run()
    assert found.was_cut and len(found.points) == 1 and found.without == () and not found.has_fewest
    assert found.points[0].is_exact


def test_where_the_time_for_plans_is_over_the_curve_is_whole_all_the_same() -> None:
    """Its points are bounds then, and are called so."""
    members = _members(*FLEETS["counts decide"])
    search = RangeSearch(members, Clock(time.monotonic() + 100), plan_limit_s=20)
    search._plans_until = time.monotonic()  # a cached property takes its value
    found = search.run()
    assert found.was_cut and found.num_plans == 0
    assert found.points and {proof_of(point) for point in found.points} == {"relaxation alone"}
