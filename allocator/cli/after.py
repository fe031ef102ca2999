"""
The command for what comes after building: ``revise``. ``app.py`` enters it among the others.

Words of the command line come in, an exit status goes out; nothing slow is loaded for the help.
"""

from __future__ import annotations

from typing import Annotated, Any, cast

import typer

from allocator.cli.answers import Answer, answered, refused
from allocator.cli.options import (
    DEFAULT_TIME_LIMIT_S,
    DateOption,
    JsonOption,
    OutOption,
    PlanArgument,
    RevisionOption,
    ScenarioArgument,
    SupersedesOption,
    TimeLimitOption,
    limit_refused,
)
from allocator.errors import Fault


def revise(
    plan: PlanArgument,
    scenario: ScenarioArgument,
    out: OutOption,
    keep: Annotated[
        str,
        typer.Option(
            metavar="WHAT",
            help="What stays: all modules and wires, the modules, or only the chosen parts; carriers do.",
        ),
    ] = "modules",
    part: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PART", help="Stays as well: a module, row, way, socket, circuit or feed. May be repeated."
        ),
    ] = None,
    renamed: Annotated[
        list[str] | None,
        typer.Option(metavar="OLD=NEW", help="A circuit or feed that has another name now. May be repeated."),
    ] = None,
    fresh: Annotated[
        bool, typer.Option("--fresh/--no-fresh", help="Also plan a panel afresh, to compare with.")
    ] = True,
    time_limit: TimeLimitOption = DEFAULT_TIME_LIMIT_S,
    revision: RevisionOption = None,
    date: DateOption = None,
    supersedes: SupersedesOption = None,
    as_json: JsonOption = False,
) -> int:
    """
    Change a built panel as little as possible.

    For changed requirements: fewest wires to pull, then fewest new parts, then fewest strip pieces cut anew, then the
    goals of the scenario. The time limit is for each of the two searches.
    """
    if keep not in ("all", "modules", "chosen"):
        return refused(Fault("usage", "what stays is unknown", f"--keep {keep}", "expected all, modules or chosen"))
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal
    issue = {"revision": revision, "date": date, "supersedes": supersedes}

    def work() -> Answer:
        from allocator.cli.revising import Wishes, parts_of
        from allocator.cli.revising import revise as room
        from allocator.revising import Keep

        word = cast("Any", keep)
        return room(
            plan, scenario, out, Wishes(Keep(word, parts_of(part)), parts_of(renamed), time_limit, fresh), issue
        )

    return answered("revise", as_json, work)
