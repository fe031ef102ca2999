"""
The commands for many vehicles: ``batch`` and ``stock``. ``app.py`` enters them among the others.

Words of the command line come in, an exit status goes out; nothing slow is loaded for the help.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from allocator.cli.answers import Answer, answered
from allocator.cli.options import DEFAULT_TIME_LIMIT_S, JsonOption, OutOption, limit_refused
from allocator.cli.words import path_of, seconds_of, whole_of

_MOST_JOBS = 1000


def _jobs(what: str) -> Any:
    """Return the option of how much is done at once."""
    return typer.Option(parser=whole_of(0, _MOST_JOBS), metavar="N", min=0, max=_MOST_JOBS, help=what)


def batch(
    folder: Annotated[
        Path, typer.Argument(parser=path_of, metavar="DIR", help="Folder that holds a folder for each scenario.")
    ],
    out: OutOption,
    jobs: Annotated[int, _jobs("Worker processes; 0: one for each core.")] = 0,
    time_limit: Annotated[
        float,
        typer.Option(
            parser=seconds_of, metavar="S", help="Seconds for each scenario, after which its best plan so far is taken."
        ),
    ] = DEFAULT_TIME_LIMIT_S,
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


def stock(
    fleet: Annotated[
        Path, typer.Argument(parser=path_of, metavar="FLEET", help="A fleet file, or the folder with fleet.toml.")
    ],
    out: OutOption,
    time_limit: Annotated[
        float, typer.Option(parser=seconds_of, metavar="S", help="Seconds for the range of module types.")
    ] = 300.0,
    plan_limit: Annotated[
        float, typer.Option(parser=seconds_of, metavar="S", help="Seconds for each plan of a vehicle.")
    ] = 30.0,
    jobs: Annotated[int, _jobs("Vehicles at once; 0: one for each core.")] = 0,
    as_json: JsonOption = False,
) -> int:
    """
    Plan the shelf for many vehicles.

    Which module types to keep, how many of each part, when to order again, what can be built today, and what to cut
    for all open orders together.
    """
    for option, seconds in (("--time-limit", time_limit), ("--plan-limit", plan_limit)):
        if (refusal := limit_refused(seconds, option)) is not None:
            return refusal

    def work() -> Answer:
        from allocator.cli.stocking import stock as room

        return room(fleet, out, time_limit, plan_limit, jobs)

    return answered("stock", as_json, work)
