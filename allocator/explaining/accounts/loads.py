"""Where the peak of a plan comes from (which feed, which load case, which circuits), and each of its long jumpers."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from allocator.explaining.accounts.account import Account, Share, counted, listed, name_of
from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.measures import need_loads
from allocator.sizing.sized import Need
from allocator.units import from_model

Totals = Mapping[str, tuple[int, ...]]
"""mA of each feed by load case."""


def peak_utilisation(index: PlanIndex) -> Account:
    """Return a share for each circuit, branch and reserve that loads the fullest feed in its fullest load case."""
    by_need = need_loads(index)
    cases = range(len(index.sized.requirements.scenario.load_cases))
    totals = {
        feed: tuple(sum(by_need[item.need.id][case] for item in index.needs if item.feed == feed) for case in cases)
        for feed in index.sized.feeds
    }
    shares = {
        (feed, case): Fraction(totals[feed][case]) / sized.allowed_ma
        for feed, sized in index.sized.feeds.items()
        for case in cases
        if sized.allowed_ma
    }
    most = max(shares.values(), default=Fraction(0))
    if not most:
        return Account("peak-utilisation", ())
    at = [key for key, share in shares.items() if share == most]
    feed, case = at[0]
    there = sorted((item for item in index.needs if item.feed == feed), key=lambda item: -by_need[item.need.id][case])
    parts = tuple(
        Share(
            Fraction(by_need[item.need.id][case]) / index.sized.feeds[feed].allowed_ma,
            name_of(item.need),
            f"{from_model(by_need[item.need.id][case]):.2f} A; {_elsewhere(index, item, totals, by_need)}",
            (name_of(item.need),),
        )
        for item in there
        if by_need[item.need.id][case]
    )
    return Account("peak-utilisation", parts, tuple(_peak_arguments(index, at, there, by_need)))


def _elsewhere(index: PlanIndex, item: NeedAt, totals: Totals, by_need: Totals) -> str:
    """Say on which other feeds a need could be, and how full each would be with it in its fullest load case."""
    others = [
        feed
        for feed in item.need.feeds
        if feed != item.feed and item.panel in index.sized.feeds[feed].panels and index.sized.feeds[feed].allowed_ma
    ]
    if not others:
        return "on no other feed"
    said = []
    for feed in others:
        loads = zip(totals[feed], by_need[item.need.id], strict=True)
        full = max(Fraction(total + own) / index.sized.feeds[feed].allowed_ma for total, own in loads)
        said.append(f"{feed} would be at {100 * float(full):.1f} % with it")
    return listed(said)


def _peak_arguments(index: PlanIndex, at: list[tuple[str, int]], there: list[NeedAt], by_need: Totals) -> list[str]:
    cases = index.sized.requirements.scenario.load_cases
    said = [f"feed {feed} in {cases[case].name}" for feed, case in at]
    allowed_ma = index.sized.feeds[at[0][0]].allowed_ma
    bound = sum(by_need[item.need.id][at[0][1]] for item in there if len(item.need.feeds) == 1)
    fixed = f"what can be on no other feed comes to {100 * float(Fraction(bound) / allowed_ma):.1f} % by itself"
    of = f"{from_model(allowed_ma):.2f} A allowed"
    return [f"highest: {listed(said)}; {of}, of which {fixed}"]


def long_jumpers(index: PlanIndex) -> Account:
    """Return a share for each fuse whose relay is in another module."""
    shares = (
        Share(
            Fraction(1),
            name_of(item.need),
            f"{item.way} to {item.socket}: {_why_long(index, item)}",
            (name_of(item.need),),
        )
        for item in index.needs
        if item.jumper == "long"
    )
    return Account("long-jumpers", tuple(shares))


def _why_long(index: PlanIndex, item: NeedAt) -> str:
    letter, relay_class = item.option.fuse_format, item.option.relay_class
    both = f"a row of type {letter} and a {relay_class} socket"
    fitting = [
        module.id
        for module in index.sized.requirements.catalogue.modules
        if any(row.fuse_format == letter for row in module.rows)
        and any(group.relay_class == relay_class for group in module.sockets)
    ]
    if not fitting:
        return f"no module on offer has {both}"
    there = [at for at in index.modules if at.panel == item.panel and at.module.id in fitting]
    if not there:
        return f"no module of the panel has {both}"
    held: list[Need] = []
    free = 0
    for at in there:
        for number, kind in enumerate(at.sockets, 1):
            if kind == relay_class:
                found = [n.need for n in index.needs if n.socket and _at(n) == (at.panel, at.bay, number)]
                held += found
                free += not found
    if free:
        return f"{counted(len(there), 'module')} of the panel with {both}, {counted(free, 'such socket')} free"
    return f"the {relay_class} sockets beside rows of type {letter} are taken by {listed(map(name_of, held))}"


def _at(item: NeedAt) -> tuple[str, int, int] | None:
    return None if item.socket is None else (item.socket.panel, item.socket.bay, item.socket.socket)
