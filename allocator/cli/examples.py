"""
``allocator init``: the name of a bundled vehicle in, a scenario folder ready to edit out.

The vehicles stand in ``scenarios/`` at the top of a checkout; a wheel carries the same files as ``allocator/examples``.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from allocator.cli.answers import Answer, whole
from allocator.cli.folder import out_folder, written
from allocator.cli.interrupts import current
from allocator.errors import Fault, InputError, quoted_path
from allocator.requirements.places import did_you_mean, quoted
from allocator.requirements.reading import SHIPPED_CATALOGUE

_KEPT_BACK = ("expected.toml",)
"""What the tests of this project expect of a vehicle; nothing for its owner to edit."""
_CATALOGUE_FILE = "catalogue.toml"


def init(out: Path, example: str, *, with_catalogue: bool) -> Answer:
    """
    Write a copy of a bundled vehicle.

    Parameters
    ----------
    out
        Folder to write; new, or without files of the same names.
    example
        Name of the vehicle.
    with_catalogue
        Copy the catalogue that ships beside it, and let the scenario use the copy.
    """
    folder = _folder_of(example)
    names = sorted(path.name for path in folder.iterdir() if path.is_file() and path.name not in _KEPT_BACK)
    with out_folder(out, [*names, *([_CATALOGUE_FILE] if with_catalogue else [])]) as made:
        made.files.mkdir()
        for name in names:
            shutil.copyfile(folder / name, made.files / name)
        if with_catalogue:
            shutil.copyfile(SHIPPED_CATALOGUE, made.files / _CATALOGUE_FILE)
            scenario = made.files / "scenario.toml"
            text = scenario.read_text(encoding="utf-8")
            scenario.write_text(f'catalogue = "{_CATALOGUE_FILE}"\n\n{text}', encoding="utf-8", newline="\n")
        names = made.place()
    word = quoted_path(out)
    text = (
        f"{written(out, ', '.join(names))}"
        f"Edit them, then: allocator check {word}\n"
        f"and:             allocator plan {word} --out out\n"
    )
    return whole(Answer(text, {"example": example, "out": str(out), "files": names}), current().stop.is_set())


def example_names() -> list[str]:
    """Return the names of the bundled vehicles, sorted."""
    return sorted(path.parent.name for path in _root().glob("*/scenario.toml"))


def _root() -> Path:
    package = Path(__file__).parents[1]
    return package / "examples" if (package / "examples").is_dir() else package.parent / "scenarios"


def _folder_of(example: str) -> Path:
    if example in example_names():
        return _root() / example
    known, hint = f"the vehicles are {quoted(example_names())}", did_you_mean(example, example_names())
    raise InputError([Fault("unknown-example", f'there is no vehicle "{example}"', "--example", known, hint)])
