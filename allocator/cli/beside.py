"""
The commands that set plans beside each other: ``compare``, ``why``, ``tradeoffs``. ``app.py`` enters them among others.

Words of the command line come in, an exit status goes out; nothing slow is loaded for the help.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from allocator.cli.answers import Answer, answered
from allocator.cli.options import (
    DEFAULT_TIME_LIMIT_S,
    JsonOption,
    OutOption,
    PlanArgument,
    ScenarioArgument,
    TimeLimitOption,
    VariantOption,
    limit_refused,
)
from allocator.cli.words import path_of, seconds_of, whole_of

_MOST_PLANS = 1000
"""More than a front has, so that a number that nobody meant is told before the search."""


def compare(
    what: Annotated[
        list[Path],
        typer.Argument(
            parser=path_of, metavar="WHAT...", help="Plans and scenario folders; the first is held against."
        ),
    ],
    variant: Annotated[
        list[Path] | None,
        typer.Option(
            parser=path_of, metavar="FILE", help="One more plan, of the scenario with this variant; may be repeated."
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(parser=path_of, metavar="DIR", help="Folder for lists and drawings; none: only the text."),
    ] = None,
    time_limit: Annotated[
        float,
        typer.Option(
            parser=seconds_of, metavar="S", help="Seconds for each scenario, then its best plan so far is taken."
        ),
    ] = DEFAULT_TIME_LIMIT_S,
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


def why(
    plan: PlanArgument,
    out: OutOption,
    time_limit: Annotated[
        float, typer.Option(parser=seconds_of, metavar="S", help="Seconds after which what is not settled stays open.")
    ] = DEFAULT_TIME_LIMIT_S,
    load: Annotated[
        str, typer.Option(metavar="LOAD", help="Load of each further circuit by which head-room is counted.")
    ] = "2 A",
    as_json: JsonOption = False,
) -> int:
    """
    Say what binds a plan, and what its bays could hold.

    Every single requirement is eased by one step: would it save a bay, a module type or a feed entry? Each saving
    comes with a plan of the eased vehicle. Further circuits are counted for a panel planned anew in the same bays: all
    else may move. All drawings and lists are made again, with what was found.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.asking_why import why as room

        return room(plan, out, time_limit, load)

    return answered("why", as_json, work)


def tradeoffs(
    scenario: ScenarioArgument,
    out: OutOption,
    variant: VariantOption = None,
    goal: Annotated[
        list[str] | None,
        typer.Option(metavar="GOAL", help="Goal to compare, once for each; none: bays, types, pieces and price."),
    ] = None,
    step: Annotated[
        list[str] | None,
        typer.Option(metavar="GOAL=AMOUNT", help="What counts as equal, such as price=5.00; none: 1 % of the plan."),
    ] = None,
    range_: Annotated[
        list[str] | None,
        typer.Option("--range", metavar="GOAL=N", help='Steps to look beyond the best, such as bays=2; "all".'),
    ] = None,
    draw: Annotated[
        list[int] | None,
        typer.Option(
            parser=whole_of(1, _MOST_PLANS),
            metavar="N",
            min=1,
            help="Plan to draw, with all its lists, into DIR/plan-N; once for each.",
        ),
    ] = None,
    time_limit: TimeLimitOption = DEFAULT_TIME_LIMIT_S,
    as_json: JsonOption = False,
) -> int:
    """
    Find every plan that no other one beats.

    Each comes with what it buys and costs.

    Ctrl-C ends the search and keeps what is known; a second one aborts at once.
    """
    if (refusal := limit_refused(time_limit)) is not None:
        return refusal

    def work() -> Answer:
        from allocator.cli.trading import tradeoffs as room

        return room(scenario, variant, out, goal or (), step or (), range_ or (), time_limit, draw or ())

    return answered("tradeoffs", as_json, work)
