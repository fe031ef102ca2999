"""Goal values and feed loads of a plan, by hand and against the checker, which was written apart."""

from __future__ import annotations

from fractions import Fraction

from allocator.plan.index import PlanIndex
from allocator.plan.measures import entry_load_ma, feed_loads, measure, need_loads
from allocator.plan.plan import Piece, PlacedModule, UsedSocket
from allocator.verifying import goal_values
from tests.builders import A, F, M, P, build_sized
from tests.plan.plans import small
from tests.verifying.hand_built import good


def test_values_of_a_small_plan() -> None:
    values = measure(*small())
    assert values.pop("price") == 3363 + 100 + 378
    assert values == {
        "bays": 4,
        "module-types": 2,
        "strip-pieces": 4,
        "peak-utilisation": Fraction(8_000, 20_000 * 80 // 100),  # key by night; battery draws 14.4 A of 48 A
        "long-jumpers": 1,
        "carriers": 1,
        "footprint": 170 * 100,
        "panels": 1,
        "wire-length": 4200,
        "copper": 4200 * 120,
        "spare-ways": 4 + 4 + 2 - 5,
    }


def test_loads_go_up_the_tree_case_by_case() -> None:
    """Day: horn 4, pump 6.2, fan 3; night: pump 6.2, lamp 5, fan 3; key's coil hangs on its own fuse, 0.2 always."""
    index = PlanIndex(*small())
    loads = {load.feed: load.load_ma_by_case for load in feed_loads(index)}
    assert loads == {"battery": (4000 + 6200 + 3000 + 200, 6200 + 5000 + 3000 + 200), "key": (3000, 8000)}
    by_need = need_loads(index)
    assert by_need["key"] == (3200, 8200)
    assert [entry_load_ma(index, entry, by_need) for entry in index.entries] == [
        (10_200, 6200),
        (0, 5000),
        (3000, 3000),
        (3200, 8200),
    ]


def test_a_feed_that_enters_at_a_socket_loads_its_source() -> None:
    sized, plan = small()
    sized = build_sized(
        circuits={"lamp": A(5, feeds=("key",))},
        feeds={"battery": F(50), "key": F(20, source="battery", relay="micro")},
        modules={"m": M(rows=("2F",), sockets={"micro": 1})},
        panels={"cabin": P(max_bays=1)},
        coil_ma={"micro": 150},
    )
    plan = plan.model_copy(
        update={
            "requirements": sized.requirements,
            "carriers": (plan.carriers[0].model_copy(update={"carrier": "carrier-1"}),),
            "modules": (PlacedModule(at="cabin/1", module="m"),),
            "ways": (plan.ways[2].model_copy(update={"at": "cabin/1/A/2"}),),
            "sockets": (UsedSocket(at="cabin/1/S1", kind="feed", need="key", relay="relay-micro"),),
            "pieces": (
                Piece(at="cabin/1/S1", kind="socket", feed="battery"),
                Piece(at="cabin/1/A/2-2", kind="strip", feed="key"),
            ),
        }
    )
    index = PlanIndex(sized, plan)
    assert {load.feed: load.load_ma_by_case for load in feed_loads(index)} == {"battery": (5150,), "key": (5000,)}
    by_need = need_loads(index)
    assert [entry_load_ma(index, entry, by_need) for entry in index.entries] == [(5000,), (5150,)]
    assert measure(sized, plan)["strip-pieces"] == 2


def test_the_checker_counts_the_same() -> None:
    """The hand-drawn vehicle of the checker's tests has every feature: stud, single ways, direct socket, tail fuse."""
    assert measure(*good()) == goal_values(*good())
