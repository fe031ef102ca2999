"""Rules on circuits that must be apart or together: in feed, row, module or panel."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

from allocator.requirements.scenario import Level
from allocator.verifying.findings import Finding
from allocator.verifying.records import WayRecord
from allocator.verifying.view import View


def _feed(way: WayRecord) -> str:
    return way.used.feed


def _row(way: WayRecord) -> str | None:
    return None if way.place is None else str(way.row_place)


def _module(way: WayRecord) -> str | None:
    return None if way.place is None else f"{way.place.panel}/{way.place.bay}"


def _panel(way: WayRecord) -> str | None:
    return None if way.place is None else way.place.panel


_SPOT: dict[Level, Callable[[WayRecord], str | None]] = {"feed": _feed, "row": _row, "module": _module, "panel": _panel}


def _pairs(view: View, level: Level, *, apart: bool) -> Iterator[tuple[str, str, str, str]]:
    """Yield both ids and both spots for each pair of circuits in a bond of a level, if both are somewhere."""
    for bond in view.rules.apart if apart else view.rules.together:
        if bond.level != level:
            continue
        for one, other in combinations(bond.circuits, 2):
            ways = view.way_of.get(("circuit", one)), view.way_of.get(("circuit", other))
            spots = [None if way is None else _SPOT[level](way) for way in ways]
            if spots[0] is not None and spots[1] is not None:
                yield one, other, spots[0], spots[1]


def _apart(view: View, level: Level) -> Iterator[Finding]:
    for one, other, spot, other_spot in _pairs(view, level, apart=True):
        if spot == other_spot:
            detail = f'must be in different {level}s; both are in {level} "{spot}"'
            yield Finding(f"apart-{level}", f'circuits "{one}" and "{other}"', detail)


def _together(view: View, level: Level) -> Iterator[Finding]:
    for one, other, spot, other_spot in _pairs(view, level, apart=False):
        if spot != other_spot:
            detail = f'must be in one {level}; one is in "{spot}", the other in "{other_spot}"'
            yield Finding(f"together-{level}", f'circuits "{one}" and "{other}"', detail)


def apart_feed(view: View) -> Iterator[Finding]:
    """Report circuits on one feed that must be on different ones."""
    return _apart(view, "feed")


def apart_row(view: View) -> Iterator[Finding]:
    """Report circuits in one row that must be in different ones."""
    return _apart(view, "row")


def apart_module(view: View) -> Iterator[Finding]:
    """Report circuits in one module that must be in different ones."""
    return _apart(view, "module")


def apart_panel(view: View) -> Iterator[Finding]:
    """Report circuits at one panel that must be at different ones."""
    return _apart(view, "panel")


def together_feed(view: View) -> Iterator[Finding]:
    """Report circuits on different feeds that must be on one."""
    return _together(view, "feed")


def together_row(view: View) -> Iterator[Finding]:
    """Report circuits in different rows that must be in one."""
    return _together(view, "row")


def together_module(view: View) -> Iterator[Finding]:
    """Report circuits in different modules that must be in one."""
    return _together(view, "module")


def together_panel(view: View) -> Iterator[Finding]:
    """Report circuits at different panels that must be at one."""
    return _together(view, "panel")
