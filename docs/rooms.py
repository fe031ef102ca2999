"""
The import graph of the package as a picture and a table: which room takes from which.

Comes in as the source files themselves; goes out as a page of Markdown and an SVG. Rooms stand in the order in which
data flows; every arc is an import, and leads from a room up to one above it.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "allocator"
LINE, LEFT = 26, 330
"""Height of a room's line, and where arcs begin, px."""


def rooms() -> Mapping[str, frozenset[str]]:
    """Return the rooms that each room imports from, in the order of the data's flow."""
    taken: dict[str, set[str]] = {}
    for path in PACKAGE.rglob("*.py"):
        room = _room(path.relative_to(PACKAGE.parent).with_suffix("").parts)
        if room:
            taken.setdefault(room, set()).update(_imported(ast.parse(path.read_text(encoding="utf-8"))) - {room, ""})
    return {room: frozenset(taken[room]) for room in _in_order()}


def _in_order() -> list[str]:
    """Return the rooms in the order of the table in DEVELOPERS.md."""
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    firsts = [line.split("|")[1] for line in text.splitlines() if re.match(r"\| `[a-z]+(/|\.py)`", line)]
    return re.findall(r"`([a-z]+)(?:/|\.py)`", " ".join(firsts))


def _room(parts: tuple[str, ...]) -> str:
    return parts[1] if len(parts) > 1 and parts[1] != "__init__" else ""


def _imported(tree: ast.Module) -> set[str]:
    names = [alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names]
    names += [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {_room(tuple(name.split("."))) for name in names if name.split(".")[0] == PACKAGE.name}


def page() -> str:
    """Return the page with picture and table."""
    rows = [
        f"| `{room}` | {_lines(room)} | {', '.join(f'`{other}`' for other in graph) or 'nothing'} |"
        for room, graph in _sorted().items()
    ]
    return "\n".join(
        [
            "# Rooms of the source\n",
            "What a room does stands in DEVELOPERS.md; which takes from which is read here from the source. Data flows "
            "down the list: every arc leads from a room to one above it that it imports, and there is no circle.\n",
            "![Rooms from top to bottom, with an arc for every import](rooms.svg)\n",
            "| room | files, lines, longest | imports from |\n| --- | --- | --- |",
            *rows,
            "",
        ]
    )


def _sorted() -> Mapping[str, list[str]]:
    graph = rooms()
    return {room: [other for other in graph if other in graph[room]] for room in graph}


def _lines(room: str) -> str:
    files = [PACKAGE / f"{room}.py"] if (PACKAGE / f"{room}.py").exists() else list((PACKAGE / room).rglob("*.py"))
    lengths = [len(path.read_text(encoding="utf-8").splitlines()) for path in files]
    return f"{len(files)}, {sum(lengths)}, {max(lengths)}"


def picture() -> str:
    """Return the SVG: rooms as words, imports as arcs beside them, the wider the further apart."""
    graph = _sorted()
    at = {room: LINE * (number + 1) for number, room in enumerate(graph)}
    width, height = LEFT + 12 * LINE, LINE * (len(graph) + 1)
    arcs = [
        f'<path d="M{LEFT} {at[room]}C{LEFT + reach} {at[room]} {LEFT + reach} {at[other]} {LEFT} {at[other]}" '
        'fill="none" stroke="#46586b" stroke-opacity="0.45"/>'
        for room, others in graph.items()
        for other in others
        for reach in [20 + 0.75 * (at[room] - at[other])]
    ]
    words = [
        f'<text x="{LEFT - 10}" y="{y + 5}" text-anchor="end">{room}</text><circle cx="{LEFT}" cy="{y}" r="3"/>'
        for room, y in at.items()
    ]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="180 0 {width - 180} {height}" font-family="sans-serif" '
    return "\n".join([head + 'font-size="15">', *arcs, *words, "</svg>", ""])
