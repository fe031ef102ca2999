"""plan.json: what is written is read again, in the same bytes; what is broken is refused in the user's words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from allocator.errors import InputError
from allocator.plan import Plan, read_plan, write_plan
from allocator.plan.files import plan_from, plan_schema, plan_schema_text, plan_text
from tests.plan.plans import small
from tests.verifying.hand_built import good

SCHEMA_PAGE = Path(__file__).parents[2] / "docs" / "plan.schema.json"


@pytest.fixture
def plan() -> Plan:
    return good()[1]


def test_what_is_written_is_read(tmp_path: Path, plan: Plan) -> None:
    path = tmp_path / "plan.json"
    write_plan(plan, path)
    again = read_plan(path)
    assert again == plan
    assert plan_text(again) == path.read_text(encoding="utf-8")
    assert list(tmp_path.iterdir()) == [path]


def test_the_text_is_sorted_indented_and_ends_with_a_newline(plan: Plan) -> None:
    text = plan_text(plan)
    data = json.loads(text)
    assert text == json.dumps(data, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
    assert data["plan_format"] == 1


def test_an_existing_file_survives_a_failed_write(tmp_path: Path, plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plan.json"
    path.write_text("mine", encoding="utf-8")

    def full(*_: object, **__: object) -> int:
        raise OSError("disk full")

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OSError, match="disk full"):
        write_plan(plan, path)
    assert path.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [path]


def test_plans_hold_to_the_published_schema() -> None:
    schema = json.loads(SCHEMA_PAGE.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    for sample in (good()[1], small()[1]):
        jsonschema.validate(json.loads(plan_text(sample)), schema)


def test_the_schema_refuses_what_the_reader_refuses(plan: Plan) -> None:
    data = json.loads(plan_text(plan))
    data["ways"][0]["kind"] = "guess"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, plan_schema())


def test_the_published_schema_is_current() -> None:
    assert SCHEMA_PAGE.read_text(encoding="utf-8") == plan_schema_text()


def _refused(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_plan(path)
    assert all(str(path) in fault.where for fault in caught.value.faults)
    return [fault.message for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the plan is no JSON"),
        (b"{", "the plan is no JSON"),
        (b'{"plan_format": NaN}', "the plan is no JSON: NaN is no number"),
        (b"[" * 100_000, "the plan is nested too deeply"),
        (b"\xff\xfe", "the plan is not UTF-8 text"),
        (b"[]", "plan field the whole file"),
        (b"3", "plan field the whole file"),
        (b'{"plan_format": 2}', "plan_format 2 is not known here"),
        (b'{"plan_format": "1"}', 'plan_format "1" is not known here'),
    ],
)
def test_what_is_no_plan(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    messages = _refused(path)
    assert len(messages) == 1 and messages[0].startswith(message)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    assert _refused(tmp_path / "none.json") == ["the plan cannot be read: No such file or directory"]
    assert _refused(tmp_path) == ["the plan cannot be read: Is a directory"]


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("allocator.plan.files.LARGEST_PLAN_BYTES", 10)
    path = tmp_path / "plan.json"
    path.write_bytes(b" " * 11)
    assert _refused(path) == ["this file is too large for a plan"]


def test_every_fault_of_a_file_is_named(tmp_path: Path, plan: Plan) -> None:
    data = json.loads(plan_text(plan))
    data["ways"][0]["kind"] = "guess"
    del data["sockets"][0]["relay"]
    data["colour"] = "red"
    data["goals"][0]["value"] = "much"
    data["requirements"]["circuits"][0]["feeds"] = ["nothing"]
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    text = "\n".join(_refused(path))
    for part in ("ways.0.kind", "sockets.0.relay", "colour", "goals.0.value", '"nothing"'):
        assert part in text


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)
FIELDS = sorted(Plan.model_fields)


@given(field=st.sampled_from(FIELDS), value=JSON)
def test_any_value_in_any_field_is_read_or_refused(field: str, value: Any) -> None:
    data = json.loads(plan_text(small()[1]))
    data[field] = value
    try:
        again = plan_from(data)
    except InputError as error:
        assert error.faults
    else:
        assert json.loads(plan_text(again))[field] is not None
