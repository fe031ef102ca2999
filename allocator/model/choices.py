"""
What every model decides of needs, feeds and panels: option and feed of every need, and the loads and entries of feeds.

Comes from ``Sums``; adds variables and rules to it. Rows are the business of ``counts.py`` and ``tallies.py``.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import floor

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.variables import Sums

RELAY_CLASSES = ("micro", "standard", "heavy")


def choices(x: Sums, optional: Collection[str] = ()) -> None:
    """
    Rules feed-accepted, panel-accepted, feed-reaches-panel hold by what is offered; every need takes one choice.

    Needs that are ``optional`` may take none; whoever asks says how many of them (``explaining/pooling.py``).
    """
    for index, members in enumerate(x.frame.classes):
        number = len(members.needs)
        for choice in range(len(members.choices)):
            x.chosen[index, choice] = x.model.new_int_var(0, number, f"choice {members.needs[0]} {choice}")
        taken = [x.chosen[index, choice] for choice in range(len(members.choices))]
        num_optional = sum(need in optional for need in members.needs)
        if num_optional:
            x.lacking[index] = x.model.new_int_var(0, num_optional, f"lacking {members.needs[0]}")
            taken.append(x.lacking[index])
        x.model.add(LinearExpr.sum(taken) == number)


def draws(x: Sums) -> None:
    """Rule feed-current: a feed's load with all that branches from it stays within its allowed share."""
    model, frame = x.model, x.frame
    for name, feed in frame.sized.feeds.items():
        for case in frame.cases:
            x.draw[name, case] = model.new_int_var(0, floor(feed.allowed_ma), f"draw {name} {case}")
    for name in frame.sized.feeds:
        for case in frame.cases:
            parts: list[LinearExprT] = []
            for index, members in enumerate(frame.classes):
                if members.load_ma_by_case[case]:
                    parts.append(members.load_ma_by_case[case] * x.num_chosen(index, feed=name))
                if members.supplies and any(choice.feed == name for choice in members.choices):
                    parts.append(x.draw[members.supplies, case])
            model.add(x.draw[name, case] == LinearExpr.sum(parts))


def socket_entry_currents(x: Sums) -> None:
    """Rule piece-current at relay sockets that a feed enters directly: its tail there carries the whole branch."""
    for members in x.frame.classes:
        limit_ma = x.frame.sized.socket_limit_ma.get(members.supplies or "")
        if limit_ma is not None:
            for case in x.frame.cases:
                own_ma = members.load_ma_by_case[case]
                x.model.add(x.draw[str(members.supplies), case] + own_ma <= limit_ma)


def entries_at(x: Sums, feed: str, panel: str, in_rows: Sequence[IntVar]) -> None:
    """Count the entries of a feed at a panel: those in rows, and one for each relay socket that it enters."""
    direct = sum(
        not members.takes_way and (members.choices[0].feed, members.choices[0].option.panel) == (feed, panel)
        for members in x.frame.classes
    )
    if in_rows or direct:
        total = x.model.new_int_var(0, len(x.frame.sized.needs), f"entries {feed} {panel}")
        x.entries_at[feed, panel] = total
        x.model.add(total == LinearExpr.sum(in_rows) + direct)


def sockets_suffice(x: Sums) -> None:
    """Rule class-matches, as a count: a panel has as many sockets of a class as relays of it."""
    for site in x.frame.panels:
        for relay_class in RELAY_CLASSES:
            relays = [
                x.chosen[index, number]
                for index, members in enumerate(x.frame.classes)
                for number, choice in enumerate(members.choices)
                if choice.option.relay_class == relay_class and choice.option.panel == site.name
            ]
            if relays:
                sockets = [
                    number * num_sockets(x, module, relay_class)
                    for panel, module, number in x.modules
                    if panel == site.name
                ]
                x.model.add(LinearExpr.sum(relays) <= LinearExpr.sum(sockets))


def num_sockets(x: Sums, module: str, relay_class: str) -> int:
    """Return the sockets of a class in a module of a type."""
    return sum(s.count for s in x.frame.sized.module_by_id[module].sockets if s.relay_class == relay_class)
