"""A plan that names what is not there is refused, with all faults at once."""

from __future__ import annotations

import re

import pytest

from allocator.address import Place
from allocator.errors import InputError
from allocator.plan.index import PlanIndex
from allocator.plan.plan import Plan
from allocator.plan.wiring import runs_of
from allocator.verifying import verify
from tests.plan.plans import small
from tests.verifying.hand_built import good


def test_needs_with_their_places_and_jumpers() -> None:
    index = PlanIndex(*small())
    assert {item.need.id: (str(item.way), str(item.socket), item.jumper) for item in index.needs} == {
        "fan": ("cabin/1/B/1", "None", None),
        "horn": ("cabin/1/A/1", "None", None),
        "lamp": ("cabin/1/A/3", "None", None),
        "pump": ("cabin/1/A/2", "cabin/2/S2", "long"),
        "key": ("cabin/2/A/1", "cabin/2/S1", "short"),
    }


def test_every_used_way_lies_under_an_entry_of_its_feed() -> None:
    index = PlanIndex(*good())
    kinds = {entry.piece.kind for entry in index.entries}
    assert kinds == {"strip", "single", "stud", "socket"}
    for place, way in index.way_by_place.items():
        assert index.entry_by_way[place].piece.feed == way.feed


def test_entries_are_told_by_feed_and_panel() -> None:
    index = PlanIndex(*small())
    assert [entry.piece.at for entry in index.entries_of("key", "cabin")] == ["cabin/1/A/3-3", "cabin/1/B/1-1"]
    assert index.entry_by_way[Place("cabin", 1, 0, 2)].piece.at == "cabin/1/A/1-2"


def test_an_address_may_be_written_in_small_letters_and_with_noughts() -> None:
    """The checker reads such an address, too: what it passes can be counted and drawn."""
    sized, plan = good()
    written = {
        table: tuple(
            item.model_copy(update={"at": re.sub(r"/(S?)(\d+)", r"/\g<1>0\2", item.at).replace("/S", "/s")})
            for item in getattr(plan, table)
        )
        for table in ("modules", "ways", "sockets", "pieces")
    }
    other = plan.model_copy(update=written)
    assert other != plan and verify(sized, other) == ()
    one, two = PlanIndex(sized, plan), PlanIndex(sized, other)
    assert (one.entries, one.needs, one.modules) == (two.entries, two.needs, two.modules)
    assert runs_of(one) == runs_of(two)


def _faults(change: dict[str, object]) -> list[str]:
    sized, plan = small()
    raw = plan.model_dump()
    raw |= change
    raw["requirements"] = plan.requirements
    with pytest.raises(InputError) as caught:
        PlanIndex(sized, Plan.model_validate(raw))
    return [fault.rule for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("field", "entry", "change", "rule"),
    [
        ("carriers", 0, {"carrier": "nothing"}, "carrier-allowed"),
        ("carriers", 0, {"panel": "attic"}, "carrier-allowed"),
        ("modules", 0, {"module": "nothing"}, "module-in-carrier"),
        ("modules", 0, {"at": "attic/1"}, "module-in-carrier"),
        ("modules", 0, {"at": "cabin"}, "module-in-carrier"),
        ("modules", 0, {"at": ""}, "module-in-carrier"),
        ("ways", 0, {"at": "cabin/1/A/5"}, "way-exists"),
        ("ways", 0, {"at": "cabin/1/C/1"}, "way-exists"),
        ("ways", 0, {"at": "cabin/1/A/1-2"}, "way-exists"),
        ("ways", 0, {"at": "cabin/x"}, "way-exists"),
        ("ways", 0, {"feed": "nothing"}, "feed-accepted"),
        ("ways", 0, {"need": "nothing"}, "every-need-placed"),
        ("sockets", 0, {"at": "cabin/2/S3"}, "socket-exists"),
        ("sockets", 0, {"at": "cabin/2/A"}, "socket-exists"),
        ("pieces", 0, {"at": "cabin/1/A/1-9"}, "piece-exists"),
        ("pieces", 0, {"at": "cabin/1/A/2-1"}, "piece-exists"),
        ("pieces", 0, {"at": "cabin/1/A"}, "piece-exists"),
        ("pieces", 0, {"kind": "stud"}, "piece-exists"),
        ("pieces", 0, {"kind": "single"}, "piece-exists"),
        ("pieces", 0, {"kind": "socket"}, "piece-exists"),
        ("pieces", 0, {"feed": "nothing"}, "one-feed-per-piece"),
    ],
)
def test_what_is_not_there(field: str, entry: int, change: dict[str, str], rule: str) -> None:
    items = [item.model_dump() for item in getattr(small()[1], field)]
    items[entry] |= change
    assert rule in _faults({field: items})


def test_a_way_of_another_format_has_no_option() -> None:
    ways = [way.model_dump() for way in small()[1].ways]
    ways[0]["at"] = "cabin/2/A/2"
    assert _faults({"ways": ways}) == ["as-sized"]


def test_all_faults_come_at_once() -> None:
    ways = [way.model_dump() | {"at": "cabin/9/A/1"} for way in small()[1].ways]
    sockets = [socket.model_dump() | {"at": "cabin/9/S1"} for socket in small()[1].sockets]
    rules = _faults({"ways": ways, "sockets": sockets})
    assert rules.count("way-exists") == 5 and rules.count("socket-exists") == 2
