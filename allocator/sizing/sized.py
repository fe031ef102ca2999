"""
What sizing hands to the allocator, the checker and the lists: every choice that the sums leave open, as plain data.

Comes in from ``size()``; goes out to ``model/`` (which picks), ``verifying/`` (which compares) and ``outputs/`` (which
prints the reasons). Currents are whole milliamperes, prices exact fractions of a cent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal

from allocator.requirements.catalogue import Module, parts_by_id
from allocator.requirements.scenario import Requirements

NeedKind = Literal["circuit", "feed", "spare"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a part was chosen: which test decided, and by how much."""

    step: str
    """
    What was chosen: ``current``, ``fuse``, ``wire``, ``relay``, ``terminal``; or what it must bear: the ``start`` of
    the load and a ``fault`` at either end of the run; or what to fit against a ``surge``.
    """
    text: str


@dataclass(frozen=True, slots=True)
class Caution:
    """Something the builder should know before building: a named warning about one thing."""

    rule: str
    about: str
    text: str


SWITCHED_SIDE = "switched side of "
"""Begins the far end of a lead that goes to the switch of a control circuit."""
OWN_WAY = "own fuse way"
"""Far end of a lead from 86 that goes beside the jumper; its cut is as long as a short one."""


@dataclass(frozen=True, slots=True)
class Cut:
    """
    One wire of a bill: catalogue wire and length, and where it runs.

    ``start`` is the terminal at the panel: ``"way"`` for the output of the fuse way, a DIN 72552 designation of the
    socket, or empty for a wire that does not touch the panel (a return to an earth point). ``end`` says the far end
    in words for the wire list: ``"load"``, ``"return"``, ``"circuit horn"``.
    """

    wire: str
    length_mm: int
    start: str = ""
    end: str = ""


@dataclass(frozen=True, slots=True)
class InlineFuse:
    """A fuse in a holder of its own within a wire; catalogue ids."""

    fuse: str
    holder: str


@dataclass(frozen=True, slots=True)
class Option:
    """
    One row of the sizing table: what a need uses at one panel, in one fuse format, with one relay class.

    ``fuse`` is None for a spare way (no fuse is fitted) and for a feed that has only a relay. ``parts`` counts every
    part the option brings along wherever it is placed in the panel (fuse, relay, terminals), ``wires`` every wire;
    the jumper of a relay is left out of both, because its length depends on the place: ``jumper_wire`` says what it
    is made of.
    """

    panel: str
    fuse_format: str | None
    relay_class: str | None
    fuse: str | None
    fuse_rating_a: float
    relay: str | None
    wire: str | None
    wire_limit_a: float
    """Continuous current the load wire may carry in its place (insulation, ambient, bundle)."""
    jumper_wire: str | None
    cavities: int
    """Terminal positions it fills on the wiring side: output of the way and tabs of the socket."""
    parts: Mapping[str, int] = field(default_factory=dict)
    wires: tuple[Cut, ...] = ()
    terminal_by_designation: Mapping[str, str] = field(default_factory=dict)
    """Terminal part at each cavity: ``"way"`` for the output of the fuse way, else the DIN 72552 designation."""
    reasons: tuple[Reason, ...] = ()
    coil_fuse: InlineFuse | None = None
    """In-line fuse in the lead to 86, where the leads of its coil need one; it and its holder are among the parts."""


@dataclass(frozen=True, slots=True)
class Need:
    """
    Something that takes one way, one socket, or both: a circuit, a feed's own fuse and relay, or a spare way.

    ``load_ma_by_case`` has one value for each load case, in the scenario's order; for a feed it holds only the coil
    of its relay, because the rest is what its circuits draw (``supplies`` names the feed).
    """

    id: str
    kind: NeedKind
    label: str
    feeds: tuple[str, ...]
    load_ma_by_case: tuple[int, ...]
    options: tuple[Option, ...]
    supplies: str | None = None
    takes_way: bool = True
    pin: str | None = None

    @property
    def takes_socket(self) -> bool:
        """Whether it has a relay (all of its options do, or none)."""
        return self.options[0].relay_class is not None


@dataclass(frozen=True, slots=True)
class Tail:
    """The wire that brings a feed to one entry, and its in-line fuse where it has one."""

    wire: str
    ring: str | None
    """Terminal at the distribution stud."""
    fuse: str | None
    holder: str | None
    protection_a: float
    """Rating of what protects it: its in-line fuse, else what stands before the feed's cable."""

    @property
    def inline(self) -> InlineFuse | None:
        """Its in-line fuse with the holder; None where it has none."""
        return None if self.fuse is None or self.holder is None else InlineFuse(self.fuse, self.holder)


@dataclass(frozen=True, slots=True)
class Entry:
    """How one feed enters one supply group of a module at one panel, and how much may flow in there."""

    limit_ma: int
    """Least of strip, inlet terminal, stud and tail, derated to the panel's ambient."""
    terminal: str
    """Terminal at the panel's end of the feed tail."""
    tail: Tail | None = None
    """Its own tail, where the feed's would not be cut off in time for strip, inlet or stud; None: the feed's."""


@dataclass(frozen=True, slots=True)
class MainFuse:
    """The main fuse of a root feed with its holder, and the lead from the source to it; ids of the catalogue."""

    fuse: str
    holder: str
    ring: str
    """Terminal of each cable at the outgoing side of the holder."""
    lead_mm: int
    """Length of the lead, of the feed's cable wire; 0: the holder is at the source, or its distance is not known."""
    lead_rings: tuple[str, ...]
    """Terminals of the lead, at the source and at the holder; none without a lead."""


@dataclass(frozen=True, slots=True)
class SizedFeed:
    """One feed with its limits and the parts of its tails."""

    name: str
    source: str | None
    panels: tuple[str, ...]
    rating_ma: int
    allowed_ma: Fraction
    """Current that any load case may draw: rating x allowed share, exact."""
    tail_protection_a: float
    """Rating of what protects a tail: its in-line fuse, else the feed's own protection."""
    tail_wire: str
    tail_fuse: str | None
    tail_holder: str | None
    cable_wire: str
    """Wire from the source, or from the feed's own relay or fuse, to the panel."""
    cable_mm_by_panel: Mapping[str, int]
    stud: str | None
    """Distribution stud used at a panel where the feed has two or more tails."""
    stud_stack: int
    tail_ring: str | None
    cable_ring: str | None
    main: MainFuse | None = None
    """Of a root feed; None for a branch."""

    @property
    def tail(self) -> Tail:
        """Its tail at every entry that has none of its own."""
        return Tail(self.tail_wire, self.tail_ring, self.tail_fuse, self.tail_holder, self.tail_protection_a)


@dataclass(frozen=True)
class Sized:
    """Requirements with every sum done: the whole input of the allocation."""

    requirements: Requirements
    needs: tuple[Need, ...]
    """In listing order: circuits, then feeds, then spares."""
    feeds: Mapping[str, SizedFeed]
    entries: Mapping[tuple[str, str, int, str], Entry]
    """By (panel, module type, supply group, feed); a missing key means that the feed cannot enter there."""
    row_limit_ma: Mapping[tuple[str, str, int], int | None]
    """By (panel, module type, row index); None: no limit of its own."""
    module_limit_ma: Mapping[tuple[str, str], int | None]
    """By (panel, module type), derated to the panel's ambient; None: no limit of its own."""
    socket_limit_ma: Mapping[str, int] = field(default_factory=dict)
    """By branch with a relay and no fuse of its own: what may flow in at its socket, by the tail of its source."""
    cautions: tuple[Caution, ...] = ()
    """What is worth a warning about any of the choices."""
    sizings: tuple[Any, ...] = field(default=(), repr=False, compare=False)
    """The figures behind each option of a circuit (``options.Sizing``), for the cautions of one plan."""

    @cached_property
    def need_by_id(self) -> Mapping[str, Need]:
        """Needs by their id."""
        return {need.id: need for need in self.needs}

    @cached_property
    def module_by_id(self) -> Mapping[str, Module]:
        """Module types by their id."""
        return {module.id: module for module in self.requirements.catalogue.modules}

    def under_rules(self, **changed: object) -> Sized:
        """Return the same sizing under rules that differ in what touches no sum: goals, and limits on modules."""
        rules = self.requirements.scenario.rules.model_copy(update=changed)
        scenario = self.requirements.scenario.model_copy(update={"rules": rules})
        return replace(self, requirements=self.requirements.model_copy(update={"scenario": scenario}))

    def tail_of(self, panel: str, module: str, group: int | None, feed: str) -> Tail:
        """Return the tail of an entry of a feed; ``group`` is None at a relay socket."""
        entry = None if group is None else self.entries.get((panel, module, group, feed))
        return self.feeds[feed].tail if entry is None or entry.tail is None else entry.tail

    def entry_limit_ma(self, panel: str, module: str, group: int, feed: str) -> int | None:
        """
        Return what may flow in at an entry, mA: the least of its own limit, of its row and of its module.

        None where the feed cannot enter. The limit of a row counts where the group is of that row alone.
        """
        entry = self.entries.get((panel, module, group, feed))
        if entry is None:
            return None
        rows = supply_groups(self.module_by_id[module])[group]
        limits = [entry.limit_ma, self.module_limit_ma[panel, module]]
        if len(rows) == 1:
            limits.append(self.row_limit_ma[panel, module, rows[0]])
        return min(limit for limit in limits if limit is not None)

    @cached_property
    def area_mm2_by_wire(self) -> Mapping[str, Fraction]:
        """Conductor area of every wire, mm2, as exact as it was written."""
        return {wire.id: Fraction(repr(wire.area)) for wire in self.requirements.catalogue.wires}

    @cached_property
    def price_by_part(self) -> Mapping[str, Fraction]:
        """Unit price of every part, cents; a strip is priced for one way, a wire for one metre."""
        catalogue = self.requirements.catalogue
        prices = {name: Fraction(part.price) for name, part in parts_by_id(catalogue).items()}
        return prices | {strip.id: Fraction(strip.price, strip.ways) for strip in catalogue.strips}


def supply_groups(module: Module) -> tuple[tuple[int, ...], ...]:
    """
    Return the rows of a module grouped by what feeds them: row indices, shape (n_groups, rows of the group).

    Each strip row and each singly fed row is a group of its own; all rows on the module's stud are one group.
    """
    stud_rows = tuple(index for index, row in enumerate(module.rows) if row.bus == "stud")
    groups = [(index,) for index, row in enumerate(module.rows) if row.bus != "stud"]
    return tuple(sorted([*groups, stud_rows])) if stud_rows else tuple(groups)
