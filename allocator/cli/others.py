"""
The command for other plans than the best one: ``tradeoffs``. ``app.py`` enters it among the others.

Words of the command line come in, an exit status goes out; nothing slow is loaded for the help.
"""

from __future__ import annotations

from typing import Annotated

import typer

from allocator.cli.answers import Answer, answered
from allocator.cli.options import (
    JsonOption,
    OutOption,
    ScenarioArgument,
    TimeLimitOption,
    VariantOption,
    limit_refused,
)


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
    time_limit: TimeLimitOption = 120.0,  # allocator.solving.allocate.DEFAULT_TIME_LIMIT_S
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

        return room(scenario, variant, out, goal or (), step or (), range_ or (), time_limit)

    return answered("tradeoffs", as_json, work)
