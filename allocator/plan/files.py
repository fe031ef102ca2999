"""
plan.json: writing, reading, and the JSON Schema that says what may stand in it.

Comes in as a Plan or a path; goes out as text that is the same bytes for the same plan. Reading refuses bad files with
all their faults.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from allocator.errors import Fault, InputError
from allocator.plan.plan import PLAN_FORMAT, Plan
from allocator.requirements.reading import requirements_from_json

SCHEMA_ID = "plan.schema.json"
_REQUIREMENTS = "requirements"
LARGEST_PLAN_BYTES = 64 * 1024 * 1024
"""A plan of 160 circuits has about 0.3 MB; whatever is larger than this is no plan."""


def plan_text(plan: Plan) -> str:
    """Return the text of plan.json: keys sorted, two spaces of indent, a newline at the end."""
    return json.dumps(plan.model_dump(mode="json"), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def write_plan(plan: Plan, path: Path) -> None:
    """Write plan.json; the file is whole or untouched, never half-written."""
    waiting = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        waiting.write_text(plan_text(plan), encoding="utf-8", newline="\n")
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)


def read_plan(path: Path | str) -> Plan:
    """
    Read a plan.json, edited by hand or not.

    Parameters
    ----------
    path
        File to read.

    Returns
    -------
    Plan
        The plan, with its requirements.

    Raises
    ------
    InputError
        If the file is missing, is no JSON, or breaks the schema; every fault names its field and value.
    """
    path = Path(path)
    where = str(path)
    try:
        if path.stat().st_size > LARGEST_PLAN_BYTES:
            raise InputError([Fault("plan-too-large", "this file is too large for a plan", where=where)])
        data = json.loads(path.read_text(encoding="utf-8"), parse_constant=_no_constant)
    except OSError as error:
        raise _unreadable(f"the plan cannot be read: {error.strerror}", where) from None
    except UnicodeDecodeError as error:
        raise _unreadable(f"the plan is not UTF-8 text: {error.reason}", where) from None
    except RecursionError:
        raise InputError([Fault("plan-not-json", "the plan is nested too deeply", where=where)]) from None
    except ValueError as error:
        raise InputError([Fault("plan-not-json", f"the plan is no JSON: {error}", where=where)]) from None
    return plan_from(data, where)


def plan_from(data: object, where: str = "plan") -> Plan:
    """Return the plan in parsed JSON, its requirements cross-checked; raise InputError with every fault."""
    if isinstance(data, Mapping) and data.get("plan_format") not in (None, PLAN_FORMAT):
        found = _shown(data["plan_format"])
        known = f"this version reads plan_format {PLAN_FORMAT}"
        raise InputError([Fault("plan-format", f"plan_format {found} is not known here", where=where, known=known)])
    faults: list[Fault] = []
    if isinstance(data, Mapping) and _REQUIREMENTS in data:
        try:
            data = {**data, _REQUIREMENTS: requirements_from_json(data[_REQUIREMENTS], where)}
        except InputError as error:
            faults += error.faults
    try:
        plan = Plan.model_validate(data)
    except ValidationError as error:
        found_here = [
            item for item in error.errors(include_url=False) if not faults or item["loc"][:1] != (_REQUIREMENTS,)
        ]
        raise InputError([*(_fault(item, where) for item in found_here), *faults]) from None
    if faults:
        raise InputError(faults)
    return plan


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of plan.json."""
    schema = Plan.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID, **schema}


def plan_schema_text() -> str:
    """Return the text of ``docs/plan.schema.json``."""
    return json.dumps(plan_schema(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def _unreadable(message: str, where: str) -> InputError:
    return InputError([Fault("plan-unreadable", message, where=where)])


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _fault(item: Any, where: str) -> Fault:
    field = ".".join(str(step) for step in item["loc"]) or "the whole file"
    value = "" if item["type"] == "missing" else f" = {_shown(item['input'])}"
    message = str(item["msg"]).removeprefix("Value error, ")
    return Fault(
        "plan-field", f"plan field {field}: {message[:1].lower()}{message[1:]}", where=f"{where}, {field}{value}"
    )
