"""Parts, wires and strip of a plan, counted by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of, num_unused_cavities, supplies
from allocator.plan.plan import Piece, PlacedCarrier, PlacedModule, Plan, UsedWay
from allocator.plan.wiring import runs_of
from allocator.sizing.sized import Cut, Sized
from tests.builders import A, F, M, P, build_sized
from tests.plan.plans import small
from tests.plan.tails import with_tail_fuses


def test_every_part_of_a_small_plan() -> None:
    bill = bill_of(*small())
    assert bill.parts == {
        "carrier-4": 1, "twin": 1, "mixed": 1,
        "fuse-F": 4, "fuse-E": 1, "relay-micro": 2,
        "tab": 5 + 2 * 4,  # an output for each way, four tabs for each relay
        "inlet": 4,
        "fuse-main-60": 1, "main-holder": 1,
        "stud": 2,  # battery and key have two entries each
        "ring": (1 + 1) + 2 + 1 + 2,  # battery's cable and two tails; key's cable at the stud and two tails
        "a-carrier": 4, "a-bay": 4, "a-empty-bay": 2, "a-module": 4, "a-row": 3, "a-socket": 2, "a-relay": 2,
        "a-feed-tail": 4, "a-unused-cavity": 12,
    }  # fmt: skip


def test_unused_cavities() -> None:
    """Twin has 16 cavities, mixed 4 + 2 x 5; used are 5 supply sides, 5 outputs and 8 relay tabs."""
    assert num_unused_cavities(PlanIndex(*small())) == 16 + 14 - 5 - 5 - 8


def test_wire_and_strip_of_a_small_plan() -> None:
    """A short jumper (key) and a long one (pump), as long the leads of their coils, two cables, four tails; no runs."""
    bill = bill_of(*small())
    assert bill.wire_mm == {"wire": 2 * 100 + 2 * 500 + (1000 + 400) + 4 * 400}
    assert bill.strip_ways == {"strip": 2 + 1 + 1 + 1}


def test_a_lead_to_the_own_way_is_as_long_as_the_jumper_beside_it() -> None:
    """0.1 m where socket and way are in one module (key), 0.5 m where they are not (pump)."""
    runs = runs_of(PlanIndex(*small()))
    jumpers = {run.need: run.length_mm for run in runs if run.role == "jumper"}
    leads = {run.need: run.length_mm for run in runs if run.role == "wire" and run.start.cavity == "86"}
    assert leads == jumpers == {"key": 100, "pump": 500}


def test_wires_of_the_options_count() -> None:
    sized, plan = small()
    horn = sized.need_by_id["horn"]
    option = replace(horn.options[0], wires=(Cut("wire", 3000, "way", "load"), Cut("wire", 2500, "", "return")))
    longer = replace(sized, needs=tuple(replace(n, options=(option,)) if n.id == "horn" else n for n in sized.needs))
    assert bill_of(longer, plan).wire_mm["wire"] - bill_of(sized, plan).wire_mm["wire"] == 5500


def test_price_is_exact() -> None:
    """Strip at 400 / 20 a way, wire at 90 a metre, everything else by the piece."""
    sized, plan = small()
    pieces = 1000 + 800 + 900 + 4 * 30 + 50 + 2 * 200 + 13 * 5 + 4 * 7
    cut = Fraction(5 * 400, 20) + Fraction(4200 * 90, 1000)
    assert bill_of(sized, plan).price_cents(sized.price_by_part) == pieces + cut


def _row_of_pieces(num_pieces: int, stud_stack: int, *, tail_fuse: bool = False) -> tuple[Sized, Plan]:
    """Return a plan where each of so many circuits lies under a piece of its own on one feed."""
    names = [f"c{number:02}" for number in range(num_pieces)]
    sized = build_sized(
        circuits={name: A(1) for name in names},
        feeds={"f": F(100, tail_fuse=tail_fuse)},
        modules={"m": M(rows=(f"{num_pieces}F",))},
        panels={"panel": P(max_bays=1)},
        stud_stack=stud_stack,
    )
    plan = Plan(
        allocator_version="test",
        solver_version="none",
        depends_on_time=False,
        requirements=sized.requirements,
        carriers=(PlacedCarrier(panel="panel", carrier="carrier-1", first_bay=1),),
        modules=(PlacedModule(at="panel/1", module="m"),),
        ways=tuple(
            UsedWay(at=f"panel/1/A/{way}", kind="circuit", need=name, feed="f", fuse="fuse-F", wire="wire")
            for way, name in enumerate(names, 1)
        ),
        sockets=(),
        pieces=tuple(Piece(at=f"panel/1/A/{way}-{way}", kind="strip", feed="f") for way in range(1, num_pieces + 1)),
        goals=(),
    )
    return sized, with_tail_fuses(sized, plan)


@pytest.mark.parametrize(
    ("num_entries", "stack", "num_studs"),
    [(1, 4, 0), (2, 4, 1), (3, 4, 1), (4, 4, 2), (5, 4, 2), (6, 4, 3), (2, 3, 1), (4, 3, 3), (7, 8, 1), (8, 8, 2)],
)
def test_studs_hold_every_ring(num_entries: int, stack: int, num_studs: int) -> None:
    """Cable, tails and links fill no stud beyond its stack: n tails + 1 cable + 2 link ends for each link."""
    sized, plan = _row_of_pieces(num_entries, stack)
    bill = bill_of(sized, plan)
    assert bill.parts.get("stud", 0) == num_studs
    num_links = max(0, num_studs - 1)
    at_studs = num_entries + 1 + 2 * num_links if num_studs else 0
    assert at_studs <= num_studs * stack
    assert bill.parts["ring"] == 1 + at_studs  # and one at the source
    tails_mm = num_entries * 400 if num_studs else 0
    assert bill.wire_mm == {"wire": 1000 + num_links * 100 + tails_mm}


def test_a_tail_fuse_puts_even_one_tail_on_a_stud() -> None:
    sized, plan = _row_of_pieces(1, 4, tail_fuse=True)
    parts = bill_of(sized, plan).parts
    assert (parts["stud"], parts["holder"], parts["fuse-C"], parts["ring"]) == (1, 1, 1, 3)
    assert [(supply.num_entries, supply.num_studs) for supply in supplies(PlanIndex(sized, plan))] == [(1, 1)]
