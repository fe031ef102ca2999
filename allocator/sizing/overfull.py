"""
What sums alone show that no plan can do: a feed with more on it than it may carry, and circuits with too few feeds.

Sized comes in; faults go out, each with its sum, for circuits that accept a feed or its branches and nothing else. What
is found here is certain; where nothing is found, there may still be no plan.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from allocator.errors import Fault
from allocator.sizing.sized import Need, Sized, SizedFeed
from allocator.units import from_model

_MOST_NAMED = 6


def overfull(sized: Sized) -> tuple[Fault, ...]:
    """Return the faults of feeds that cannot carry what must be on them, and of circuits that cannot be apart."""
    return (*overloads(sized), *_apart(sized))


def overloads(sized: Sized, among: Collection[str] | None = None) -> Iterator[Fault]:
    """Yield the fault of every feed that cannot carry what must be on it; ``among``: of these needs alone."""
    cases = [case.name for case in sized.requirements.scenario.load_cases]
    for feed in sized.feeds.values():
        behind = _behind(sized, feed.name)
        bound = [need for need in sized.needs if behind.issuperset(need.feeds) and (among is None or need.id in among)]
        loads_ma = [sum(need.load_ma_by_case[case] for need in bound) for case in range(len(cases))]
        case = loads_ma.index(max(loads_ma))
        if loads_ma[case] > feed.allowed_ma:
            yield _overload(sized, feed, cases[case], [(need, need.load_ma_by_case[case]) for need in bound])


def _behind(sized: Sized, name: str) -> frozenset[str]:
    """Return a feed and all that branch from it: what is on any of them it carries."""
    behind = {name}
    while more := {feed.name for feed in sized.feeds.values() if feed.source in behind} - behind:
        behind |= more
    return frozenset(behind)


def _overload(sized: Sized, feed: SizedFeed, case: str, loads: list[tuple[Need, int]]) -> Fault:
    loads = sorted(((need, ma) for need, ma in loads if ma), key=lambda load: -load[1])
    terms = [f"{_name(need)} {from_model(ma):g} A" for need, ma in loads[:_MOST_NAMED]]
    rest = loads[_MOST_NAMED:]
    if rest:
        terms.append(f"{len(rest)} more {from_model(sum(ma for _, ma in rest)):g} A")
    total, allowed = f"{from_model(sum(ma for _, ma in loads)):g} A", f"{from_model(feed.allowed_ma):g} A"
    branches = " or its branches" if len(_behind(sized, feed.name)) > 1 else ""
    share = f"{sized.requirements.scenario.rules.feed_loading:g} % of its {from_model(feed.rating_ma):g} A"
    return Fault(
        "feed-overloaded",
        f'feed "{feed.name}" cannot carry what must be on it: {total} in load case "{case}", and {allowed} are allowed',
        sized.requirements.where("feeds", feed.name, "rating"),
        f"{' + '.join(terms)} = {total} > {allowed}, {share}; all of them accept only it{branches}",
        "raise its rating, or let some of them accept another feed",
    )


def _name(need: Need) -> str:
    return f"feed {need.id}" if need.kind == "feed" else need.id


def _apart(sized: Sized) -> Iterator[Fault]:
    """Find circuits that must be on different feeds and accept, all together, fewer feeds than they are."""
    told: set[tuple[str, ...]] = set()
    for bond in sized.requirements.scenario.rules.apart:
        if bond.level != "feed":
            continue
        feeds_of = {name: frozenset(sized.need_by_id[name].feeds) for name in bond.circuits}
        accepted = [*feeds_of.values(), frozenset[str]().union(*feeds_of.values())]
        for feeds in sorted(dict.fromkeys(accepted), key=len):
            held = tuple(sorted(name for name, own in feeds_of.items() if own <= feeds))
            if len(held) > len(feeds):
                if held not in told:
                    yield _too_few(sized, held, sorted(feeds))
                told.add(held)
                break


def _too_few(sized: Sized, circuits: tuple[str, ...], feeds: list[str]) -> Fault:
    names = [f'"{name}"' for name in circuits]
    listed = f"{', '.join(names[:-1])} and {names[-1]}"
    accepted = " and ".join(f'"{feed}"' for feed in feeds)
    return Fault(
        "too-few-feeds",
        f"circuits {listed} must be on different feeds, and accept only {accepted}",
        sized.requirements.where("circuits", circuits[0], "feeds"),
        f"{len(circuits)} circuits, each on a feed of its own, and {len(feeds)} feed{'' if len(feeds) == 1 else 's'}",
        "let one of them accept another feed, or give up the rule (separate_from, or [[rules.apart]])",
    )
