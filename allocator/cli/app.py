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
from allocator.cli.answers import Answer, answered, refused
from allocator.cli.options import (
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
from allocator.cli.others import tradeoffs
from allocator.cli.statuses import DONE
from allocator.errors import Fault

_EPILOG = (
    "Exit status: 0 done; 2 bad input or usage; 3 requirements cannot be met, or a plan does not keep them; "
    "4 stopped by a limit before any plan; 130 interrupted. Results go to stdout, messages and progress to stderr."
)
_USAGE_ERROR = cast("type[Exception]", typer.BadParameter.__base__)
"""Every usage error; Typer hands out only this subclass of it."""
_MOST_JOBS = 1000

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
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write.")],
    example: Annotated[str, typer.Option(metavar="NAME", help="Bundled vehicle to copy.")] = "starter-camper",
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

    The table shows every choice that a plan may make, with reasons; below it stand the cautions.
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
        typer.Option(metavar="FILE", help="Ways that are decided: a table of circuit and place, or a plan.json."),
    ] = None,
    time_limit: TimeLimitOption = 120.0,  # allocator.solving.allocate.DEFAULT_TIME_LIMIT_S, too slow to import here
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


@app.command()
def compare(
    what: Annotated[
        list[Path], typer.Argument(metavar="WHAT...", help="Plans and scenario folders; the first is held against.")
    ],
    variant: Annotated[
        list[Path] | None,
        typer.Option(metavar="FILE", help="One more plan, of the scenario with this variant; may be repeated."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder for lists and drawings; none: only the text.")
    ] = None,
    time_limit: Annotated[
        float, typer.Option(metavar="S", help="Seconds for each scenario, then its best plan so far is taken.")
    ] = 120.0,
    as_json: JsonOption = False,
) -> int:
    """
    Show plans, scenarios and variants side by side.

    Goals with their proof, inputs, loads, parts and price, what is left free, and every circuit that is not as in the
    first plan; with a folder, the layouts next to each other, with what moved marked.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.comparing import compare as room

        return room(what, variant or [], out, time_limit)

    return answered("compare", as_json, work)


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
        typer.Option(metavar="SCENARIO", help="Check against this folder; none: what is written in the plan."),
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
        from allocator.cli.plans import verify as room

        return room(plan, scenario, variant, notes=notes, second=second_opinion)

    return answered("verify", as_json, work)


@app.command()
def why(
    plan: PlanArgument,
    out: OutOption,
    time_limit: Annotated[
        float, typer.Option(metavar="S", help="Seconds after which what is not settled stays open.")
    ] = 120.0,  # allocator.explaining.why.DEFAULT_TIME_LIMIT_S, which is too slow to import here
    load: Annotated[
        str, typer.Option(metavar="LOAD", help="Load of each further circuit by which head-room is counted.")
    ] = "2 A",
    as_json: JsonOption = False,
) -> int:
    """
    Say what binds a plan, and what room is left in it.

    Every single requirement is eased by one step: would it save a bay, a module type or a strip piece? Each saving
    comes with a plan of the eased vehicle. All drawings and lists are made again, with what was found.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.asking_why import why as room

        return room(plan, out, time_limit, load)

    return answered("why", as_json, work)


app.command()(tradeoffs)


@app.command()
def batch(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder that holds a folder for each scenario.")],
    out: OutOption,
    jobs: Annotated[
        int, typer.Option(metavar="N", min=0, max=_MOST_JOBS, help="Worker processes; 0: one for each core.")
    ] = 0,
    time_limit: Annotated[
        float, typer.Option(metavar="S", help="Seconds for each scenario, after which its best plan so far is taken.")
    ] = 120.0,
    drawings: Annotated[bool, typer.Option("--drawings", help="Make drawings and pages too, not lists alone.")] = False,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Let the workers of the dask scheduler at this address do the work."),
    ] = None,
    as_json: JsonOption = False,
) -> int:
    """
    Plan every scenario of a folder, several at a time.

    Each result is written as soon as it is there, and a scenario that has one is not done again unless it has changed.
    So the same command goes on where an earlier run was stopped.
    One bad scenario does not stop the others. Ctrl-C keeps what is done.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.batching import Asked, Options, usable_cores
        from allocator.cli.batching import batch as room

        return room(folder, out, Asked(jobs or usable_cores(), cluster, Options(time_limit, drawings)))

    return answered("batch", as_json, work)


@app.command()
def stock(
    fleet: Annotated[Path, typer.Argument(metavar="FLEET", help="A fleet file, or the folder with fleet.toml.")],
    out: OutOption,
    time_limit: Annotated[float, typer.Option(metavar="S", help="Seconds for the range of module types.")] = 300.0,
    plan_limit: Annotated[float, typer.Option(metavar="S", help="Seconds for each plan of a vehicle.")] = 30.0,
    jobs: Annotated[
        int, typer.Option(metavar="N", min=0, max=_MOST_JOBS, help="Vehicles at once; 0: one for each core.")
    ] = 0,
    as_json: JsonOption = False,
) -> int:
    """
    Plan the shelf for many vehicles.

    Which module types to keep, how many of each part, when to order again, what can be built today, and what to cut
    for all open orders together.
    """
    for seconds in (time_limit, plan_limit):
        if (refusal := limit_refused(seconds)) is not None:
            return refusal

    def work() -> Answer:
        from allocator.cli.stocking import stock as room

        return room(fleet, out, time_limit, plan_limit, jobs)

    return answered("stock", as_json, work)


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
        status = get_command(app).main(list(arguments), prog_name="allocator", standalone_mode=False)
    except _USAGE_ERROR as error:
        return refused(_fault_of(error))
    return status if isinstance(status, int) else DONE


def _fault_of(error: Any) -> Fault:
    """Say a usage error in the form of every other fault; the words are those of the command-line library."""
    message = str(error.format_message()).rstrip(".")
    path = error.ctx.command_path if error.ctx else "allocator"
    return Fault("usage", f"{message[:1].lower()}{message[1:]}", hint=f"{path} --help")
