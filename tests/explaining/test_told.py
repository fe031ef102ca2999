"""What a person reads of a clash: alike circuits in one line, and just what is shown, what is not, and why."""

from __future__ import annotations

import time
from collections.abc import Collection
from dataclasses import replace

from allocator.explaining.clash import Clash, Needed
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.remedies import Remedy
from allocator.explaining.told import clash_fault, remedy_text
from allocator.sizing import size
from allocator.solving.allocate import allocate
from allocator.solving.engine import Clock
from tests.sizing import vehicles

WANTED = ("room of cabin", "relay of a", "relay of b", "relay of c", "relay of d", "fuse format of e")
CIRCUITS = tuple(f"circuit {name}" for name in "abcdefgh")


def told(shown: Collection[str], *, anew: bool = False, again: bool = False, fewest: int = 1) -> list[str]:
    """The lines on a clash of four circuits with relays, one with a fuse type and three more."""
    inquiry = Inquiry(
        vehicles.requirements(
            *(vehicles.circuit(name, switching="relay") for name in "abcd"),
            vehicles.circuit("e", fuse_format="F"),
            *(vehicles.circuit(name) for name in "fgh"),
        ),
        Clock(time.monotonic()),
    )
    members = tuple(Needed(inquiry.demands[name], name in shown) for name in (*CIRCUITS, *WANTED))
    fault = clash_fault(Clash(members, "counting bound", anew, again, fewest, (), was_cut=True))
    return [line.split(" (")[0].strip() for line in fault.known.split("\n")]


def test_alike_circuits_stand_in_one_line() -> None:
    lines = told((*CIRCUITS, *WANTED))
    assert lines[1:5] == [
        'circuit "e" wants a fuse of type F',
        "4 circuits are switched by a relay: a, b, c, d",
        "3 circuits have a way each: f, g, h",
        "and a, b, c, d, e have a way at all",
    ]
    assert lines[0].startswith('panel "cabin" has room for ')
    assert "each is needed: without any one of them there is a plan, found and checked" in lines


def test_what_is_not_shown_is_named() -> None:
    lines = told(("room of cabin", "circuit a", "circuit b"))
    assert "3 of them are shown to be needed: without any one of those there is a plan, found and checked" in lines
    waiting = next(line for line in lines if line.startswith("not shown to be needed in the time: "))
    assert waiting.endswith(
        'circuit "e" wants a fuse of type F; 4 circuits are switched by a relay: a, b, c, d; '
        "6 circuits have a way each: c, d, e, f, g, h"
    )


def test_where_nothing_is_shown_none_is_said_to_be() -> None:
    assert not [line for line in told(()) if "shown to be needed:" in line]


def test_what_proved_it_is_said_once() -> None:
    assert told(())[-1] == "proof: counting bound; not proved again in a fresh model in the time"
    assert told((), anew=True)[-1] == (
        "proof: counting bound; proved again in a fresh model: a relaxation of these alone, built anew, has no "
        "solution either, and would have one if there were a plan; the whole model was not settled in the time"
    )
    assert told((), anew=True, again=True)[-1] == (
        "proof: counting bound; proved again in a fresh model: the whole model of these alone, built anew, has no "
        "solution either"
    )


def test_how_far_it_is_proven_to_be_the_smallest_is_said() -> None:
    """Of fourteen: nothing, up to eight, up to thirteen, and all."""
    assert [told((), fewest=fewest)[-2] for fewest in (1, 8, 13, 14)] == [
        "whether a smaller set clashes was not settled in the time",
        "no set of fewer than 8 clashes: proven; whether one of 8 to 13 does was not settled in the time",
        "no set of fewer than 13 clashes: proven; whether one of 13 does was not settled in the time",
        "no smaller set clashes: proven",
    ]


def test_the_amperes_of_a_clash_are_added_up_and_the_lines_counted() -> None:
    """28 A and 20 A on a feed of 50 A that may carry 80 % of it; what else is on that feed is not in the clash."""
    requirements = vehicles.requirements(
        vehicles.circuit("lift", load="28 A"),
        vehicles.circuit("kettle", load="20 A"),
        vehicles.circuit("lamp", load="2 A"),
        feeds=(vehicles.feed(rating="50 A"),),
    )
    inquiry = Inquiry(requirements, Clock(time.monotonic()))
    names = ("current of battery", "circuit lift", "circuit kettle")
    members = tuple(Needed(inquiry.demands[name], True) for name in names)
    further = tuple((inquiry.demands[name],) for name in ("circuit lamp",) * 5)
    fault = clash_fault(Clash(members, "relaxation", True, True, 3, (), further), size(requirements))
    lines = [line.strip() for line in fault.known.split("\n")]
    assert fault.message == "no plan can be made: these 3 requirements cannot be met together"
    assert lines[3] == "the sum: lift 28 A + kettle 20 A = 48 A > 40 A, 80 % of its 50 A; all of them accept only it"
    assert lines[-4:] == [
        *["also in the way: lamp"] * 3,
        "and 2 more sets of requirements that clash (all with --json)",
    ]


def test_a_header_of_more_requirements_than_lines_says_so() -> None:
    requirements = vehicles.requirements(*(vehicles.circuit(name) for name in "abc"))
    inquiry = Inquiry(requirements, Clock(time.monotonic()))
    members = tuple(Needed(inquiry.demands[name], True) for name in ("room of cabin", *(f"circuit {n}" for n in "abc")))
    fault = clash_fault(Clash(members, "relaxation", True, True, 4, ()))
    assert fault.message == "no plan can be made: these 4 requirements cannot be met together (told in 2 lines)"


def test_a_way_out_that_no_part_on_offer_gives_says_what_it_takes() -> None:
    feeds = (vehicles.feed(rating="60 A"),)
    requirements = vehicles.requirements(vehicles.circuit("lamp", load="2 A"), feeds=feeds)
    plan = allocate(size(requirements))
    demand = Inquiry(requirements, Clock(time.monotonic())).demands["current of battery"]
    remedy = Remedy(((demand, demand.dropped),), plan, is_least=True, weight=4, is_on_offer=False)
    assert remedy_text(remedy).startswith(
        'feed "battery" carrying more, for which the catalogue has no part yet: with one, a plan with '
    )


def test_of_a_plan_that_was_not_made_small_it_is_said() -> None:
    """The goal of the bays is told with its bound: where that is lower, fewer bays may do."""
    requirements = vehicles.requirements(vehicles.circuit("lamp", load="2 A"))
    plan = allocate(size(requirements))
    demand = Inquiry(requirements, Clock(time.monotonic())).demands["circuit lamp"]
    remedy = Remedy(((demand, demand.dropped),), plan, is_least=True, weight=4)
    assert remedy_text(remedy).endswith(": a plan with 4 bays and 1 feed entry")
    open_goals = tuple(item.model_copy(update={"bound": item.value - 1}) for item in plan.goals)
    loose = replace(remedy, plan=plan.model_copy(update={"goals": open_goals}))
    assert remedy_text(loose).endswith(": a plan with 4 bays and 1 feed entry, as first found")
