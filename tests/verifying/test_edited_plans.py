"""Whatever a person does to a plan.json, the checker answers with findings and values, never with an exception."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, get_args

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from allocator.plan.files import plan_from
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal
from allocator.rulebook import RULES
from allocator.verifying import Finding, goal_values, verify
from tests.verifying.hand_built import good

TABLES = ("carriers", "modules", "ways", "sockets", "pieces", "goals")
CHOICES = {
    "kind": {
        "ways": ("circuit", "feed", "spare"),
        "sockets": ("circuit", "feed"),
        "pieces": ("strip", "single", "stud", "socket"),
    }
}
ODD_TEXT = (
    "", "/", "-", "cabin", "cabin/0", "cabin/1/A/0", "cabin/1/A/3-1", "cabin/1/A/1-999", "cabin/999/A/1",
    "cabin/1/S0", "cabin/1/S999", "cabin/1/ß/1", "cabin/²/A/1", "cabin/1/A/1/2", "aft/2/stud", "roof/1/stud",
    " cabin/1/A/1 ", "舱/1/A/1",
)  # fmt: skip
HUGE = st.sampled_from((1, 2, 999, 10**15, 10**98))
LINES = {table: tuple(line.model_dump() for line in getattr(good()[1], table)) for table in TABLES}
KNOWN_TEXT = tuple(
    dict.fromkeys(text for lines in LINES.values() for line in lines for text in line.values() if isinstance(text, str))
)
TEXT = st.sampled_from((*KNOWN_TEXT, *ODD_TEXT)) | st.text(st.characters(exclude_categories=("C", "Z")), max_size=12)


def _value(table: str, field: str) -> st.SearchStrategy[Any]:
    if table == "goals":
        exact = st.fractions() | st.builds(Fraction, HUGE, HUGE)
        return exact if field in ("value", "bound") else st.nothing()
    if field == "first_bay":
        return st.sampled_from((1, 2, 999))  # the most that a file may say
    if field in CHOICES:
        return st.sampled_from(CHOICES[field][table])
    return TEXT | st.none() if field in ("fuse", "wire") else TEXT


@st.composite
def edited_plans(draw: st.DrawFn) -> Plan:
    """One to eight lines of the good plan removed, copied, moved to the front or changed in one field."""
    tables = {table: [dict(line) for line in lines] for table, lines in LINES.items()}
    for _ in range(draw(st.integers(1, 8))):
        table = draw(st.sampled_from(TABLES))
        lines = tables[table]
        if not lines:
            continue
        index = draw(st.integers(0, len(lines) - 1))
        action = draw(st.sampled_from(("change", "change", "change", "remove", "copy", "move")))
        if action == "remove":
            del lines[index]
        elif action == "copy":
            lines.append(dict(lines[index]))
        elif action == "move":
            lines.insert(0, lines.pop(index))
        else:
            fields = [field for field in lines[index] if not _value(table, field).is_empty]
            field = draw(st.sampled_from(fields))
            lines[index][field] = draw(_value(table, field))
    plan = good()[1].model_dump(mode="json")
    return plan_from(plan | {table: tuple(lines) for table, lines in tables.items()})


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(edited_plans())
def test_any_edit_gives_findings_in_words(plan: Plan) -> None:
    """Twice the same answer, each finding with a rule of the rulebook and something to read."""
    sized, _ = good()
    findings = verify(sized, plan)
    assert findings == verify(sized, plan)
    for finding in findings:
        assert isinstance(finding, Finding)
        assert finding.rule in RULES
        assert finding.detail
        assert len(finding.text()) < 2000
    values = goal_values(sized, plan)
    assert set(values) == set(get_args(Goal))
    assert all(isinstance(value, Fraction) and value >= 0 for value in values.values())


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(len(LINES["ways"]))), st.permutations(range(len(LINES["pieces"]))))
def test_the_order_of_lines_means_nothing(ways: list[int], pieces: list[int]) -> None:
    """A good plan stays good, with the same values, however its lines are sorted."""
    sized, plan = good()
    moved = plan.model_copy(
        update={"ways": tuple(plan.ways[i] for i in ways), "pieces": tuple(plan.pieces[i] for i in pieces)}
    )
    assert verify(sized, moved) == ()
    assert goal_values(sized, moved) == goal_values(sized, plan)


def test_an_empty_plan_misses_everything() -> None:
    """No line at all: every need and goal is missing, nothing else is said, and every value is zero."""
    sized, plan = good()
    empty = plan.model_copy(update=dict.fromkeys(TABLES, ()))
    missing = {"every-need-placed", "relay-present", "spare-ways", "goals-stated"}
    assert {finding.rule for finding in verify(sized, empty)} == missing
    assert set(goal_values(sized, empty).values()) == {Fraction()}
