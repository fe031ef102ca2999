"""What the customer asked for, checked on a finished choice, for the oracles: bonds and key-out circuits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from allocator.sizing.sized import Sized
from tests.oracles.arrangement import Seat, Standing


def feeds_hold(sized: Sized, feed_by_need: Mapping[str, str]) -> bool:
    """Whether feed bonds and key-out circuits are content with a choice of feeds."""
    scenario = sized.requirements.scenario
    for bond in scenario.rules.apart:
        feeds = [feed_by_need[name] for name in bond.circuits]
        if bond.level == "feed" and len(set(feeds)) < len(feeds):
            return False
    for bond in scenario.rules.together:
        if bond.level == "feed" and len({feed_by_need[name] for name in bond.circuits}) > 1:
            return False
    return all(
        always_live(sized, feed_by_need[circuit.id]) for circuit in sized.requirements.circuits if circuit.key_out
    )


def always_live(sized: Sized, name: str) -> bool:
    """Whether a feed and all above it are permanent and pass no relay."""
    feeds = {feed.name: feed for feed in sized.requirements.scenario.feeds}
    feed: str | None = name
    while feed is not None:
        if feeds[feed].kind != "permanent" or feeds[feed].relay_class is not None:
            return False
        feed = feeds[feed].source
    return True


def bond_holds(
    bond: tuple[str, tuple[str, ...]], apart: bool, modules: Sequence[Standing], seats: Sequence[Seat]
) -> bool:
    """
    Whether a bond at row, module or panel level holds for those of its circuits that sit.

    Feed bonds are judged by :func:`feeds_hold`.
    """
    level, circuits = bond
    if level == "feed":
        return True
    places = [_place(level, modules, seat) for seat in seats if seat.need.id in circuits]
    return len(set(places)) == len(places) if apart else len(set(places)) <= 1


def _place(level: str, modules: Sequence[Standing], seat: Seat) -> object:
    assert seat.module is not None
    return {"panel": modules[seat.module].panel, "module": seat.module, "row": (seat.module, seat.row)}[level]


def relays_near(sized: Sized, seats: Sequence[Seat]) -> bool:
    """Whether every relay of a large fuse is in the module of that fuse."""
    from_a = sized.requirements.scenario.rules.relay_beside_fuse_from
    return from_a is None or all(
        seat.option.fuse_rating_a < from_a
        or None in (seat.module, seat.socket_module)
        or seat.module == seat.socket_module
        for seat in seats
    )
