"""What the schema refuses, said in our own sentences: a field, what is wrong with it, and what was expected."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from allocator.requirements.catalogue import NAME_PATTERN
from allocator.requirements.places import PlacedFault, Spot, did_you_mean, nearest, quoted, shown
from allocator.units import BadValue

# By pydantic's type of error: our rule, the end of the sentence, what was expected ({} is filled from the error).
_SENTENCES: Mapping[str, tuple[str, str, str]] = {
    "string_type": ("not-text", "is no text", "text in quotes"),
    "string_unicode": ("not-text", "is no proper text", "text in quotes"),
    "int_type": ("not-a-whole-number", "is no whole number", "a whole number, such as 3"),
    "int_from_float": ("not-a-whole-number", "is no whole number", "a whole number, such as 3"),
    "int_parsing_size": ("out-of-range", "is out of range", "a smaller number"),
    "bool_type": ("not-yes-or-no", "is neither yes nor no", "yes or no in a cell, true or false in a TOML file"),
    "greater_than_equal": ("out-of-range", "is out of range", "at least {ge}"),
    "less_than_equal": ("out-of-range", "is out of range", "at most {le}"),
    "string_too_long": ("too-long", "is too long", "at most {max_length} characters"),
    "string_too_short": ("empty-text", "is empty", "at least {min_length} character"),
    "too_short": ("too-few", "has too few entries", "at least {min_length}"),
    "too_long": ("too-many", "has too many entries", "at most {max_length}"),
    "tuple_type": ("not-a-list", "is no list", "a list, such as [...]"),
    "dict_type": ("not-a-table", "is no table", "a table of named values"),
    "model_type": ("not-a-table", "is no table", "a table of named values"),
}
_NAME = ("bad-name", "holds a character that a name cannot have", 'no / , ; : @ or ", and no blank at either end')
_TEXT = ("bad-text", "holds a control character", "text of printable characters")
_UNNAMED = ("[key]", "[goal]", "[aim]", "")
"""Parts of a location that are no field of the user's."""
_MOST_LISTED = 40
_OTHER = ("bad-value", "cannot be used", "")


def faults_of(
    error: ValidationError, model: type[BaseModel], spot: Spot, known_broken: frozenset[str]
) -> Iterator[PlacedFault]:
    """
    Say each error of one table or row in our own sentences.

    Parameters
    ----------
    error
        What pydantic raised for the table.
    model
        The schema of the table, for the names of its fields.
    spot
        Where the table stands.
    known_broken
        Fields whose fault has been reported already.
    """
    all_details = error.errors(include_url=False)
    misspelt = [
        _nearest_beside(details["loc"], model) for details in all_details if details["type"] == "extra_forbidden"
    ]
    for details in all_details:
        absent = details["type"] == "missing" and details["loc"] in misspelt
        if details["loc"] and details["loc"][0] not in known_broken and not (absent or _is_echo(details, all_details)):
            yield _fault(details, model, spot)


def _is_echo(details: ErrorDetails, all_details: Sequence[ErrorDetails]) -> bool:
    """Whether a list is called too short only because entries of it could not be read."""
    loc = details["loc"]
    return details["type"] == "too_short" and any(
        other["loc"] != loc and other["loc"][: len(loc)] == loc for other in all_details
    )


def _fault(details: ErrorDetails, model: type[BaseModel], spot: Spot) -> PlacedFault:
    field = _field(details["loc"])
    where = _where(details, spot, field)
    if details["type"] == "missing":
        return spot.fault(
            "missing-field", f'{spot.subject} has no "{field}"', where=where, known=_meaning(details, model)
        )
    if details["type"] == "extra_forbidden":
        names = _names_beside(details["loc"], model)
        message = f"{spot.subject} has the unknown field {shown(str(details['loc'][-1]))}"
        hint = did_you_mean(str(details["loc"][-1]), names)
        # Of the many engineering figures the nearest says more than a list of them all.
        known = f"the fields are {quoted(names, 30)}" if len(names) <= _MOST_LISTED else ""
        return spot.fault("unknown-field", message, where=where, known=known, hint=hint)
    rule, problem, expected = sentence_of(details)
    hint = ""
    if details["type"] == "literal_error":
        hint = did_you_mean(str(details["input"]), re.findall(r"'([^']*)'", details["ctx"]["expected"]))
    bad = details.get("ctx", {}).get("error")
    if isinstance(bad, BadValue):
        hint = bad.hint
    known = f"expected {expected}" if expected else ""
    return spot.fault(rule, f'"{field}" of {spot.subject} {problem}', where=where, known=known, hint=hint)


def sentence_of(details: ErrorDetails) -> tuple[str, str, str]:
    """Return our rule for an error, the end of its sentence, and what was expected (empty where that is not known)."""
    context: dict[str, Any] = details.get("ctx", {})
    bad = context.get("error")
    if isinstance(bad, BadValue):
        return bad.rule, bad.problem, bad.expected
    if details["type"] == "literal_error":
        words = re.findall(r"'([^']*)'", context["expected"])
        return "unknown-word", "is none of the words known here", quoted(words, 20)
    if details["type"] == "string_pattern_mismatch":
        return _NAME if context["pattern"] == NAME_PATTERN else _TEXT
    rule, problem, expected = _SENTENCES.get(details["type"], _OTHER)
    return rule, problem, expected.format_map(context)


def _field(loc: tuple[int | str, ...]) -> str:
    """Return ``rows no. 2, tab`` for ``("rows", 1, "tab")``."""
    text = ""
    for part in loc:
        if isinstance(part, int):
            text += f" no. {part + 1}"
        elif part not in _UNNAMED:
            text += f", {part}" if text else part
    return text


def _where(details: ErrorDetails, spot: Spot, field: str) -> str:
    if details["type"] == "missing":
        return spot.where(field)
    spot = spot.at(str(details["loc"][0]))
    if isinstance(spot.raw.get(str(details["loc"][0])), str):  # a cell holds the whole of it, also of a list or table
        return spot.where(str(details["loc"][0]))
    return f'{spot.where()}, field "{field}" = {shown(details["input"])}'


def _model_at(loc: tuple[int | str, ...], model: type[BaseModel]) -> type[BaseModel]:
    """Return the schema of the table that holds the last part of a location."""
    for part in loc[:-1]:
        field = model.model_fields.get(str(part))
        for inner in _models_in(field.annotation) if field else ():
            model = inner
    return model


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for argument in getattr(annotation, "__args__", ()):
        yield from _models_in(argument)


def _names_beside(loc: tuple[int | str, ...], model: type[BaseModel]) -> list[str]:
    return list(_model_at(loc, model).model_fields)


def _nearest_beside(loc: tuple[int | str, ...], model: type[BaseModel]) -> tuple[int | str, ...]:
    """Return where the field belongs that a misspelt one was likely meant to be; its absence is no second fault."""
    near = nearest(str(loc[-1]), tuple(_names_beside(loc, model)))
    return (*loc[:-1], near or "")


def _meaning(details: ErrorDetails, model: type[BaseModel]) -> str:
    name = str(details["loc"][-1])
    field = _model_at(details["loc"], model).model_fields.get(name)
    return f"{name}: {field.description}" if field and field.description else ""
