"""plan.json: what is written is read again, in the same bytes; what is broken is refused in the user's words."""

from __future__ import annotations

import json
from fractions import Fraction
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
        (b"[" * 100_000, "the plan is no JSON: it is nested too deeply"),
        (b"\xff\xfe", "the file is not UTF-8 text"),
        (b"[]", "plan field the whole file: is no table"),
        (b"3", "plan field the whole file: is no table"),
        (b'{"plan_format": 2}', "plan_format 2 is not known here"),
        (b'{"plan_format": "1"}', 'plan_format "1" is not known here'),
        (b'{"plan_format": true}', "plan_format true is not known here"),
        (b'{"plan_format": 1.0}', "plan_format 1.0 is not known here"),
        (b'{"plan_format": null}', "plan_format null is not known here"),
        (b'{"a": {"b": 1, "c": 2, "b": 1}}', 'the plan is no JSON: the field "b" stands twice in one table'),
    ],
)
def test_what_is_no_plan(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    messages = _refused(path)
    assert len(messages) == 1 and messages[0].startswith(message)


def test_a_plan_says_which_format_it_has(tmp_path: Path, plan: Plan) -> None:
    """One of another format would else be read as of this."""
    data = json.loads(plan_text(plan))
    del data["plan_format"]
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    assert _refused(path) == ["plan field plan_format: is missing"]
    assert "plan_format" in plan_schema()["required"]


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    assert _refused(tmp_path / "none.json") == ['there is no file "none.json"']
    assert _refused(tmp_path) == [f'"{tmp_path.name}" is a folder, not a file']


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("allocator.plan.files.LARGEST_PLAN_BYTES", 10)
    path = tmp_path / "plan.json"
    path.write_bytes(b" " * 11)
    assert _refused(path) == ["the file is too large"]


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


@pytest.mark.parametrize(
    "value",
    [
        "1e99999999999", "1e3", "2.5", "1/0", "1/00", "0/0", "9" * 101, "9" * 5000, "1/" + "9" * 101, "--1", "+1",
        "1_0", " 2", "2 ", "2\n", "\uff12", "\u0662", "1/\uff12", "", "/", "1/", "1/-2", "0x1", True, 2, 2.0,
        None, [], {},
    ],
)  # fmt: skip
def test_an_exact_number_is_what_the_schema_says(value: Any, plan: Plan) -> None:
    """An exponent would take for ever, and no denominator is naught."""
    data = json.loads(plan_text(plan))
    data["goals"][0]["value"] = value
    with pytest.raises(InputError) as caught:
        plan_from(data)
    assert [fault.message for fault in caught.value.faults] == ["plan field goals.0.value: is no exact number"]
    assert "49/80" in caught.value.faults[0].known
    if value != "2\n":  # behind which Python's patterns take $ to stand as well, other than those of the schema
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(data, plan_schema())


@pytest.mark.parametrize("value", ["0", "-3", "49/80", "-1/3", "9" * 100])
def test_exact_numbers_are_read(value: str, plan: Plan) -> None:
    data = json.loads(plan_text(plan))
    data["goals"][0]["value"] = value
    jsonschema.validate(data, plan_schema())
    assert plan_from(data).goals[0].value == Fraction(value)


def test_a_number_with_too_many_digits_is_no_fault_of_python(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text('{"plan_format": ' + "9" * 5000 + "}", encoding="utf-8")
    assert _refused(path) == ["the plan is no JSON: a number has more than 100 digits"]


def test_a_byte_order_mark_is_read_past(tmp_path: Path, plan: Plan) -> None:
    """Some editors put one before UTF-8 text."""
    path = tmp_path / "plan.json"
    path.write_text(plan_text(plan), encoding="utf-8-sig")
    assert read_plan(path) == plan


UNTOLD = ("\ud800", "\x00", "\x1b[31m", "\u202e", "x" * 400_001)
"""Half a pair of UTF-16, a zero byte, a colour of terminals, what turns the direction of text, and too much of it."""


@pytest.mark.parametrize("text", UNTOLD)
@pytest.mark.parametrize(
    "place",
    [
        ("solver_version",), ("allocator_version",), ("cautions", 0), ("general_cautions", 0),
        ("carriers", 0, "carrier"), ("modules", 0, "at"), ("ways", 0, "need"), ("ways", 0, "wire"),
        ("sockets", 0, "relay"), ("pieces", 0, "feed"),
    ],
)  # fmt: skip
def test_words_can_be_printed(place: tuple[Any, ...], text: str, plan: Plan) -> None:
    data = json.loads(plan_text(plan.model_copy(update={"cautions": ("Mind it.",)})))
    *above, last = place
    table = data
    for step in above:
        table = table[step]
    table[last] = text
    with pytest.raises(InputError) as caught:
        plan_from(data)
    (fault,) = caught.value.faults
    assert fault.message.startswith(f"plan field {'.'.join(map(str, place))}: ")
    assert len(fault.text()) < 500


def test_names_of_fields_can_be_printed(plan: Plan) -> None:
    for name in UNTOLD:
        data = json.loads(plan_text(plan)) | {name: 1}
        with pytest.raises(InputError) as caught:
            plan_from(data)
        assert caught.value.faults[0].message.encode().isascii() and len(caught.value.faults[0].text()) < 500


@pytest.mark.parametrize("value", [True, "1", 1.0, 0, 1000, -1, "9" * 99])
def test_a_bay_is_a_whole_number(value: Any, plan: Plan) -> None:
    data = json.loads(plan_text(plan))
    data["carriers"][0]["first_bay"] = value
    with pytest.raises(InputError) as caught:
        plan_from(data)
    assert caught.value.faults[0].message.startswith("plan field carriers.0.first_bay: ")


@pytest.mark.parametrize("value", [1, "yes", "true", 0.0])
def test_yes_or_no_is_no_other_word(value: Any, plan: Plan) -> None:
    data = json.loads(plan_text(plan)) | {"depends_on_time": value}
    with pytest.raises(InputError, match="depends_on_time: is neither yes nor no"):
        plan_from(data)


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
