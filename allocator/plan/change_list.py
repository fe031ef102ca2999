"""
Everything that is done to a built panel to make it the one that is wanted, step by step in building order.

Comes in as the panel as built and the new plan; goes out as steps: what is removed, moved, changed in its place, added,
and relabelled. Each kind of thing is counted for itself; what a revision minimises is counted in ``changes.py``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from allocator.plan.built import Built, BuiltEntry
from allocator.plan.changes import as_cut, cut_of
from allocator.plan.index import EntryAt, PlanIndex
from allocator.plan.parts import supplies
from allocator.plan.wire_changes import WireChange, wire_changes
from allocator.plan.wiring import STUD, WireEnd
from allocator.sizing.sized import InlineFuse

Doing = Literal["remove", "move", "change", "add", "relabel"]
DOINGS: tuple[Doing, ...] = ("remove", "move", "change", "add", "relabel")


@dataclass(frozen=True, slots=True)
class Step:
    """
    One thing to do.

    Attributes
    ----------
    doing
        Whether something goes, goes to another place, is changed where it is, comes, or gets another label.
    kind
        What it is: ``fuse``, ``relay``, ``load wire``, ``coil lead``, ``feed tail``, ``strip piece``, ``module`` ...
    need
        Id of the circuit, feed or spare way that it belongs to; empty for strips, modules and carriers.
    old, new
        Where it is and where it comes to, as addresses or words.
    part
        Catalogue id of what is there in the end; of what goes, for a removal.
    was
        Catalogue id of what it replaces.
    wire
        Number of the wire in the new wire list.
    """

    doing: Doing
    kind: str
    need: str
    feed: str
    old: str
    new: str
    part: str = ""
    was: str = ""
    wire: str = ""
    length_mm: int = 0


@dataclass(frozen=True)
class ChangeList:
    """All steps of a revision, with both panels."""

    built: Built
    old: PlanIndex
    new: PlanIndex
    names: Mapping[str, str]
    wires: tuple[WireChange, ...]
    steps: tuple[Step, ...]

    @property
    def counts(self) -> Mapping[tuple[Doing, str], int]:
        """Number of steps by what is done and to what kind of thing, in building order."""
        return Counter((step.doing, step.kind) for step in self.steps)

    @property
    def old_name(self) -> Mapping[str, str]:
        """Old names by the new ones, of what was renamed."""
        return {new: old for old, new in self.names.items()}


def change_list(built: Built, old: PlanIndex, new: PlanIndex, names: Mapping[str, str] | None = None) -> ChangeList:
    """
    Work out what is done to a built panel.

    Parameters
    ----------
    built
        The panel as built.
    old, new
        The plan that it was built from, and the one that is wanted.
    names
        New names of circuits and feeds by their old ones.
    """
    names = names or {}
    wires = wire_changes(built, old, new, names)
    found = [
        *_plugs(built, new),
        *_wires(wires),
        *_entries(built, new),
        *_frame(built, old, new),
        *_studs(old, new, names),
        *_coil_fuses(wires),
    ]
    found += [*_labels(built, old, new, names)]
    order = {kind: number for number, kind in enumerate(_ORDER)}

    def key(step: Step) -> tuple[int, int]:
        number = order.get(step.kind, len(order))
        return DOINGS.index(step.doing), number if step.doing == "add" else -number

    return ChangeList(built, old, new, names, wires, tuple(sorted(found, key=key)))


_ORDER = (
    "carrier", "module", "main holder", "main fuse", "distribution stud", "tail holder", "tail fuse", "strip piece",
    "feed entry", "main lead", "feed cable", "stud link", "feed tail", "load wire", "return wire", "coil lead",
    "coil holder", "coil fuse", "jumper", "relay", "fuse", "spare way", "label",
)  # fmt: skip
"""In which order things are added; they are taken out the other way round."""


def _plugs(built: Built, new: PlanIndex) -> Iterator[Step]:
    """Fuses and relays: what is pulled out, put elsewhere or replaced."""
    now = {item.need.id: item for item in new.needs}
    for name in dict.fromkeys([*built.needs, *now]):
        was, item = built.needs.get(name), now.get(name)
        feed = item.feed if item is not None else was.feed if was is not None else ""
        ways = (str(was.way) if was and was.way else "", str(item.way) if item and item.way else "")
        sockets = (str(was.socket) if was and was.socket else "", str(item.socket) if item and item.socket else "")
        fuses = (was.fuse if was else None, item.option.fuse if item else None)
        relays = (was.relay if was else None, item.option.relay if item else None)
        yield from _plug("fuse", name, feed, ways, fuses)
        yield from _plug("relay", name, feed, sockets, relays)
        is_spare = (item is not None and item.need.kind == "spare") or (was is not None and was.kind == "spare")
        if is_spare and ways[0] != ways[1]:
            doing: Doing = "add" if not ways[0] else "remove" if not ways[1] else "move"
            yield Step(doing, "spare way", name, feed, *ways)


def _plug(
    kind: str, name: str, feed: str, places: tuple[str, str], parts: tuple[str | None, str | None]
) -> Iterator[Step]:
    (old, new), (was, part) = places, parts
    if was and part and was == part:
        if old != new:
            yield Step("move", kind, name, feed, old, new, part)
    elif was and part:
        yield Step("change", kind, name, feed, old, new, part, was)
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
        yield Step(_DOING[change.fate], change.kind, run.need, run.feed, old, new, run.wire, was, number, run.length_mm)


def _ends_of(change: WireChange) -> tuple[str, str]:
    """Return between what a wire runs, before and now; of one that is moved only the ends that are."""
    old, new = ([] if run is None else [_end(run.start), _end(run.end)] for run in (change.old, change.new))
    if change.fate == "moved":
        kept = [one == other for one, other in zip(old, new, strict=True)]
        if not all(kept):  # else the module around both is another one
            old = [end for end, same in zip(old, kept, strict=True) if not same]
            new = [end for end, same in zip(new, kept, strict=True) if not same]
    return " and ".join(old) if change.fate == "moved" else " to ".join(old), (
        " and ".join(new) if change.fate == "moved" else " to ".join(new)
    )


def _end(end: WireEnd) -> str:
    return end.place if end.cavity == STUD else f"{end.place} {end.cavity}".strip()


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


def _studs(old: PlanIndex, new: PlanIndex, names: Mapping[str, str]) -> Iterator[Step]:
    """Distribution studs, main fuses and the in-line fuses of tails: what stands before the panel."""
    for kind in ("distribution stud", "main fuse", "main holder", "tail fuse", "tail holder"):
        was, now = _before_the_panel(old, kind), _before_the_panel(new, kind)
        was = Counter({(names.get(feed, feed), at, part): number for (feed, at, part), number in was.items()})
        for (feed, at, part), number in (was - now).items():
            yield from [Step("remove", kind, "", feed, at, "", part)] * number
        for (feed, at, part), number in (now - was).items():
            yield from [Step("add", kind, "", feed, "", at, part)] * number


def _coil_fuses(wires: tuple[WireChange, ...]) -> Iterator[Step]:
    """In-line fuses and holders in the leads of coils; where neither is another, they stay in their lead."""
    for change in wires:
        was, now = (None if run is None else run.inline for run in (change.old, change.new))
        if change.kind == "coil lead" and was != now:
            run, at = change.run, change.run.end.place
            for kind, part in _holder_and_fuse(was):
                yield Step("remove", kind, run.need, run.feed, at, "", part, wire=run.number)
            for kind, part in _holder_and_fuse(now):
                yield Step("add", kind, run.need, run.feed, "", at, part, wire=run.number)


def _holder_and_fuse(inline: InlineFuse | None) -> tuple[tuple[str, str], ...]:
    return () if inline is None else (("coil holder", inline.holder), ("coil fuse", inline.fuse))


def _before_the_panel(index: PlanIndex, kind: str) -> Counter[tuple[str, str, str]]:
    """Count parts of a kind by feed, place and catalogue id."""
    found: Counter[tuple[str, str, str]] = Counter()
    for supply in supplies(index):
        feed, at = supply.feed, f"panel {supply.panel}"
        if kind == "distribution stud" and supply.num_studs and feed.stud is not None:
            found[feed.name, at, feed.stud] += supply.num_studs
        if feed.main is not None and kind in ("main fuse", "main holder"):
            found[feed.name, "supply", feed.main.fuse if kind == "main fuse" else feed.main.holder] = 1
        for tail in supply.tails:
            part = {"tail fuse": tail.fuse, "tail holder": tail.holder}.get(kind)
            if part is not None:
                found[feed.name, at, part] += 1
    return found


def _labels(built: Built, old: PlanIndex, new: PlanIndex, names: Mapping[str, str]) -> Iterator[Step]:
    """What a place is called now, where a wire stays in it."""
    labels = {names.get(item.need.id, item.need.id): (item.need.id, item.need.label) for item in old.needs}
    for item in new.needs:
        was = labels.get(item.need.id)
        if item.need.kind != "spare" and was is not None and was != (item.need.id, item.need.label):
            yield Step("relabel", "label", item.need.id, item.feed, was[1] or was[0], item.need.label, was=was[0])
