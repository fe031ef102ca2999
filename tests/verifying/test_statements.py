"""What is said of goals that are stated wrong, word for word; the hand-built plan has 9 bays and 21 spare ways."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from allocator.requirements.scenario import Aim
from allocator.sizing.sized import Sized
from allocator.verifying import goal_values
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_rules


def _with_aims(*aims: dict[str, Any]) -> Sized:
    return with_rules(good()[0], objective=tuple(Aim.model_validate(aim) for aim in aims))


SO_FAR: dict[str, object] = {"outcome": "best so far", "closed_by": "not closed"}
WITHIN: dict[str, object] = {"outcome": "within tolerance"}
CASES: list[tuple[str, object, dict[str, object], list[str]]] = [
    # fewer bays are better
    ("bays", None, {}, []),
    ("bays", None, {"value": 5, "bound": 5}, ["stated is 5; the plan has 9"]),
    ("bays", None, {"bound": 10}, ["the bound 10 is worse than the value 9"]),
    ("bays", None, {"bound": 8}, ["called best possible, but the bound is 8 and the value 9"]),
    ("bays", None, {"bound": 8} | SO_FAR, []),
    ("bays", None, {"best": 10}, []),
    ("bays", None, {"best": 10, "bound": 10}, ["the bound 10 is worse than the value 9"]),
    (
        "bays",
        None,
        {"best": 8} | SO_FAR,
        ["the bound 9 is worse than the best value 8", "stated is 9; the best is 8 and the tolerance 0"],
    ),
    ("bays", 1, {"best": 8, "bound": 8, "allowed": 9} | WITHIN, []),
    ("bays", 1, {"best": 8, "bound": 8, "allowed": 8} | WITHIN, ["up to 8 is said to be allowed; it is 9"]),
    ("bays", "20 %", {"best": 8, "bound": 8, "allowed": 9} | WITHIN, []),
    ("bays", 1, {"best": 8, "bound": 8, "allowed": 10} | WITHIN, ["up to 10 is said to be allowed; it is 9"]),
    ("bays", 1, {"best": 8, "bound": 7} | WITHIN, ["called within tolerance, but the bound is 7 and the best value 8"]),
    ("bays", 1, {"best": 8, "bound": 7} | SO_FAR, []),
    ("bays", 1, {"allowed": 11}, ["up to 11 is said to be allowed; it is 10"]),
    ("bays", "12.5 %", {"best": 8, "bound": 8} | WITHIN, []),
    ("bays", "12 %", {"best": 8, "bound": 8} | WITHIN, ["stated is 9; the best is 8 and the tolerance 0.96"]),
    # 220 mm, twice 120 mm and 70 mm by 120 mm: only counts are rounded down
    ("footprint", "0.1 %", {"best": 63600, "allowed": "63663.6"}, []),
    ("footprint", "0.1 %", {"allowed": 63663}, ["up to 63663 is said to be allowed; it is 63663.6"]),
    # more spare ways are better
    ("spare-ways", None, {}, []),
    ("spare-ways", None, {"value": 5, "bound": 5}, ["stated is 5; the plan has 21"]),
    ("spare-ways", None, {"bound": 20}, ["the bound 20 is worse than the value 21"]),
    ("spare-ways", None, {"bound": 22}, ["called best possible, but the bound is 22 and the value 21"]),
    ("spare-ways", None, {"bound": 22} | SO_FAR, []),
    ("spare-ways", None, {"best": 20}, []),
    (
        "spare-ways",
        None,
        {"best": 22} | SO_FAR,
        ["the bound 21 is worse than the best value 22", "stated is 21; the best is 22 and the tolerance 0"],
    ),
    ("spare-ways", 1, {"best": 22, "bound": 22, "allowed": 21} | WITHIN, []),
    ("spare-ways", 1, {"best": 22, "bound": 22, "allowed": 22} | WITHIN, ["up to 22 is said to be allowed; it is 21"]),
    ("spare-ways", 1, {"best": 22, "bound": 22, "allowed": 20} | WITHIN, ["up to 20 is said to be allowed; it is 21"]),
    (
        "spare-ways",
        1,
        {"best": 22, "bound": 23} | WITHIN,
        ["called within tolerance, but the bound is 23 and the best value 22"],
    ),
]


@pytest.mark.parametrize(("goal", "tolerance", "stated", "said"), CASES)
def test_what_is_said_of_a_statement(goal: str, tolerance: object, stated: dict[str, object], said: list[str]) -> None:
    """Another goal with a tolerance of its own comes first, and is none of this one's business."""
    sized = _with_aims({"goal": "carriers", "tolerance": 3}, {"goal": goal, "tolerance": tolerance})
    fields = {
        name: value if name in ("outcome", "closed_by") else str(Fraction(str(value))) for name, value in stated.items()
    }
    edited = change(good()[1], "goals", goal, **fields)
    assert told(sized, edited, "goal-value") == [f'goal "{goal}": {text}  [goal-value]' for text in said]


@pytest.mark.parametrize(
    ("aim", "said"),
    [
        ({"goal": "bays", "cap": 9}, []),
        ({"goal": "bays", "cap": 8}, ['goal "bays": the plan has 9; the cap is 8']),
        ({"goal": "spare-ways", "at_least": 21}, []),
        ({"goal": "spare-ways", "at_least": 22}, ['goal "spare-ways": the plan has 21; asked for are at least 22']),
    ],
)
def test_what_is_said_of_a_cap(aim: dict[str, object], said: list[str]) -> None:
    sized = _with_aims({"goal": "carriers"}, aim, {"goal": "panels", "cap": 2})
    assert told(sized, good()[1], "goal-cap") == [f"{text}  [goal-cap]" for text in said]


@pytest.mark.parametrize(
    ("aim", "right", "wrong"),
    [
        ({"goal": "bays", "tolerance": 3, "cap": 10}, "10", "12"),  # 9 and 3 more would be 12
        ({"goal": "bays", "tolerance": 3, "cap": 20}, "12", "20"),
        ({"goal": "spare-ways", "tolerance": 3, "at_least": 20}, "20", "18"),  # 21 less 3 would be 18
        ({"goal": "spare-ways", "tolerance": 3, "at_least": 15}, "18", "15"),
    ],
)
def test_what_a_limit_leaves_of_a_tolerance(aim: dict[str, object], right: str, wrong: str) -> None:
    """Up to the cap, and down to the least that there must be; what was worked out is 9 bays and 21 spare ways."""
    sized, goal = _with_aims(aim), str(aim["goal"])
    for allowed, said in ((right, []), (wrong, [f"up to {wrong} is said to be allowed; it is {right}"])):
        edited = change(good()[1], "goals", goal, allowed=allowed)
        assert told(sized, edited, "goal-value") == [f'goal "{goal}": {text}  [goal-value]' for text in said]


@pytest.mark.parametrize(
    ("aims", "stated", "said"),
    [
        (["bays", "panels"], ["bays", "panels"], []),
        (["bays", "panels"], ["bays"], ['goal "panels": the rules ask for it; the plan does not state it']),
        (["panels"], ["bays", "panels"], ['goal "bays": the plan states it; the rules do not ask for it']),
        (["bays", "panels"], ["bays", "panels", "bays"], ['goal "bays": stated 2 times']),
        (["bays"], [], ['goal "bays": the rules ask for it; the plan does not state it']),
        (
            ["bays", "price", "panels"],
            ["price", "bays"],
            [
                'goal "panels": the rules ask for it; the plan does not state it',
                "goals: stated in the order price, bays; the rules ask for bays, price",
            ],
        ),
    ],
)
def test_which_goals_are_stated(aims: list[str], stated: list[str], said: list[str]) -> None:
    sized, plan = _with_aims(*({"goal": goal} for goal in aims)), good()[1]
    by_goal = {result.goal: result for result in plan.goals}
    edited = plan.model_copy(update={"goals": tuple(by_goal[goal] for goal in stated)})
    found = told(sized, edited, "goals-stated")
    assert found == [f"{text}  [goals-stated]" for text in said]


@pytest.mark.parametrize(
    ("aim", "stated", "said"),
    [
        ({"goal": "bays", "cap": 10}, {"cap": "10"}, []),
        ({"goal": "bays", "cap": 10}, {}, ["the cap is stated as none; the rules set 10"]),
        ({"goal": "bays", "cap": 10}, {"cap": "9"}, ["the cap is stated as 9; the rules set 10"]),
        ({"goal": "bays"}, {"cap": "10"}, ["the cap is stated as 10; the rules set none"]),
        ({"goal": "spare-ways", "at_least": 20}, {"cap": "20"}, []),
        ({"goal": "spare-ways", "at_least": 20}, {"cap": "-20"}, ["the cap is stated as -20; the rules set 20"]),
        ({"goal": "bays", "tolerance": 1}, {"best": "9", "allowed": "10"}, []),
        ({"goal": "bays", "tolerance": 1}, {}, []),
        ({"goal": "bays"}, {"best": "9"}, ["a tolerance is stated; the rules give none"]),
        ({"goal": "bays"}, {"allowed": "9"}, ["a tolerance is stated; the rules give none"]),
    ],
)
def test_which_limits_are_stated(aim: dict[str, object], stated: dict[str, object], said: list[str]) -> None:
    sized, plan, goal = _with_aims(aim), good()[1], str(aim["goal"])
    only = tuple(result for result in plan.goals if result.goal == goal)
    edited = change(plan.model_copy(update={"goals": only}), "goals", goal, **stated)
    assert told(sized, edited, "goals-stated") == [f'goal "{goal}": {text}  [goals-stated]' for text in said]


def test_what_cannot_be_read_does_not_count() -> None:
    """A carrier and a module that nobody sells, a way that no module has; bays, footprint and spare ways are less."""
    sized, plan = good()
    edited = change(change(plan, "carriers", 5, carrier="crate"), "modules", "aft/3", module="chest")
    values = goal_values(sized, change(edited, "ways", "heater", at="cabin/5/A/9"))
    assert {goal: values[goal] for goal in ("bays", "footprint", "spare-ways", "carriers", "module-types")} == {
        "bays": 7,
        "footprint": Fraction(220 + 120 + 70) * 120,
        "spare-ways": 38 - 8 - 12,
        "carriers": 4,
        "module-types": 5,
    }
