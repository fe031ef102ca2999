"""
How much a plan changes in a panel that is built, counted from both plans alone ("Changes to a built panel").

Comes in as the plan as built and the new plan, each with its sizing; goes out as one number for each kind of change.
Written from ``docs/definitions.md``, never from the model.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from allocator.plan.plan import Change, Plan
from allocator.sizing.sized import Sized
from allocator.verifying.bill import Bill
from allocator.verifying.records import EntryRecord, ModuleKey, NeedKey
from allocator.verifying.view import View


@dataclass(frozen=True)
class AsBuilt:
    """
    The plan that a panel was built from, with its sizing, and new names by old ones of what was renamed since.

    A circuit may have the name of a root feed: ``names`` are of circuits and branches, ``feeds`` of all feeds.
    """

    sized: Sized
    plan: Plan
    names: Mapping[str, str] = field(default_factory=dict)
    feeds: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Wire:
    """A wire of a need: its ends in words, and the places in the panel that hold one of them."""

    ends: tuple[str, str]
    wire: str
    length_mm: int
    places: tuple[object, ...]


def changes_made(built: AsBuilt, sized: Sized, plan: Plan) -> dict[Change, Fraction]:
    """
    Count what a plan changes.

    Parameters
    ----------
    built
        The panel as built.
    sized
        The sizing table of the plan's requirements.
    plan
        The new plan.

    Returns
    -------
    dict
        Wires of circuits and feeds that are wanted and cannot stay; parts that the panel has not got; feed entries that
        are not there again as they are cut.
    """
    old, new = View(built.sized, built.plan), View(sized, plan)
    return {
        "moved-wires": Fraction(_moved_wires(built, old, new)),
        "new-parts": Fraction((_parts(new) - _parts(old)).total()),
        "recut-strips": Fraction(_recut(built, old, new)),
    }


def _moved_wires(built: AsBuilt, old: View, new: View) -> int:
    moved = 0
    for kind, name in dict.fromkeys([*old.way_of, *old.socket_of]):
        now = (kind, built.names.get(name, name))
        if kind == "spare" or now not in new.known_needs:
            continue
        left = _wires(new, now, {})
        for wire in _wires(old, (kind, name), built.names):
            match = next((w for w in left if _is_left_alone(wire, w)), None)
            if match is None:
                moved += 1
            else:
                left.remove(match)
    return moved


def _is_left_alone(old: _Wire, new: _Wire) -> bool:
    same = (old.ends, old.wire, old.places) == (new.ends, new.wire, new.places)
    return same and old.length_mm >= new.length_mm


def _wires(view: View, need: NeedKey, names: Mapping[str, str]) -> list[_Wire]:
    """Return the wires of a need, longest first; a jumper is as long as its places ask."""
    option = view.option_of(need)
    if option is None:
        return []
    way, socket = view.way_of.get(need), view.socket_of.get(need)
    at_way = None if way is None else (_type_at(view, way.module_key), way.place)
    at_socket = None if socket is None else (_type_at(view, socket.module_key), socket.place)
    wires = [_cut(cut.start, cut.end, cut.wire, cut.length_mm, at_way, at_socket, names) for cut in option.wires]
    if at_way is not None and at_socket is not None and option.jumper_wire is not None:
        wires.append(_Wire(("jumper", ""), option.jumper_wire, 0, (at_way, at_socket)))
    return sorted(wires, key=lambda wire: (wire.ends, wire.wire, -wire.length_mm))


def _cut(
    start: str, end: str, wire: str, length_mm: int, at_way: object, at_socket: object, names: Mapping[str, str]
) -> _Wire:
    places = []
    if start == "way" or end == "own fuse way":
        places.append(at_way)
    if start not in ("", "way"):
        places.append(at_socket)
    control = end.removeprefix("switched side of ")
    end = end if control == end else f"switched side of {names.get(control, control)}"
    return _Wire((start, end), wire, length_mm, tuple(places))


def _type_at(view: View, key: ModuleKey | None) -> str | None:
    module = None if key is None else view.placed.get(key)
    return None if module is None else module.id


def _parts(view: View) -> Counter[str]:
    """Count carriers, modules, fuses, relays, distribution studs, and holders."""
    known = {
        *view.carrier_types, *view.module_types, *view.fuses, *view.relays, *view.main_holders,
        *(part.id for part in (*view.catalogue.studs, *view.catalogue.holders)),
    }  # fmt: skip
    return Counter({part: number for part, number in Bill(view).parts.items() if part in known})


def _recut(built: AsBuilt, old: View, new: View) -> int:
    now = {_cutting(new, entry, entry.piece.feed, {}) for entry in new.entries}
    return sum(
        _cutting(old, e, built.feeds.get(e.piece.feed, e.piece.feed), built.names) not in now for e in old.entries
    )


def _cutting(view: View, entry: EntryRecord, feed: str, names: Mapping[str, str]) -> tuple[object, ...]:
    """Return what a feed entry is: in which module, over which ways, on which feed, into whose relay."""
    entered = tuple(names.get(name, name) for name in view.feeds_entered_by(entry))
    module = None if entry.module is None else entry.module.id
    return module, entry.piece.kind, entry.at, feed, entered
