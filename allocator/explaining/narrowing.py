"""
A vehicle whose circuits have less to choose from, so that a plan of it is soon found; each is a plan of the wider one.

A case comes in, its sizing table with one feed for every need goes out. It says nothing where it has no plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from allocator.explaining.sketch import MUCH_MA, Case
from allocator.model.balance import build_balance
from allocator.model.frame import Frame
from allocator.sizing.sized import Need, Sized
from allocator.solving.engine import Clock, solve

EFFORT = 0.5


def narrowed(case: Case, clock: Clock) -> Sized | None:
    """
    Put every need on one feed: all that can be on few that carry whatever is asked of them, others as amperes allow.

    Returns
    -------
    Sized or None
        None where amperes allow nothing. Loads are left out where no row, module or entry has a limit for them.
    """
    sized = _on(_few_feeds(case.sized), case.sized)
    feed_by_need = _balanced(sized, clock)
    if feed_by_need is None:
        return None
    sized = _on(feed_by_need, sized)
    return sized if _looks_at_loads(sized) else _without_loads(sized)


def _on(feed_by_need: Mapping[str, str], sized: Sized) -> Sized:
    needs = (replace(need, feeds=(feed_by_need[need.id],)) if need.id in feed_by_need else need for need in sized.needs)
    return replace(sized, needs=tuple(needs))


def _without_loads(sized: Sized) -> Sized:
    no_load = (0,) * len(sized.requirements.scenario.load_cases)
    return replace(sized, needs=tuple(replace(need, load_ma_by_case=no_load) for need in sized.needs))


def _balanced(sized: Sized, clock: Clock) -> Mapping[str, str] | None:
    """Return a feed for every need with which no feed carries more than it may; None where none was found."""
    frame = Frame(sized)
    balance = build_balance(frame)
    solved = solve(balance.model, clock, effort=EFFORT, is_small=True)
    if not solved.has_solution:
        return None
    left = {index: list(members.needs) for index, members in enumerate(frame.classes)}
    return {
        left[index].pop(): feed for (index, feed), number in balance.chosen.items() for _ in range(solved.value(number))
    }


def _few_feeds(sized: Sized) -> Mapping[str, str]:
    """Return a feed for every need that a boundless one serves: always the feed that serves most of those left."""
    rules = sized.requirements.scenario.rules
    bound = {name for bond in (*rules.apart, *rules.together) if bond.level == "feed" for name in bond.circuits}
    boundless = {name for name in sized.feeds if _is_boundless(sized, name)}
    left = [need for need in sized.needs if need.id not in bound and _choice(need, boundless)]
    chosen: dict[str, str] = {}
    while left:
        most = Counter(feed for need in left for feed in _choice(need, boundless)).most_common(1)[0][0]
        chosen |= {need.id: most for need in left if most in need.feeds}
        left = [need for need in left if need.id not in chosen]
    return chosen


def _choice(need: Need, boundless: set[str]) -> list[str]:
    return [feed for feed in need.feeds if feed in boundless and feed != need.supplies]


def _is_boundless(sized: Sized, name: str | None) -> bool:
    """Whether a feed and all above it carry whatever they are asked to."""
    if name is None:
        return True
    much = sized.feeds[name].allowed_ma == MUCH_MA and name not in sized.socket_limit_ma
    return much and _is_boundless(sized, sized.feeds[name].source)


def _looks_at_loads(sized: Sized) -> bool:
    """Whether a limit of a row, a module or an entry counts, or ways that are hot."""
    limits = [*sized.row_limit_ma.values(), *sized.module_limit_ma.values()]
    return (
        any(entry.limit_ma != MUCH_MA for entry in sized.entries.values())
        or bool(sized.socket_limit_ma)
        or any(limit is not None for limit in limits)
        or sized.requirements.scenario.rules.hot_share is not None
    )
