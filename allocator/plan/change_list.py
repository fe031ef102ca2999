"""
Everything that is done to a built panel to make it the one that is wanted, step by step in building order.

Comes in as the panel as built and the new plan; goes out as steps: what is pulled, removed, moved, changed, added, put
back and relabelled; their order is in ``change_step.py``. Each kind of thing is counted for itself; what a revision
minimises is counted in ``changes.py``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from allocator.plan.built import Built, BuiltEntry
from allocator.plan.change_step import COUNTED, Doing, Step, in_building_order
from allocator.plan.changes import as_cut, cut_of, module_stays
from allocator.plan.guards import Guards, guards_of
from allocator.plan.index import EntryAt, PlanIndex
from allocator.plan.parts import supplies
from allocator.plan.recrimps import new_crimps, terminal_steps
from allocator.plan.relabels import label_steps
from allocator.plan.renames import Renames
from allocator.plan.wire_changes import WireChange, wire_changes
from allocator.plan.wiring import Run


@dataclass(frozen=True)
class ChangeList:
    """All steps of a revision, with both panels."""

    built: Built
    old: PlanIndex
    new: PlanIndex
    names: Renames
    wires: tuple[WireChange, ...]
    steps: tuple[Step, ...]

    @property
    def counts(self) -> Mapping[tuple[Doing, str], int]:
        """How many things of each kind are changed in which way, in building order; pulls and refits change nothing."""
        return Counter((step.doing, step.kind) for step in self.steps if step.doing in COUNTED)


def change_list(built: Built, old: PlanIndex, new: PlanIndex, names: Renames | None = None) -> ChangeList:
    """
    Work out what is done to a built panel.

    Parameters
    ----------
    built
        The panel as built.
    old, new
        The plan that it was built from, and the one that is wanted.
    names
        What was renamed since.
    """
    names = names or Renames()
    wires = wire_changes(built, old, new, names)
    crimps = new_crimps(wires, old, new)
    studs = tuple(_studs(old, new, names))
    guards = guards_of(wires, crimps, {step.feed for step in studs}, old, new, names)
    found = [
        *_plugs(built, new, guards),
        *_wires(wires),
        *terminal_steps(wires, crimps),
        *_entries(built, new),
        *_frame(built, old, new),
        *studs,
        *_main_fuses(old, new, names, guards),
        *_inline_fuses(wires),
        *label_steps(old, new, names),
    ]
    return ChangeList(built, old, new, names, wires, tuple(sorted(found, key=in_building_order)))


def _plugs(built: Built, new: PlanIndex, guards: Guards) -> Iterator[Step]:
    """Fuses and relays: what is pulled out, put elsewhere or replaced, and what only makes room for work on wires."""
    now = {item.need.id: item for item in new.needs}
    as_built = {cut_of(entry, built) for entry in built.entries}
    for name in dict.fromkeys([*built.needs, *now]):
        was, item = built.needs.get(name), now.get(name)
        feed = item.feed if item is not None else was.feed if was is not None else ""
        ways = (str(was.way) if was and was.way else "", str(item.way) if item and item.way else "")
        sockets = (str(was.socket) if was and was.socket else "", str(item.socket) if item and item.socket else "")
        fuses = (was.fuse if was else None, item.option.fuse if item else None)
        relays = (was.relay if was else None, item.option.relay if item else None)
        way, socket = (None, None) if item is None else (item.way, item.socket)
        on_new_way = way is not None and not (
            module_stays(way, built, new) and as_cut(new.entry_by_way[way], new) in as_built
        )
        on_new_socket = socket is not None and not module_stays(socket, built, new)
        yield from _plug("fuse", name, feed, ways, fuses, in_the_way=on_new_way or name in guards.needs)
        yield from _plug("relay", name, feed, sockets, relays, in_the_way=on_new_socket)
        is_spare = (item is not None and item.need.kind == "spare") or (was is not None and was.kind == "spare")
        if is_spare and ways[0] != ways[1]:
            doing: Doing = "add" if not ways[0] else "remove" if not ways[1] else "move"
            yield Step(doing, "spare way", name, feed, *ways)


def _plug(
    kind: str,
    name: str,
    feed: str,
    places: tuple[str, str],
    parts: tuple[str | None, str | None],
    *,
    in_the_way: bool,
) -> Iterator[Step]:
    (old, new), (was, part) = places, parts
    if was and part:
        if was != part:
            step = Step("change", kind, name, feed, old, new, part, was)
        elif old != new:
            step = Step("move", kind, name, feed, old, new, part)
        elif in_the_way:
            step = Step("refit", kind, name, feed, "", new, part)
        else:
            return
        yield Step("pull", kind, name, feed, old, "", was)
        yield step
    elif was:
        yield Step("remove", kind, name, feed, old, "", was)
    elif part:
        yield Step("add", kind, name, feed, "", new, part)


_DOING: Mapping[str, Doing] = {"moved": "move", "replaced": "change", "out": "remove", "new": "add"}


def _wires(wires: tuple[WireChange, ...]) -> Iterator[Step]:
    for change in wires:
        if change.fate == "stays":
            continue
        run = change.run
        old, new = _ends_of(change)
        was = change.old.wire if change.old is not None and change.new is not None else ""
        number = change.new.number if change.new is not None else ""
        if change.old is not None and change.new is not None:
            yield Step("pull", change.kind, run.need, run.feed, old, "", was)
        yield Step(_DOING[change.fate], change.kind, run.need, run.feed, old, new, run.wire, was, number, run.length_mm)


def _ends_of(change: WireChange) -> tuple[str, str]:
    """Return between what a wire runs, before and now; of one that is moved only the ends that are."""
    old, new = ([] if run is None else [run.start.at, run.end.at] for run in (change.old, change.new))
    if change.fate == "moved":
        kept = [one == other for one, other in zip(old, new, strict=True)]
        if not all(kept):  # else the module around both is another one
            old = [end for end, same in zip(old, kept, strict=True) if not same]
            new = [end for end, same in zip(new, kept, strict=True) if not same]
    return " and ".join(old) if change.fate == "moved" else " to ".join(old), (
        " and ".join(new) if change.fate == "moved" else " to ".join(new)
    )


def _entries(built: Built, new: PlanIndex) -> Iterator[Step]:
    """Strip pieces and other feed entries; one that lies over ways of an old one is that one, cut anew."""
    now = {as_cut(entry, new): entry for entry in new.entries}
    before = {cut_of(entry, built): entry for entry in built.entries}
    gone = [entry for cut, entry in before.items() if cut not in now]
    for cut, entry in now.items():
        if cut in before:
            continue
        match = next((old for old in gone if _overlap(old, entry)), None)
        feed, at = entry.piece.feed, entry.piece.at
        strip = entry.at.module.rows[entry.row].strip if entry.row is not None and entry.piece.kind == "strip" else None
        if match is not None:
            gone.remove(match)
            yield Step("pull", "strip piece", "", feed, match.at, "")
            yield Step("change", "strip piece", "", feed, match.at, at, strip or "")
        else:
            yield Step("add", _entry_kind(entry.piece.kind), "", feed, "", at, strip or "")
    for old in gone:
        yield Step("remove", _entry_kind(old.kind), "", old.feed, old.at, "")


def _entry_kind(kind: str) -> str:
    return "strip piece" if kind == "strip" else "feed entry"


def _overlap(old: BuiltEntry, entry: EntryAt) -> bool:
    here = (old.kind, old.panel, old.bay, old.row) == (entry.piece.kind, entry.at.panel, entry.at.bay, entry.row)
    return here and old.kind == "strip" and bool({*old.ways} & {*entry.ways})


def _frame(built: Built, old: PlanIndex, new: PlanIndex) -> Iterator[Step]:
    was_at = {(item.panel, item.bay): item.module.id for item in old.modules}
    now_at = {(item.panel, item.bay): item.module.id for item in new.modules}
    for place in dict.fromkeys([*was_at, *now_at]):
        at, was, now = f"{place[0]}/{place[1]}", was_at.get(place), now_at.get(place)
        if was is not None and was != now:
            yield Step("remove", "module", "", "", at, "", was)
        if now is not None and was != now:
            yield Step("add", "module", "", "", "", at, now)
    had = Counter((item.panel, item.carrier.id) for item in old.carriers)
    for carrier in new.carriers:
        key = (carrier.panel, carrier.carrier.id)
        if had[key]:
            had[key] -= 1
        else:
            yield Step("add", "carrier", "", "", "", f"{carrier.panel}, bay {carrier.first_bay} on", key[1])


def _studs(old: PlanIndex, new: PlanIndex, names: Renames) -> Iterator[Step]:
    """Distribution studs and holders of main fuses: what stands before the panel."""
    for kind in ("distribution stud", "main holder"):
        was, now = _before_the_panel(old, kind, names), _before_the_panel(new, kind, Renames())
        for (feed, at, part), number in (was - now).items():
            yield from [Step("remove", kind, "", feed, at, "", part)] * number
        for (feed, at, part), number in (now - was).items():
            yield from [Step("add", kind, "", feed, "", at, part)] * number


def _main_fuses(old: PlanIndex, new: PlanIndex, names: Renames, guards: Guards) -> Iterator[Step]:
    """A main fuse goes, comes, or is out while its holder, cable, lead or what has no fuse of its own is worked on."""
    was, now = _before_the_panel(old, "main fuse", names), _before_the_panel(new, "main fuse", Renames())
    for feed, at, part in was - now:
        yield Step("remove", "main fuse", "", feed, at, "", part)
    for feed, at, part in now - was:
        yield Step("add", "main fuse", "", feed, "", at, part)
    for feed, at, part in now & was:
        if feed in guards.roots:
            yield Step("pull", "main fuse", "", feed, at, "", part)
            yield Step("refit", "main fuse", "", feed, "", at, part)


_IN_LINE: Mapping[str, tuple[str, str]] = {
    "coil lead": ("coil holder", "coil fuse"),
    "feed tail": ("tail holder", "tail fuse"),
}


def _inline_fuses(wires: tuple[WireChange, ...]) -> Iterator[Step]:
    """In-line fuses and holders of coil leads and feed tails; those of a wire cut anew go over to the new one."""
    for change in wires:
        if change.kind not in _IN_LINE:
            continue
        was, now = _in_line(change.kind, change.old), _in_line(change.kind, change.new)
        same = {item[:2] for item in was} == {item[:2] for item in now}
        leaving, coming = _LEAVING_AND_COMING[same]
        run = change.run
        for kind, part, at in was:
            if not same or _is_in_the_way(kind, change.fate):
                yield Step(leaving, kind, run.need, run.feed, at, "", part, wire=run.number)
        for kind, part, at in now:
            if not same or _is_in_the_way(kind, change.fate):
                yield Step(coming, kind, run.need, run.feed, "", at, part, wire=run.number)


_LEAVING_AND_COMING: Mapping[bool, tuple[Doing, Doing]] = {False: ("remove", "add"), True: ("pull", "refit")}


def _is_in_the_way(kind: str, fate: str) -> bool:
    return fate == "replaced" or (fate == "moved" and kind.endswith("fuse"))


def _in_line(wire: str, run: Run | None) -> tuple[tuple[str, str, str], ...]:
    """Return kind, catalogue id and place of holder and fuse in a wire."""
    if run is None or run.inline is None:
        return ()
    holder, fuse = _IN_LINE[wire]
    at = run.start.place if wire == "feed tail" else run.end.place
    return (holder, run.inline.holder, at), (fuse, run.inline.fuse, at)


def _before_the_panel(index: PlanIndex, kind: str, names: Renames) -> Counter[tuple[str, str, str]]:
    """Count parts of a kind by feed as it is named now, place and catalogue id."""
    found: Counter[tuple[str, str, str]] = Counter()
    for supply in supplies(index):
        feed, name = supply.feed, names.feed(supply.feed.name)
        if kind == "distribution stud" and supply.num_studs and feed.stud is not None:
            found[name, f"panel {supply.panel}", feed.stud] += supply.num_studs
        if feed.main is not None and kind in ("main fuse", "main holder"):
            found[name, "supply", feed.main.fuse if kind == "main fuse" else feed.main.holder] = 1
    return found
