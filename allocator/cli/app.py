"""
The commands, their arguments and their help; each hands over to a room of this folder, which is loaded when it is used.

Words of the command line come in, an exit status goes out.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Annotated, Any, cast

import typer
from typer.main import get_command

from allocator.cli.after import revise
from allocator.cli.answers import Answer, answered, refused, unprinted
from allocator.cli.beside import compare, tradeoffs, why
from allocator.cli.many import batch, stock
from allocator.cli.options import (
    DEFAULT_TIME_LIMIT_S,
    STARTER,
    DateOption,
    FileArgument,
    JsonOption,
    NotesOption,
    OutOption,
    PlanArgument,
    RevisionOption,
    ScenarioArgument,
    SecondOption,
    SupersedesOption,
    TimeLimitOption,
    VariantOption,
    limit_refused,
)
from allocator.cli.statuses import DONE
from allocator.cli.words import path_of
from allocator.errors import Fault

_EPILOG = (
    "Exit status: 0 done; 2 bad input or usage; 3 requirements cannot be met, or a plan does not keep them; "
    "4 stopped by a limit before any plan; 130 interrupted. Results go to stdout, messages and progress to stderr."
)
_USAGE_ERROR = cast("type[Exception]", typer.BadParameter.__base__)
"""Every usage error; Typer hands out only this subclass of it."""

app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, epilog=_EPILOG)
catalogue_app = typer.Typer(rich_markup_mode=None, help="List or check a catalogue of parts.")
app.add_typer(catalogue_app, name="catalogue")


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"allocator {version('panel-allocator')} (ortools {version('ortools')})")
        raise typer.Exit(DONE)


@app.callback()
def root(
    show_version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=_print_version, help="Print the versions of program and solver."
        ),
    ] = False,
) -> None:
    """From a vehicle's list of loads to the smallest fuse-and-relay panel, proven, sized and drawn."""


@app.command()
def init(
    folder: Annotated[Path, typer.Argument(parser=path_of, metavar="DIR", help="Folder to write.")],
    example: Annotated[str, typer.Option(metavar="NAME", help="Bundled vehicle to copy.")] = STARTER,
    with_catalogue: Annotated[
        bool, typer.Option("--with-catalogue", help="Copy the catalogue too, ready to edit.")
    ] = False,
    as_json: JsonOption = False,
) -> int:
    """Write a scenario folder, ready to edit."""

    def work() -> Answer:
        from allocator.cli.examples import init as room

        return room(folder, example, with_catalogue=with_catalogue)

    return answered("init", as_json, work)


@app.command()
def check(
    scenario: ScenarioArgument,
    variant: VariantOption = None,
    brief: Annotated[bool, typer.Option("--brief", help="Leave out the reasons.")] = False,
    as_json: JsonOption = False,
) -> int:
    """
    Validate a scenario and print its sizing table.

    The table shows every choice that a plan may make, with reasons; below it stand the cautions. Feeds that cannot
    carry what must be on them are refused with the sum.
    """

    def work() -> Answer:
        from allocator.cli.checking import check as room

        return room(scenario, variant, brief=brief)

    return answered("check", as_json, work)


@app.command()
def plan(
    scenario: ScenarioArgument,
    out: OutOption,
    variant: VariantOption = None,
    keep: Annotated[
        Path | None,
        typer.Option(
            parser=path_of, metavar="FILE", help="Ways that are decided: a table of circuit and place, or a plan.json."
        ),
    ] = None,
    time_limit: TimeLimitOption = DEFAULT_TIME_LIMIT_S,
    revision: RevisionOption = None,
    date: DateOption = None,
    supersedes: SupersedesOption = None,
    second_opinion: SecondOption = False,
    as_json: JsonOption = False,
) -> int:
    """
    Make the best plan, with drawings and lists.

    Ctrl-C ends the search and keeps the best plan so far; a second one aborts at once.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.planning import plan as room

        return room(
            scenario,
            variant,
            out,
            time_limit,
            {"revision": revision, "date": date, "supersedes": supersedes},
            keep=keep,
            second=second_opinion,
        )

    return answered("plan", as_json, work)


app.command()(compare)


@app.command()
def draw(
    plan: PlanArgument,
    out: OutOption,
    notes: NotesOption = None,
    revision: RevisionOption = None,
    date: DateOption = None,
    supersedes: SupersedesOption = None,
    as_json: JsonOption = False,
) -> int:
    """
    Make all drawings and lists again from a plan.

    The plan may be edited by hand, or left over from an interrupted search. One that does not keep its requirements is
    refused with status 3: see what verify finds.
    """

    def work() -> Answer:
        from allocator.cli.plans import draw as room

        return room(plan, out, {"revision": revision, "date": date, "supersedes": supersedes}, notes)

    return answered("draw", as_json, work)


app.command()(revise)


@app.command()
def verify(
    plan: PlanArgument,
    scenario: Annotated[
        Path | None,
        typer.Option(
            parser=path_of, metavar="SCENARIO", help="Check against this folder; none: what is written in the plan."
        ),
    ] = None,
    variant: VariantOption = None,
    notes: NotesOption = None,
    second_opinion: SecondOption = False,
    as_json: JsonOption = False,
) -> int:
    """
    Check a plan against its requirements, without the solver.

    With --second-opinion another solver is asked as well whether any goal could be better. The plan may be edited by
    hand. Every breach is listed; the exit status is then 3.
    """

    if variant is not None and scenario is None:
        hint = "give the folder with --scenario as well"
        return refused(Fault("usage", "a variant is one of a scenario", f"--variant {variant}", hint=hint))

    def work() -> Answer:
        from allocator.cli.verifying import verify as room

        return room(plan, scenario, variant, notes=notes, second=second_opinion)

    return answered("verify", as_json, work)


app.command()(why)
app.command()(tradeoffs)


app.command()(batch)
app.command()(stock)


@catalogue_app.command(name="show")
def show_catalogue(file: FileArgument = None, as_json: JsonOption = False) -> int:
    """List the parts of a catalogue, its modules drawn in letters."""

    def work() -> Answer:
        from allocator.cli.catalogues import show as room

        return room(file)

    return answered("catalogue show", as_json, work)


@catalogue_app.command(name="check")
def check_catalogue(file: FileArgument = None, as_json: JsonOption = False) -> int:
    """Validate a catalogue and count its parts."""

    def work() -> Answer:
        from allocator.cli.catalogues import check as room

        return room(file)

    return answered("catalogue check", as_json, work)


def status_of(arguments: Sequence[str]) -> int:
    """
    Run the command and return its exit status.

    Parameters
    ----------
    arguments
        Words behind ``allocator``.
    """
    try:
        status = _command().main(list(arguments), prog_name="allocator", standalone_mode=False)
    except _USAGE_ERROR as error:
        return refused(_fault_of(error))
    except OSError as error:  # of the help and the versions, which the library prints; the work answers for its own
        return unprinted(error)
    except SystemExit as end:
        if end.code is None:  # work that was left behind
            raise
        return DONE  # so the library ends where nobody reads the help any more
    return status if isinstance(status, int) else DONE


def _command() -> Any:
    """Return the command; its help names arguments by their own words alone, and not by a type of the language too."""
    command: Any = get_command(app)
    todo = [command]
    for item in todo:
        todo += getattr(item, "commands", {}).values()
        for parameter in item.params:
            if parameter.param_type_name == "argument":
                parameter.display_type_rich = lambda ctx: ""
    return command


def _fault_of(error: Any) -> Fault:
    """Say a usage error in the form of every other fault; the words are those of the command-line library."""
    message = str(error.format_message()).rstrip(".")
    path = error.ctx.command_path if error.ctx else "allocator"
    return Fault("usage", f"{message[:1].lower()}{message[1:]}", hint=f"{path} --help")
