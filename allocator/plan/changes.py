"""
How much a plan changes in a panel that is built: three counts, in the order in which a revision minimises them.

Comes in as the panel as built and an indexed plan; goes out as exact numbers. What counts is "Changes to a built panel"
in ``docs/definitions.md``; the checker counts the same on its own (``verifying/changes.py``).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import get_args

from allocator.address import Place, SocketPlace
from allocator.plan.built import Built, BuiltEntry, BuiltNeed, Lead, has_history, leads_of, parts_in_panel
from allocator.plan.index import EntryAt, NeedAt, PlanIndex
from allocator.plan.plan import Change

CHANGES: tuple[Change, ...] = get_args(Change)
"""First one first."""


def count_changes(built: Built, index: PlanIndex) -> dict[Change, Fraction]:
    """Return the three counts for a plan."""
    moved = sum(
        not lead_stays(lead, need, item, built, index) for need, item in both(built, index) for lead in need.leads
    )
    stay = {as_cut(entry, index) for entry in index.entries}
    recut = sum(cut_of(entry, built) not in stay for entry in built.entries)
    return {
        "moved-wires": Fraction(moved),
        "new-parts": Fraction(sum(new_parts(built, index).values())),
        "recut-strips": Fraction(recut),
    }


def both(built: Built, index: PlanIndex) -> Iterator[tuple[BuiltNeed, NeedAt]]:
    """Yield every circuit and feed that is built and still wanted, as built and as planned now."""
    for item in index.needs:
        if has_history(item.need, built):
            yield built.needs[item.need.id], item


def module_stays(place: Place | SocketPlace, built: Built, index: PlanIndex) -> bool:
    """Return whether the module at a place is the one that is built there."""
    now = index.module_by_bay.get((place.panel, place.bay or 0))
    return now is not None and built.modules.get((place.panel, place.bay or 0)) == now.module.id


def way_stays(need: BuiltNeed, item: NeedAt, built: Built, index: PlanIndex) -> bool:
    """Return whether a need keeps its way, in the same module."""
    return need.way is not None and need.way == item.way and module_stays(need.way, built, index)


def socket_stays(need: BuiltNeed, item: NeedAt, built: Built, index: PlanIndex) -> bool:
    """Return whether a need keeps its socket, in the same module."""
    return need.socket is not None and need.socket == item.socket and module_stays(need.socket, built, index)


def lead_stays(lead: Lead, need: BuiltNeed, item: NeedAt, built: Built, index: PlanIndex) -> bool:
    """Return whether a wire of a need can be left where it is."""
    if lead.ends_at_way and not way_stays(need, item, built, index):
        return False
    if lead.ends_at_socket and not socket_stays(need, item, built, index):
        return False
    return any(lead.may_stay_as(new) for new in leads_of(item.option, has_way=item.way is not None))


Cut = tuple[object, ...]
"""All that makes a feed entry the same as another: module, kind, place, ways, feed, and whose relay it enters."""


def as_cut(entry: EntryAt, index: PlanIndex) -> Cut:
    """Return what a feed entry of a plan is."""
    fed = index.needs_of(entry)[0].need.id if entry.socket is not None else None
    at = entry.at
    return at.module.id, entry.piece.kind, at.panel, at.bay, entry.row, entry.ways, entry.socket, entry.piece.feed, fed


def cut_of(entry: BuiltEntry, built: Built) -> Cut:
    """Return what a feed entry as built is."""
    module = built.modules.get((entry.panel, entry.bay))
    return module, entry.kind, entry.panel, entry.bay, entry.row, entry.ways, entry.socket, entry.feed, entry.need


def new_parts(built: Built, index: PlanIndex) -> Mapping[str, int]:
    """Return how many more of each part the plan needs than are built."""
    now = parts_in_panel(index)
    return {
        part: number - built.parts.get(part, 0) for part, number in now.items() if number > built.parts.get(part, 0)
    }
