"""The shape of the repository: data flows one way through the rooms, files stay short, and nothing lies about."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator, Mapping
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "allocator"
ROOMS = (
    "errors",
    "units",
    "address",
    "figures",
    "rulebook",
    "notices",
    "leftovers",
    "requirements",
    "sizing",
    "plan",
    "model",
    "verifying",
    "solving",
    "opinion",
    "explaining",
    "revising",
    "tradeoffs",
    "stocking",
    "outputs",
    "batch",
    "cli",
)
"""Top to bottom: a room imports only from rooms above it."""
MOST_LINES = {"allocator": 300, "docs": 300, "tests": 400}
LONGER = {
    "allocator/figures.py": 400,  # every engineering figure once: a list with sources, not a job that grows
}
"""Most lines of a file, by its room; and the files that have a reason for more."""
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "allocator", "tests", "scenarios", "docs"}

JUDGES = ("verifying", "opinion")
"""Rooms that judge a plan; they share no code with the models."""
READ_BY_JUDGES = (
    "allocator.figures",
    "allocator.rulebook",
    "allocator.sizing.sized",
    "allocator.plan.plan",
    "allocator.address",
)
"""
What those may know beside requirements and each other: the sizing table and the plan as data, never how either came
about. Of the sizing table that is its classes with their fields; its functions and methods are code of the models too.
"""
LIBRARIES = {
    "ortools": {"model", "solving", "explaining"},
    "scipy": {"solving", "opinion"},
    "matplotlib": {"outputs"},
    "typer": {"cli"},
    "pint": {"units"},
    "openpyxl": {"requirements", "outputs"},
    "pypdf": {"outputs"},
    "pydantic": {"requirements", "plan", "batch"},
    "jinja2": {"outputs"},
    "markupsafe": {"outputs"},
    "pebble": {"batch"},
    "distributed": {"batch"},
    "rich": {"cli"},
}
"""Which rooms may know a library; whoever else needs it asks that room."""


def _files() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _name(path: Path) -> str:
    """Return the dotted name of a file of the package."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _room(name: str) -> str:
    """Return the room of a module of the package; the front door is in none."""
    return [*name.split("."), ""][1]


@cache
def _modules() -> Mapping[str, ast.Module]:
    return {_name(path): ast.parse(path.read_text(encoding="utf-8"), str(path)) for path in _files()}


def _imports(tree: ast.Module) -> Iterator[str]:
    """Yield the dotted name of every module that is imported, at the top or late; names within a module are dropped."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, "imports are written in full"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in _modules() else node.module


def _faults_of_direction(modules: Mapping[str, ast.Module]) -> list[str]:
    """Return every import from a room further down."""
    return [
        f"{name} imports {other}"
        for name, tree in modules.items()
        if name != "allocator"
        for other in _imports(tree)
        if other.split(".")[0] == "allocator" and (_room(other) not in ROOMS or _is_below(_room(other), _room(name)))
    ]


def _is_below(room: str, than: str) -> bool:
    return ROOMS.index(room) > ROOMS.index(than)


def test_every_file_is_in_a_room() -> None:
    assert {_room(name) for name in _modules()} == {"", *ROOMS}


def test_the_table_for_contributors_has_the_same_order() -> None:
    """What DEVELOPERS.md says of the data's flow; the picture in the documentation takes its order from there."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    firsts = [line.split("|")[1] for line in text.splitlines() if re.match(r"\| `[a-z]+(/|\.py)`", line)]
    assert tuple(re.findall(r"`([a-z]+)(?:/|\.py)`", " ".join(firsts))) == ROOMS


def test_imports_point_up() -> None:
    assert _faults_of_direction(_modules()) == []


def test_an_import_that_points_down_is_noticed() -> None:
    """The test itself: late, aliased and whole-room imports count."""
    wrong = {
        "allocator.sizing.wires": "def late():\n    from allocator.solving import allocate\n",
        "allocator.units": "import allocator.requirements.catalogue as c\n",
        "allocator.model.frame": "from allocator import verify\n",
        "allocator.plan.plan": "from allocator.sizing.sized import Sized\n",
    }
    found = _faults_of_direction({name: ast.parse(text) for name, text in wrong.items()})
    assert [fault.split()[0] for fault in found] == [
        "allocator.sizing.wires",
        "allocator.units",
        "allocator.model.frame",
    ]


def test_no_import_cycle() -> None:
    graph = {name: set(_imports(tree)) & set(_modules()) - {name} for name, tree in _modules().items()}
    assert len(list(TopologicalSorter(graph).static_order())) == len(_modules())


def _faults_of_judges(room: str, modules: Mapping[str, ast.Module]) -> list[str]:
    """Return what files of a room that judges take from the rooms that they judge."""
    faults = []
    for name, tree in modules.items():
        rooms = ("requirements", room)
        taken = {other for other in _imports(tree) if other.split(".")[0] == "allocator"}
        faults += [
            f"{name} imports {other}" for other in sorted(taken - {*READ_BY_JUDGES}) if _room(other) not in rooms
        ]
        libraries = {other.split(".")[0] for other in _imports(tree)} & {*LIBRARIES}
        faults += [f"{name} imports {library}" for library in sorted(libraries) if room not in LIBRARIES[library]]
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module == "allocator.sizing.sized":
                faults += [f"{name} takes {alias.name}" for alias in node.names if alias.name in _code_of_sized()]
            elif isinstance(node, ast.Attribute) and node.attr in _code_of_sized():
                faults.append(f"{name} calls {node.attr}")
    return faults


@cache
def _code_of_sized() -> frozenset[str]:
    """Return the functions of the sizing table's file, and the methods of its classes that take arguments."""
    functions = (node for node in ast.walk(_modules()["allocator.sizing.sized"]) if isinstance(node, ast.FunctionDef))
    return frozenset(node.name for node in functions if not node.decorator_list)


@pytest.mark.parametrize("room", JUDGES)
def test_judges_share_no_code_with_what_they_judge(room: str) -> None:
    assert _faults_of_judges(room, {name: tree for name, tree in _modules().items() if _room(name) == room}) == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("from allocator.sizing.sized import Need, supply_groups", "takes supply_groups"),
        ("def tail(sized):\n    return sized.tail_of()", "calls tail_of"),
        ("import allocator.sizing.sized_anew", "imports allocator.sizing.sized_anew"),
        ("def late():\n    from allocator.model.frame import Frame", "imports allocator.model.frame"),
        ("from allocator import size", "imports allocator"),
        ("import allocator.figures_anew", "imports allocator.figures_anew"),
        ("from ortools.sat.python import cp_model", "imports ortools"),
        ("from allocator.plan.index import PlanIndex", "imports allocator.plan.index"),
        ("from allocator.sizing.sized import Need, Sized", None),
        ("from allocator.requirements.catalogue import Module", None),
    ],
)
@pytest.mark.parametrize("room", JUDGES)
def test_a_judge_that_shares_code_is_noticed(room: str, text: str, fault: str | None) -> None:
    found = _faults_of_judges(room, {"x": ast.parse(text)})
    assert found == ([] if fault is None else [f"x {fault}"])


@pytest.mark.parametrize("library", LIBRARIES)
def test_a_library_stays_in_its_rooms(library: str) -> None:
    users = {
        _room(name)
        for name, tree in _modules().items()
        if any(other.split(".")[0] == library for other in _imports(tree))
    }
    assert users == LIBRARIES[library]


def _speaks(node: ast.AST) -> bool:
    """Whether a node prints, exits or touches the standard streams."""
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        return (node.value.id, node.attr) in {
            ("sys", "exit"), ("sys", "stdout"), ("sys", "stderr"), ("sys", "stdin"), ("os", "_exit")
        }  # fmt: skip
    return isinstance(node, ast.Name) and node.id in {"print", "exit", "quit", "input", "SystemExit", "breakpoint"}


def test_only_the_command_line_prints_or_exits() -> None:
    speakers = [
        f"{name}, line {node.lineno}"
        for name, tree in _modules().items()
        if _room(name) != "cli"
        for node in ast.walk(tree)
        if isinstance(node, ast.expr) and _speaks(node)
    ]
    assert speakers == []


def _tracked() -> list[str]:
    """Return the files of the repository."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True)
    return [name for name in listed.stdout.split("\0") if name]


def test_the_top_level_holds_what_it_should() -> None:
    top = {name.split("/")[0] for name in _tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


def test_files_are_short() -> None:
    lengths = {
        name: len((ROOT / name).read_text(encoding="utf-8").splitlines())
        for name in _tracked()
        if name.endswith(".py") and (ROOT / name).exists()
    }
    most = {name: LONGER.get(name, MOST_LINES[name.split("/")[0]]) for name in lengths}
    assert {name: lines for name, lines in lengths.items() if lines > most[name]} == {}
    assert [name for name in LONGER if lengths.get(name, 0) <= MOST_LINES["allocator"]] == []


def test_every_file_says_its_job() -> None:
    """Empty files mark packages; every other one opens with a docstring."""
    silent = [name for name, tree in _modules().items() if tree.body and ast.get_docstring(tree) is None]
    assert silent == []


# Written so that this file does not hold what it looks for.
FORBIDDEN = re.compile(
    r"/(?:work|root|home|tmp/venv)/|trans[c]ript|you[t]ube|sub-?[a]gent|chat-?[b]ot|language[ ]model|seed[ ]document",
    re.IGNORECASE,
)


def test_nothing_of_the_workshop_is_left_in_the_repository() -> None:
    """Neither places of one machine nor words on how the files came about."""
    found = []
    for name in _tracked():
        try:
            text = (ROOT / name).read_text(encoding="utf-8")
        except (UnicodeDecodeError, FileNotFoundError):
            continue
        found += [f"{name}: {match[0]}" for match in FORBIDDEN.finditer(text)]
    assert found == []
