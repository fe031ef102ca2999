"""Every field that a user can write changes something a user can see, or is listed as one that need not."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from copy import deepcopy
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from allocator.errors import InputError
from allocator.outputs.content import Content
from allocator.outputs.lists import parts_csv, wires_csv
from allocator.outputs.summary import summary_text
from allocator.outputs.workshop.expectations import expectations_csv
from allocator.plan.plan import Piece, Plan
from allocator.requirements import requirements_from_json, requirements_to_json
from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.scenario import Requirements
from allocator.sizing import Sized, size
from allocator.verifying import goal_values, verify
from tests.field_changes import CHANGES, UNSEEN
from tests.verifying.hand_built import build_requirements, good, state_goals


def all_fields() -> list[str]:
    """Return ``Model.field`` for every field of every table inside the requirements."""
    found: dict[type[BaseModel], None] = {}

    def walk(annotation: Any) -> None:
        for argument in get_args(annotation):
            walk(argument)
        if isinstance(annotation, type) and issubclass(annotation, BaseModel) and annotation not in found:
            found[annotation] = None
            for field in annotation.model_fields.values():
                walk(field.annotation)

    walk(Requirements)
    return [f"{model.__name__}.{name}" for model in found for name in model.model_fields]


PARTS = "modules carriers strips fuses relays relay_tabs terminals wires studs holders main_holders accessories"
CONTAINERS = [
    f"{model}.{name}"
    for model, names in (
        ("Requirements", "scenario circuits catalogue"),
        ("Scenario", "vehicle supply panels feeds load_cases rules document wire_colours"),
        ("Rules", "figures"),
        ("OwnFigures", " ".join(OwnFigures.model_fields)),  # tests/sizing/test_own_figures.py changes each
        ("OwnGate", "earliest latest"),
        ("Catalogue", PARTS),
    )
    for name in names.split()
]
"""Fields that only hold tables, whose own fields are listed."""


def edited(edits: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    """Return the hand-built vehicle's plain data with other values at some paths; a last step ``+`` appends."""
    data: dict[str, Any] = requirements_to_json(build_requirements())
    for path, value in edits:
        at: Any = data
        *steps, last = steps_of(path)
        for step in steps:
            at = entry_of(at, step)
        if last == "+":
            at.append(deepcopy(value))  # an edit of what one edit put in leaves the next test as it was
        else:
            assert json.dumps(at.get(last)) != json.dumps(value), f"{path} has this value already"
            at[last] = deepcopy(value)
    return data


def steps_of(path: str) -> list[str]:
    """Split at dots, but not at the decimal points of ids such as ``w2.5``."""
    return re.split(r"(?<!\d)\.|\.(?!\d)", path)


def entry_of(table: Any, step: str) -> Any:
    if isinstance(table, dict):
        return table[step]
    if step.isdigit():
        return table[int(step)]
    return next(entry for entry in table if step in (entry.get("id"), entry.get("name")))


def seen(data: dict[str, Any], cut: str = "") -> dict[str, object]:
    """Return what a user can see of requirements: faults, or the sums and what becomes of the hand-made plan."""
    try:
        sized = size(requirements_from_json(data))
    except InputError as refusal:
        return {"faults": [fault.rule for fault in refusal.faults]}
    plan = stated(sized, cut_in_two(good()[1], cut).model_copy(update={"requirements": sized.requirements}))
    findings = [finding.rule for finding in verify(sized, plan)]
    sums = (sized.needs, sized.feeds, sized.entries, sized.row_limit_ma, sized.module_limit_ma)
    shown: dict[str, object] = {"faults": [], "sizing": sums, "cautions": sized.cautions, "findings": findings}
    return shown | ({} if findings else on_paper(sized, plan))


def stated(sized: Sized, plan: Plan) -> Plan:
    """Return the plan with the true values of the goals that are asked for."""
    plan = state_goals(sized, plan)
    by_goal = {result.goal: result for result in plan.goals}
    return plan.model_copy(update={"goals": tuple(by_goal[goal] for goal in sized.requirements.scenario.rules.goals)})


def cut_in_two(plan: Plan, at: str) -> Plan:
    """Return the plan with a strip piece cut after its first way."""
    pieces: list[Piece] = []
    for piece in plan.pieces:
        if piece.at == at:
            row, _, span = at.rpartition("/")
            first, _, last = span.partition("-")
            spans = (f"{first}-{first}", f"{int(first) + 1}-{last}")
            pieces += [piece.model_copy(update={"at": f"{row}/{part}"}) for part in spans]
        else:
            pieces.append(piece)
    return plan.model_copy(update={"pieces": tuple(pieces)})


def on_paper(sized: Sized, plan: Plan) -> dict[str, object]:
    content = Content(sized, plan)
    return {
        "goals": list(goal_values(sized, plan).items()),
        "parts": parts_csv(content),
        "wires": wires_csv(content),
        "tests": expectations_csv(content),
        "legends": [carrier.carrier.legend_mm for carrier in content.index.carriers],
        "summary": summary_text(content).replace(content.number, ""),
    }


def test_the_vehicle_to_start_from_is_in_order() -> None:
    start = seen(edited([]))
    assert start["faults"] == start["findings"] == []


def test_every_field_is_listed_once() -> None:
    """A new field fails here until someone says where it shows."""
    listed = [*CHANGES, *UNSEEN, *CONTAINERS]
    assert sorted(listed) == sorted(all_fields())


@pytest.mark.parametrize("field", CHANGES)
def test_a_change_shows(field: str) -> None:
    change = CHANGES[field]
    before = seen(edited(change.given), change.cut)
    after = seen(edited([*change.given, *change.also, (change.path, change.value)]), change.cut)
    assert before["faults"] == []
    assert after.get(change.shows, before[change.shows]) != before[change.shows]
    assert steps_of(change.path)[-1] == field.rpartition(".")[2]
