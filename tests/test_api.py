"""The library's front door: what the command does, without printing and without exit."""

from __future__ import annotations

import inspect
import subprocess
import sys
from importlib import import_module
from importlib.metadata import version
from pathlib import Path

import pytest

import allocator
from allocator import allocate, draw, load_scenario, size, verify
from allocator.outputs.drawing import FILES

ROOT = Path(__file__).parents[1]


def test_from_a_scenario_to_paper(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The five calls of the docstring do the whole job and say nothing; paths may be plain text."""
    sized = size(load_scenario(str(ROOT / "scenarios" / "starter-camper")))
    assert sized.requirements == load_scenario(ROOT / "scenarios" / "starter-camper")
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    files = draw(plan, sized, str(tmp_path / "out"))
    assert set(FILES) <= {path.name for path in files}
    assert allocator.read_plan(tmp_path / "out" / "plan.json") == plan
    assert allocator.read_plan(str(tmp_path / "out" / "plan.json")) == plan
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("name", sorted(set(allocator.__all__) - {"__version__"}))
def test_every_public_name_is_the_room_s_own(name: str) -> None:
    found = getattr(allocator, name)
    assert getattr(import_module(found.__module__), name) is found
    assert inspect.getdoc(found)


def test_every_public_function_is_on_its_page() -> None:
    page = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
    functions = {name for name in allocator.__all__ if inspect.isfunction(getattr(allocator, name))}
    assert {line.rpartition(".")[2] for line in page.splitlines() if "autofunction::" in line} == functions


def test_the_version_is_the_installed_one() -> None:
    assert allocator.__version__ == version("panel-allocator")


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="module 'allocator' has no attribute 'alocate'"):
        allocator.alocate  # type: ignore[attr-defined]  # noqa: B018


def test_names_are_listed_before_they_are_loaded() -> None:
    code = "import allocator, sys; print(set(allocator.__all__) <= set(dir(allocator)), 'pydantic' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout == "True False\n"


def test_errors_are_one_family() -> None:
    errors = (allocator.InputError, allocator.SizingError, allocator.CannotBeMet, allocator.NoPlanInTime)
    assert all(issubclass(error, allocator.AllocatorError) for error in (*errors, allocator.BrokenPlan))
