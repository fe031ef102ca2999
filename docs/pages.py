"""
The pages of the reference that are written from the code itself, so that they cannot differ from it.

Comes in as the schema, the command line, the figures and the rules; goes out as Markdown files in a folder, one a page.
``conf.py`` calls it before the pages are read.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any, get_args

import rooms
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from typer import Typer

from allocator.cli.app import app
from allocator.figures import PUBLISHED
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.fleet import Fleet
from allocator.requirements.quantities import Quantity, Written
from allocator.requirements.scenario import Circuit, Scenario
from allocator.rulebook import RULES
from allocator.units import example

MARKS = {
    "C": "read in the text of the source itself",
    "C2": "read in a page that quotes the source; the source itself was not opened",
    "X": "computed from C and C2 figures; the source says how",
    "M": "from memory, confirmed by nothing that was read",
    "P": "common practice of the trade",
    "U": "the user's own, from the rules of the scenario",
}


def write_pages(folder: Path) -> None:
    """
    Write every page of the reference.

    Parameters
    ----------
    folder
        Where the pages go; made if it is not there.
    """
    folder.mkdir(exist_ok=True)
    pages = {
        "scenario": _fields_page("scenario.toml", "", Scenario, skipped=("figures",)),
        "circuits": _fields_page("circuits.csv and circuits.xlsx", CIRCUITS_INTRO, Circuit),
        "catalogue": _fields_page("A catalogue file", "", Catalogue),
        "fleet": _fields_page("A fleet file", "", Fleet),
        "commands": _commands_page(),
        "rules": _rules_page(),
        "sources": _sources_page(),
    }
    files = {f"{name}.md": text for name, text in pages.items()}
    files |= {"rooms.md": rooms.page(), "rooms.svg": rooms.picture()}
    for name, text in files.items():
        path = folder / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8", newline="\n")


CIRCUITS_INTRO = """One row is one load. The first row names the columns, in any order; a column that is left out
has its default in every row. Several values in one cell are parted by `;`.
"""


def _cell(text: object) -> str:
    return " ".join(str(text).split()).replace("|", "\\|")


def _table(head: tuple[str, ...], rows: Iterator[tuple[object, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(_cell(cell) for cell in line) + " |" for line in lines) + "\n"


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _models_in(inner)


def _kind(schema: Mapping[str, Any], definitions: Mapping[str, Any]) -> str:
    """Say in words what a field takes, from its JSON schema."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[-1]
        target = definitions[name]
        return f"table [{name}](#{name.lower()})" if target.get("type") == "object" else _kind(target, definitions)
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return ", ".join(f"`{value}`" for value in schema["enum"])
    if "anyOf" in schema or "oneOf" in schema:
        kinds = [_kind(part, definitions) for part in schema.get("anyOf", schema.get("oneOf"))]
        return " or ".join(dict.fromkeys(kind for kind in kinds if kind != "nothing"))
    kind = schema.get("type")
    if kind == "array":
        return f"list: {_kind(schema.get('items', {}), definitions)}"
    if kind == "object":
        return f"by name: {_kind(schema.get('additionalProperties') or {}, definitions)}"
    if kind == "string":
        return schema.get("description", "text") if "unit" in schema.get("description", "") else "text"
    words = {"integer": "whole number", "boolean": "yes or no", "null": "nothing", "number": "number"}
    return words.get(str(kind), "text")


def _takes(field: FieldInfo, schema: Mapping[str, Any], definitions: Mapping[str, Any]) -> str:
    # A description of the field's own hides that of its unit in the schema.
    units = [item.unit for item in field.metadata if isinstance(item, Quantity)]
    return f"number with a unit, such as `{example(units[0])}`" if units else _kind(schema, definitions)


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "needed"
    value = field.default
    if value is None or value == () or value == "":
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, BaseModel):
        return "its defaults"
    if isinstance(value, tuple):
        return ", ".join(f"`{one}`" for one in value)
    written = [item.write(value) for item in field.metadata if isinstance(item, Written)]
    return f"`{written[0] if written else value}`"


def _fields_page(title: str, intro: str, root: type[BaseModel], skipped: tuple[str, ...] = ()) -> str:
    definitions = root.model_json_schema().get("$defs", {})
    text = [f"# {title}\n", intro]
    seen: list[type[BaseModel]] = []
    queue = [root]
    while queue:
        model = queue.pop(0)
        if model in seen:
            continue
        seen.append(model)
        schema = model.model_json_schema()
        known = definitions | schema.get("$defs", {})
        if model is not root:
            text += [f"({model.__name__.lower()})=", f"## {model.__name__}\n"]
        doc = " ".join((model.__doc__ or "").split())
        text.append(f"{doc}\n")
        rows = []
        for name, field in model.model_fields.items():
            if name in skipped:
                rows.append(
                    (f"`{name}`", "see [sources](sources.md)", _default(field), "figures of this vehicle's own")
                )
                continue
            inner = [found for found in _models_in(field.annotation) if found in _own(definitions, found)]
            queue += inner
            kind = _takes(field, schema["properties"][name], known)
            rows.append((f"`{name}`", kind, _default(field), field.description or ""))
        text.append(_table(("field", "takes", "if left out", "meaning"), iter(rows)))
    return "\n".join(text)


def _own(definitions: Mapping[str, Any], model: type[BaseModel]) -> tuple[type[BaseModel], ...]:
    return (model,) if model.__name__ in definitions else ()


def _commands(group: Typer, before: str = "") -> Iterator[str]:
    """Give the words of every command of a group, in its order; the group's own name first."""
    yield before
    for command in group.registered_commands:
        name = command.name or getattr(command.callback, "__name__", "").replace("_", "-")
        yield f"{before} {name}".strip()
    for inner in group.registered_groups:
        if inner.typer_instance is not None:
            yield from _commands(inner.typer_instance, f"{before} {inner.name}".strip())


def _commands_page() -> str:
    text = ["# Commands\n", "What `allocator --help` and the help of each command say.\n"]
    env = os.environ | {"COLUMNS": "100", "NO_COLOR": "1"}
    for command in _commands(app):
        program = "import sys; sys.argv[0] = 'allocator'; from allocator.cli.main import run; run()"
        run = [sys.executable, "-c", program, *command.split(), "--help"]
        answer = subprocess.run(run, env=env, capture_output=True, text=True, check=True)
        text += [f"## allocator {command}".rstrip() + "\n", "```text", answer.stdout.strip(), "```\n"]
    return "\n".join(text)


def _rules_page() -> str:
    intro = "Every plan keeps every one of these rules; `verify` names the rule that a plan breaks by its id.\n"
    return "\n".join(["# Rules of a plan\n", intro, _table(("id", "rule"), ((f"`{k}`", v) for k, v in RULES.items()))])


def _sources_page() -> str:
    used = {getattr(PUBLISHED, item.name).confidence for item in fields(PUBLISHED)}
    intro = (
        "Every engineering figure that the sums use, with its source. A vehicle may replace most of them in "
        "`[rules.figures]` of its scenario, by these names.\n"
    )
    rows = (
        (f"`{item.name}`", _shown(figure.value), figure.unit, figure.confidence, figure.source)
        for item in fields(PUBLISHED)
        for figure in [getattr(PUBLISHED, item.name)]
    )
    marks = _table(("mark", "meaning"), ((mark, words) for mark, words in MARKS.items() if mark in used))
    figures = _table(("figure", "value", "unit", "mark", "source"), rows)
    return "\n".join(["# Figures and their sources\n", intro, marks, figures])


def _shown(value: object) -> str:
    if isinstance(value, Mapping):
        return f"table of {len(value)} rows"
    return f"{value:g}" if isinstance(value, float) else str(value)
