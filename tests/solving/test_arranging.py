"""Places read like the user's list: modules, pieces and ways in listing order, as far as the rules let them."""

from __future__ import annotations

from collections.abc import Mapping

from hypothesis import given, settings

from allocator.address import parse_place, parse_socket
from allocator.plan.plan import Plan
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.builders import A, F, M, build_sized
from tests.model.checked import checked_plan, plan_of
from tests.model.rule_cases import alike, panel
from tests.sizing import vehicles
from tests.strategies import Arguments, mid_size_panels

repeatable = settings(deadline=None, derandomize=True, database=None, max_examples=8)


def ways_of(plan: Plan) -> Mapping[str, str]:
    return {way.at: way.need for way in plan.ways}


def ranks_by_piece(sized: Sized, plan: Plan) -> Mapping[tuple[int, int], list[list[int]]]:
    """Return the listing ranks of the ways under each strip piece, by bay and row, in the order of the ways."""
    rank = {need.id: number for number, need in enumerate(sized.needs)}
    held = ways_of(plan)
    rows: dict[tuple[int, int], list[list[int]]] = {}
    for piece in plan.pieces:
        span = parse_place(piece.at)
        assert span.bay is not None and span.row is not None and span.first is not None and span.last is not None
        stem = piece.at.rpartition("/")[0]
        rows.setdefault((span.bay, span.row), []).append(
            [rank[held[f"{stem}/{way}"]] for way in range(span.first, span.last + 1)]
        )
    return rows


@repeatable
@given(mid_size_panels())
def test_ways_pieces_and_modules_follow_the_list(arguments: Arguments) -> None:
    """
    Within a piece needs ascend; in a row pieces follow their first need; modules follow their first need.

    Only modules of one bay and strip rows are in these panels, so nothing else decides where they stand.
    """
    sized = build_sized(**arguments | {"goals": ("bays", "module-types", "strip-pieces")})
    plan = checked_plan(sized)
    rows = ranks_by_piece(sized, plan)
    for pieces in rows.values():
        assert all(piece == sorted(piece) for piece in pieces)
        assert [piece[0] for piece in pieces] == sorted(piece[0] for piece in pieces)
    bays = sorted({bay for bay, _ in rows})
    first_of_bay = [min(min(piece) for (b, _), row in rows.items() if b == bay for piece in row) for bay in bays]
    assert first_of_bay == sorted(first_of_bay)


@repeatable
@given(mid_size_panels())
def test_pieces_start_at_the_first_way_and_leave_no_gap(arguments: Arguments) -> None:
    plan = checked_plan(build_sized(**arguments | {"goals": ("bays", "strip-pieces")}))
    next_way: dict[str, int] = {}
    for piece in plan.pieces:
        span, row = parse_place(piece.at), piece.at.rpartition("/")[0]
        assert span.first == next_way.get(row, 1)
        assert span.last is not None
        next_way[row] = span.last + 1


def test_the_order_column_decides_where_circuits_stand() -> None:
    """Without numbers the ids do; with them the numbers, and those without come last."""
    names = ("horn", "fan", "lamp")

    def needs(**orders: int) -> list[str]:
        listed = [vehicles.circuit(name, fuse_format="C", order=orders.get(name)) for name in names]
        return [way.need for way in allocate(vehicles.sized(*listed)).ways]

    assert needs() == ["fan", "horn", "lamp"]
    assert needs(lamp=1, horn=2) == ["lamp", "horn", "fan"]


def test_relays_take_the_sockets_of_their_class_in_listing_order() -> None:
    """Sockets are numbered over the classes in the catalogue's order."""
    mixed = {"c0": ("standard",), "c1": ("micro",), "c2": ("standard",), "c3": ("micro",)}
    plan = plan_of(
        **panel(
            circuits={name: A(5, relays=classes) for name, classes in mixed.items()},
            modules={"block": M(("4F",), {"micro": 3, "standard": 2})},
        )
    )
    assert {socket.need: parse_socket(socket.at).socket for socket in plan.sockets} == {
        "c1": 1,
        "c3": 2,
        "c0": 4,
        "c2": 5,
    }


def bays_by_module(plan: Plan) -> Mapping[str, list[int | None]]:
    bays: dict[str, list[int | None]] = {placed.module: [] for placed in plan.modules}
    for placed in plan.modules:
        bays[placed.module].append(parse_place(placed.at).bay)
    return bays


def test_a_two_bay_module_goes_where_a_carrier_holds_it() -> None:
    """Two double and two single modules fill two carriers of three only as a double and a single in each."""
    plan = plan_of(
        **panel(
            circuits=alike(4) | {f"blade-{n}": A(5, formats=("C",)) for n in range(2)},
            modules={"wide": M(("2F",), bays=2), "narrow": M(("1C",))},
            carriers={"triple": 3},
        )
    )
    bays = bays_by_module(plan)
    assert [carrier.first_bay for carrier in plan.carriers] == [1, 4]
    assert [bay in (start, start + 1) for bay, start in zip(bays["wide"], (1, 4), strict=True)] == [True, True]
    assert len(bays["narrow"]) == 2


def test_the_carrier_that_a_pinned_bay_needs_is_there() -> None:
    """A pin to bay 3 takes three bays, of which one stays empty; the other module stands before it."""
    plan = plan_of(**panel(circuits=alike(5) | {"c4": A(5, pin="panel/3")}, modules={"block": M(("4F",), price=100)}))
    first, last = bays_by_module(plan)["block"]
    assert first in (1, 2) and last == 3
    assert plan.goals[0].value == 3


def test_a_stud_is_one_entry_for_all_rows_on_it() -> None:
    plan = plan_of(**panel(circuits=alike(3), modules={"block": M(("2F stud", "2F stud"))}, feeds={"battery": F(100)}))
    assert [(piece.at, piece.kind) for piece in plan.pieces] == [("panel/1/stud", "stud")]
    assert len(plan.ways) == 3
