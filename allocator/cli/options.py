"""
Arguments and options that several commands share, with their help; and what is wrong with a time limit.

Nothing slow is loaded here, for the help needs it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from allocator.cli.answers import refused
from allocator.cli.words import path_of, seconds_of
from allocator.errors import Fault

LONGEST_LIMIT_S = 10_000_000.0
DEFAULT_TIME_LIMIT_S = 120.0
"""That of the rooms that search; they are too slow to import for the help, and a test holds them to it."""
STARTER = "starter-camper"
"""The bundled vehicle that is copied where none is named."""

ScenarioArgument = Annotated[
    Path, typer.Argument(parser=path_of, metavar="SCENARIO", help="Folder with scenario.toml.")
]
PlanArgument = Annotated[
    Path, typer.Argument(parser=path_of, metavar="PLAN", help="A plan.json, or the folder that holds it.")
]
OutOption = Annotated[
    Path,
    typer.Option(
        parser=path_of, metavar="DIR", help="Folder for the results; files of others in it are never touched."
    ),
]
FileArgument = Annotated[
    Path | None,
    typer.Argument(parser=path_of, metavar="FILE", help="Catalogue in TOML; none: the catalogue that ships."),
]
VariantOption = Annotated[
    Path | None,
    typer.Option(
        "--variant",
        parser=path_of,
        metavar="FILE",
        help="File of the scenario's folder that says what is other; none: nothing.",
    ),
]
RevisionOption = Annotated[
    str | None, typer.Option(metavar="TEXT", help="Revision that every sheet says; none: as in scenario.toml.")
]
DateOption = Annotated[str | None, typer.Option(metavar="DAY", help="Day of the revision, such as 2025-03-31.")]
SupersedesOption = Annotated[str | None, typer.Option(metavar="TEXT", help="What this paper replaces.")]
SecondOption = Annotated[
    bool,
    typer.Option("--second-opinion", help="Also ask another model in another solver whether any goal could be better."),
]
NotesOption = Annotated[
    Path | None,
    typer.Option(
        parser=path_of, metavar="FILE", help="Table of what was done at the vehicle after building, laid over the plan."
    ),
]
TimeLimitOption = Annotated[
    float, typer.Option(parser=seconds_of, metavar="S", help="Seconds after which the best plan so far is taken.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]


def limit_refused(time_limit: float, option: str = "--time-limit") -> int | None:
    """Show what is wrong with the time limit of an option, and return the exit status; None where it is sound."""
    if 0 < time_limit <= LONGEST_LIMIT_S:
        return None
    known = f"expected more than 0 and at most {LONGEST_LIMIT_S:.0f} seconds"
    return refused(Fault("usage", "the time limit is out of range", f"{option} {time_limit:g}", known))
