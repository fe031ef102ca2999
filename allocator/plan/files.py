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
from pydantic_core import ErrorDetails

from allocator.errors import Fault, InputError
from allocator.plan.plan import PLAN_FORMAT, Plan
from allocator.requirements.files import decode, parse_json, read_bytes
from allocator.requirements.places import shown
from allocator.requirements.reading import requirements_from_json
from allocator.requirements.translating import sentence_of

SCHEMA_ID = "plan.schema.json"
_FORMAT, _REQUIREMENTS = "plan_format", "requirements"
_UNNAMED = {"missing": ("is missing", ""), "extra_forbidden": ("is unknown", "")}
"""Of fields that are not there or should not be: what is wrong, and what was expected."""
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
    where = str(path)
    text = decode(read_bytes(Path(path), LARGEST_PLAN_BYTES, where), where)
    try:
        data = parse_json(text)
    except ValueError as error:
        raise InputError([Fault("plan-not-json", f"the plan is no JSON: {error}", where=where)]) from None
    return plan_from(data, where)


def plan_from(data: object, where: str = "plan") -> Plan:
    """Return the plan in parsed JSON, its requirements cross-checked; raise InputError with every fault."""
    stated = data.get(_FORMAT, PLAN_FORMAT) if isinstance(data, Mapping) else PLAN_FORMAT
    if stated != PLAN_FORMAT or type(stated) is not int:  # to Python true and 1.0 are 1 as well
        found = _shown(stated)
        known = f"this version reads plan_format {PLAN_FORMAT}"
        raise InputError([Fault("plan-format", f"plan_format {found} is not known here", where=where, known=known)])
    faults: list[Fault] = []
    is_told = False
    if isinstance(data, Mapping) and _FORMAT not in data:
        faults.append(_fault({"type": "missing", "loc": (_FORMAT,), "msg": "", "input": data}, where))
    if isinstance(data, Mapping) and _REQUIREMENTS in data:
        try:
            data = {**data, _REQUIREMENTS: requirements_from_json(data[_REQUIREMENTS], where)}
        except InputError as error:
            faults += error.faults
            is_told = True
    try:
        plan = Plan.model_validate(data)
    except ValidationError as error:
        found_here = [
            item for item in error.errors(include_url=False) if not is_told or item["loc"][:1] != (_REQUIREMENTS,)
        ]
        raise InputError([*(_fault(item, where) for item in found_here), *faults]) from None
    if faults:
        raise InputError(faults)
    return plan


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of plan.json."""
    schema = Plan.model_json_schema(mode="serialization")
    schema["required"] = [_FORMAT, *schema["required"]]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID, **schema}


def plan_schema_text() -> str:
    """Return the text of ``docs/plan.schema.json``."""
    return json.dumps(plan_schema(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _fault(item: ErrorDetails, where: str) -> Fault:
    field = shown(".".join(str(step) for step in item["loc"]) or "the whole file")[1:-1]
    value = "" if item["type"] == "missing" else f" = {_shown(item['input'])}"
    problem, expected = _UNNAMED.get(item["type"]) or sentence_of(item)[1:]
    known = f"expected {expected}" if expected else ""
    return Fault("plan-field", f"plan field {field}: {problem}", f"{where}, {field}{value}", known)
