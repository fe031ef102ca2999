"""
Wishes in the second model: circuits apart or together, and relays beside large fuses.

Comes in as the columns of an ``Assignment``; its linear model gets the rows. Written from docs/definitions.md and the
rulebook, never from the first model.
"""

from __future__ import annotations

from collections import defaultdict

from allocator.opinion.assignment import Assignment
from allocator.requirements.scenario import Bond


def keep_wishes(panel: Assignment) -> None:
    """Keep every bond, and relays beside their fuses where the rules ask for it."""
    _relays_beside_fuses(panel)
    for bond in panel.scenario.rules.apart:
        _bond(panel, bond, most=1)
    for bond in panel.scenario.rules.together:
        _bond(panel, bond, most=None)


def _relays_beside_fuses(panel: Assignment) -> None:
    """Rule relay-beside-fuse, for groups of which every option has so large a fuse."""
    least_a = panel.scenario.rules.relay_beside_fuse_from
    for number, group in enumerate(panel.groups if least_a is not None else ()):
        need = group.one
        large = all(option.fuse_rating_a >= (least_a or 0) for option in need.options)
        if need.takes_way and need.takes_socket and large:
            for instance in panel.used:
                relays = {c: -1.0 for (n, i, _), c in panel.relay.items() if n == number and i == instance}
                panel.linear.add(panel.in_module(number, instance) | relays, low=0, high=0)


def _bond(panel: Assignment, bond: Bond, most: int | None) -> None:
    """Rules apart-feed to together-panel; the bonded needs are groups of their own."""
    if panel.pooled and bond.level in ("row", "module") and most is not None:
        return
    members = [number for number, group in enumerate(panel.groups) if group.one.id in bond.circuits]
    shared: dict[object, dict[int, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
    for (number, row, feed), column in panel.at.items():
        if number in members:
            place = {"feed": feed, "row": row, "module": row[:3], "panel": row[0]}[bond.level]
            shared[place][number][column] = 1
    for terms_by_member in shared.values():
        if most is not None:
            together = {column: 1.0 for terms in terms_by_member.values() for column in terms}
            panel.linear.add(together, high=most)
            continue
        first = terms_by_member.get(members[0], {})
        for number in members[1:]:
            other = dict.fromkeys(terms_by_member.get(number, {}), -1.0)
            panel.linear.add(first | other, low=0, high=0)
