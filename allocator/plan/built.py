"""
A panel as it is built: what stands where, and which wires end in which of its cavities.

Comes in as the plan it was built from, with its sizing and what was renamed since; goes out as plain data, from which
``changes.py`` counts what a new plan changes and ``model/moves.py`` says the same of plans that are still open.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from allocator.address import Place, SocketPlace
from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.plan import Piece, PlacedCarrier, PlacedModule, Stays
from allocator.plan.renames import Renames
from allocator.requirements.catalogue import Catalogue
from allocator.sizing.sized import OWN_WAY, Need, Option

JUMPER = "jumper"
"""How sizing names a far end that is the output of the need's own way."""


@dataclass(frozen=True, slots=True)
class Lead:
    """One wire of a need: between what it runs (and which of its equals it is), what it is of, and how long."""

    start: str
    end: str
    number: int
    wire: str
    length_mm: int

    @property
    def ends_at_way(self) -> bool:
        """Whether one of its ends is in the cavity of the need's way."""
        return "way" in (self.start, self.end)

    @property
    def ends_at_socket(self) -> bool:
        """Whether one of its ends is in a cavity of the need's socket."""
        return self.start not in ("", "way")

    def may_stay_as(self, new: Lead) -> bool:
        """Return whether a wire that was built does for what is wanted: same ends, same wire, long enough."""
        ends = (self.start, self.end, self.number) == (new.start, new.end, new.number)
        return ends and self.wire == new.wire and self.length_mm >= new.length_mm


def leads_of(option: Option, *, has_way: bool, names: Renames | None = None) -> list[Lead]:
    """
    Return every wire that a need has with an option; a jumper without its length, which its two places decide.

    Parameters
    ----------
    has_way
        Whether the need has a way; its jumper runs from there to the socket.
    names
        What was renamed, for far ends that name a circuit.
    """
    found: list[Lead] = []
    if has_way and option.relay_class is not None and option.jumper_wire is not None:
        found.append(Lead(JUMPER, "way", 1, option.jumper_wire, 0))
    numbers: Counter[tuple[str, str]] = Counter()
    for cut in sorted(option.wires, key=lambda cut: (cut.start, cut.end, cut.wire, cut.length_mm)):
        end = "way" if cut.end == OWN_WAY else (names or Renames()).end(cut.end)
        numbers[cut.start, end] += 1
        found.append(Lead(cut.start, end, numbers[cut.start, end], cut.wire, cut.length_mm))
    return found


@dataclass(frozen=True, slots=True)
class BuiltNeed:
    """A circuit, feed or spare way as built: its places, its feed, its fuse and relay, and its wires."""

    id: str
    kind: str
    way: Place | None
    socket: SocketPlace | None
    relay_class: str | None
    feed: str
    fuse: str | None
    relay: str | None
    leads: tuple[Lead, ...]


@dataclass(frozen=True, slots=True)
class BuiltEntry:
    """A feed entry as built: a strip piece over ways, a single way, a stud (no row) or a socket."""

    kind: str
    feed: str
    panel: str
    bay: int
    row: int | None
    ways: tuple[int, ...]
    socket: int | None
    at: str
    tail_fuse: str | None
    need: str | None = None
    """At a socket: the feed whose relay it enters."""


@dataclass(frozen=True)
class Kept:
    """What must stay as it is built, by address and name."""

    modules: frozenset[tuple[str, int]] = frozenset()
    """(panel, first bay)."""
    ways: frozenset[str] = frozenset()
    """Needs that keep their way."""
    sockets: frozenset[str] = frozenset()
    """Needs whose relay keeps its socket."""
    entries: frozenset[str] = frozenset()
    """Feed entries that are kept as they are cut, by address."""


@dataclass(frozen=True)
class Built:
    """A panel as it is built, named as it is wanted now."""

    carriers: Mapping[str, tuple[str, ...]]
    """Carriers of each panel, from bay 1 on."""
    modules: Mapping[tuple[str, int], str]
    """Module type by (panel, first bay)."""
    needs: Mapping[str, BuiltNeed]
    entries: tuple[BuiltEntry, ...]
    parts: Mapping[str, int]
    """Number of every part that it is put together from (``parts_that_count``)."""
    kept: Kept = Kept()


def parts_that_count(catalogue: Catalogue) -> frozenset[str]:
    """Return the parts that a panel is put together from; terminals and accessories follow from these and its wires."""
    tables = (
        catalogue.carriers, catalogue.modules, catalogue.fuses, catalogue.relays, catalogue.studs, catalogue.holders,
        catalogue.main_holders,
    )  # fmt: skip
    return frozenset(part.id for table in tables for part in table)


def parts_in_panel(index: PlanIndex) -> dict[str, int]:
    """Count what a plan's panel is put together from."""
    counted = parts_that_count(index.sized.requirements.catalogue)
    return {part: number for part, number in bill_of_index(index).parts.items() if part in counted}


def built_from(index: PlanIndex, names: Renames | None = None) -> Built:
    """
    Read a panel off the plan that it was built from.

    Parameters
    ----------
    index
        The plan as built, with its own sizing.
    names
        What was renamed since.
    """
    names = names or Renames()
    carriers: dict[str, tuple[str, ...]] = {}
    for item in index.carriers:
        carriers[item.panel] = (*carriers.get(item.panel, ()), item.carrier.id)
    needs = {names.need(item.need.id): _built_need(item, names) for item in index.needs}
    return Built(
        carriers=carriers,
        modules={(item.panel, item.bay): item.module.id for item in index.modules},
        needs=needs,
        entries=tuple(
            BuiltEntry(
                kind=entry.piece.kind,
                feed=names.feed(entry.piece.feed),
                panel=entry.at.panel,
                bay=entry.at.bay,
                row=entry.row,
                ways=entry.ways,
                socket=entry.socket,
                at=entry.piece.at,
                tail_fuse=entry.piece.tail_fuse,
                need=None if entry.socket is None else names.need(index.needs_of(entry)[0].need.id),
            )
            for entry in index.entries
        ),
        parts=parts_in_panel(index),
    )


def stays_in(built: Built, carriers: Iterable[PlacedCarrier]) -> Stays:
    """Return what must stay of a panel, as its new plan says it; ``carriers`` are those of the plan as built."""
    kept, needs = built.kept, built.needs
    return Stays(
        carriers=tuple(carriers),
        modules=tuple(
            PlacedModule(at=f"{panel}/{bay}", module=module)
            for (panel, bay), module in built.modules.items()
            if (panel, bay) in kept.modules
        ),
        ways={name: str(needs[name].way) for name in sorted(kept.ways)},
        sockets={name: str(needs[name].socket) for name in sorted(kept.sockets)},
        pieces=tuple(
            Piece.model_validate({"at": entry.at, "kind": entry.kind, "feed": entry.feed})
            for entry in built.entries
            if entry.at in kept.entries
        ),
    )


def _built_need(item: NeedAt, names: Renames) -> BuiltNeed:
    leads = leads_of(item.option, has_way=item.way is not None, names=names)
    return BuiltNeed(
        id=names.need(item.need.id),
        kind=item.need.kind,
        way=item.way,
        socket=item.socket,
        relay_class=item.option.relay_class,
        feed=names.feed(item.feed),
        fuse=item.option.fuse,
        relay=item.option.relay,
        leads=tuple(leads),
    )


def has_history(need: Need, built: Built | None) -> bool:
    """Return whether a need of now has wires in the panel as built; spare ways have none."""
    return built is not None and need.kind != "spare" and need.id in built.needs
