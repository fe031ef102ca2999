"""
The greedy baseline's first step: a feed for every need, largest first, each on the feed that is least used with it.

A need that finds no feed left goes to the front of the line, and the step begins again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from allocator.sizing.sized import Need, Sized, supply_groups
from tests.oracles.wishes import always_live


class Stuck(Exception):  # noqa: N818
    """The greedy ran into a corner; a plan may exist all the same."""


def choose_feeds(sized: Sized) -> dict[str, str]:
    """Return the feed of every need; raise Stuck if as many passes as needs leave one without."""
    first: list[str] = []
    for _ in sized.needs:
        chosen, stuck = _one_pass(sized, first)
        if stuck is None:
            return chosen
        first = [stuck, *(name for name in first if name != stuck)]
    raise Stuck(f"no feed is left for {first[0]}")


def _one_pass(sized: Sized, first: Sequence[str]) -> tuple[dict[str, str], str | None]:
    """Return the feeds chosen, and the need that found none, if any."""
    key_out = {circuit.id for circuit in sized.requirements.circuits if circuit.key_out}
    chosen: dict[str, str] = {}
    load = {name: [0] * len(sized.needs[0].load_ma_by_case) for name in sized.feeds}

    def rank(need: Need) -> tuple[bool, int, int, str]:
        line = first.index(need.id) if need.id in first else len(first)
        return (need.supplies is None, line, -max(need.load_ma_by_case), need.id)

    for need in sorted(sized.needs, key=rank):
        open_feeds = []
        for feed in need.feeds:
            used = max(
                (load[name][case] + load_ma) / sized.feeds[name].allowed_ma
                for name in _with_sources(sized, feed)
                for case, load_ma in enumerate(need.load_ma_by_case)
            )
            dead = need.id in key_out and not always_live(sized, feed)
            if used <= 1 and not dead and _enters(sized, need, feed) and _feed_bonds_hold(sized, chosen, need.id, feed):
                open_feeds.append((used, need.feeds.index(feed), feed))
        if not open_feeds:
            return chosen, need.id
        chosen[need.id] = min(open_feeds)[2]
        for name in _with_sources(sized, chosen[need.id]):
            load[name] = [before + more for before, more in zip(load[name], need.load_ma_by_case, strict=True)]
    return chosen, None


def _enters(sized: Sized, need: Need, feed: str) -> bool:
    """Whether any row on offer takes both the need's fuse and the feed."""
    return not need.takes_way or any(
        option.fuse_format == row.fuse_format and (option.panel, module.id, group, feed) in sized.entries
        for option in need.options
        for module in sized.requirements.catalogue.modules
        for group, rows in enumerate(supply_groups(module))
        for row in (module.rows[index] for index in rows)
    )


def _with_sources(sized: Sized, feed: str | None) -> list[str]:
    names = []
    while feed is not None:
        names.append(feed)
        feed = sized.feeds[feed].source
    return names


def _feed_bonds_hold(sized: Sized, chosen: Mapping[str, str], circuit: str, feed: str) -> bool:
    rules = sized.requirements.scenario.rules
    for bonds, apart in ((rules.apart, True), (rules.together, False)):
        for bond in bonds:
            if bond.level == "feed" and circuit in bond.circuits:
                others = {chosen[name] for name in bond.circuits if name in chosen and name != circuit}
                if (feed in others) if apart else (others - {feed}):
                    return False
    return True
