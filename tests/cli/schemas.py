"""JSON Schemas of what the commands print with ``--json``: every field, and no other."""

from __future__ import annotations

from typing import Any

from jsonschema import Draft202012Validator

TEXT = {"type": "string"}
TEXTS = {"type": "array", "items": TEXT}
WHOLE = {"type": "integer"}
YES_NO = {"type": "boolean"}
EXACT = {"type": "string", "pattern": r"^-?\d+(/\d+)?$"}
MAYBE = {"anyOf": [EXACT, {"type": "null"}]}


def _object(**fields: Any) -> dict[str, Any]:
    return {"type": "object", "properties": fields, "required": list(fields), "additionalProperties": False}


def _list(item: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": item}


def answer(command: str, status: int, **fields: Any) -> dict[str, Any]:
    """Return the schema of one document: the head of every answer, and its own fields."""
    return _object(json_format={"const": 1}, command={"const": command}, exit_status={"const": status}, **fields)


_PLAN = {
    "vehicle": TEXT,
    "depends_on_time": YES_NO,
    "goals": _list(
        _object(goal=TEXT, value=EXACT, bound=EXACT, outcome=TEXT, closed_by=TEXT, best=MAYBE, allowed=MAYBE, cap=MAYBE)
    ),
    "account": _list(
        _object(
            goal=TEXT,
            value=EXACT,
            shares=_list(_object(amount=EXACT, what=TEXT, why=TEXT, because_of=TEXTS)),
            arguments=TEXTS,
        )
    ),
    "carriers": _list(_object(panel=TEXT, carrier=TEXT, first_bay=WHOLE)),
    "modules": _list(_object(at=TEXT, module=TEXT)),
    "heat": _list(_object(at=TEXT, milliwatts_by_case=_list(WHOLE))),
    "load_cases": TEXTS,
    "feeds": _list(_object(feed=TEXT, load_ma_by_case=_list(WHOLE), allowed_ma=EXACT)),
    "crimps": _list(
        _object(terminal=TEXT, kind={"enum": ["tab", "inlet", "ring"]}, fits=TEXT, wires=TEXTS, count=WHOLE)
    ),
    "supply_sides": _object(bridged=WHOLE, strip_inlets=WHOLE, single=WHOLE, on_bus=WHOLE),
    "figures": _list(
        _object(
            name=TEXT,
            confidence={"enum": ["U", "M", "P"]},
            value=TEXT,
            source=TEXT,
            own=_list(_object(cell=TEXT, value=TEXT, published=TEXT)),
        )
    ),
    "cautions": TEXTS,
}
_FINDINGS = _list(_object(rule=TEXT, where=TEXT, detail=TEXT, requirement=TEXT))

_MADE = {"out": TEXT, "files": TEXTS, "seconds_by_goal": {"type": "object", "additionalProperties": {"type": "number"}}}
_BATCH = {
    "out": TEXT,
    "files": TEXTS,
    "done_before": WHOLE,
    "counts": {"type": "object", "additionalProperties": WHOLE},
    "scenarios": _list(
        _object(
            scenario=TEXT,
            status=TEXT,
            vehicle=TEXT,
            circuits=WHOLE,
            values={"type": "object", "additionalProperties": EXACT},
            currency=TEXT,
            open_goals=TEXTS,
            depends_on_time=YES_NO,
            message=TEXT,
        )
    ),
}
BATCH = answer("batch", 3, interrupted={"const": False}, **_BATCH)
BATCH_STOPPED = answer("batch", 130, interrupted={"const": True}, **_BATCH)
PLANNED = answer("plan", 0, interrupted={"const": False}, **_MADE, **_PLAN)
STOPPED = answer("plan", 130, interrupted={"const": True}, **_MADE, **_PLAN)
DRAWN = answer("draw", 0, out=TEXT, files=TEXTS, **_PLAN)
ASKED = answer("why", 0, out=TEXT, files=TEXTS, why={"type": "object"})
NOT_DRAWN = answer(
    "draw", 3, keeps_its_requirements={"const": False}, findings=_FINDINGS | {"minItems": 1}
)  # fmt: skip
KEPT = answer(
    "verify",
    0,
    plan=TEXT,
    keeps_its_requirements={"const": True},
    findings=_FINDINGS | {"maxItems": 0},
    goals={"type": "object", "additionalProperties": EXACT, "minProperties": 10},
)
BROKEN = answer(
    "verify", 3, plan=TEXT, keeps_its_requirements={"const": False}, findings=_FINDINGS | {"minItems": 1}
)  # fmt: skip


_FAULTS = _list(_object(rule=TEXT, message=TEXT, where=TEXT, known=TEXT, hint=TEXT)) | {"minItems": 1}
NOT_MET = answer("plan", 3, faults=_FAULTS, reasons=TEXTS | {"minItems": 1}, clash={"type": "object"})


def refused(command: str, status: int) -> dict[str, Any]:
    """Return the schema of an answer that lists faults."""
    return answer(command, status, faults=_FAULTS)


def check(document: dict[str, Any], schema: dict[str, Any]) -> None:
    """Fail with every place where a document breaks its schema."""
    Draft202012Validator.check_schema(schema)
    assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] == []
