"""
The tally model: rows of a kind are counted by the feed that has them whole, and only shared rows stand one by one.

A relaxation of the count model. Which row of a kind a feed has is no matter there, so hundreds of interchangeable rows
become a few whole numbers. ``solving/`` gets its first bounds from it, and the feed of every need.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.bonds import apart_and_together_by_feed_and_panel, apart_in_rows_in_sum
from allocator.model.carriers import carriers_hold_modules, module_count, modules_by_type
from allocator.model.choices import choices, draws, entries_at, socket_entry_currents, sockets_suffice
from allocator.model.classes import Cell
from allocator.model.currents import module_current_in_sum, piece_current_in_sum
from allocator.model.frame import Frame
from allocator.model.jumpers import long_jumpers_in_sum
from allocator.model.variables import Sums
from allocator.requirements.catalogue import Row
from allocator.sizing.sized import Entry


@dataclass(frozen=True)
class Kind:
    """Supply groups of a panel that a plan cannot tell apart; module, group and row indices are those of the first."""

    panel: str
    module: str
    indices: tuple[int, ...]
    rows: tuple[Row, ...]
    entry_by_feed: Mapping[str, Entry]
    members: tuple[tuple[str, int], ...]
    """Module type and number of every supply group of the kind."""
    total: LinearExprT
    """How many of them the modules in use have."""
    most: int
    """How many of them the frame has."""

    @property
    def width(self) -> int:
        """Number of ways."""
        return sum(row.ways for row in self.rows)

    @property
    def bus(self) -> str:
        """How it is fed: strip, single or stud."""
        return self.rows[0].bus

    @property
    def formats(self) -> list[str]:
        """Fuse formats of its rows; one of them but for a stud."""
        return sorted({row.fuse_format for row in self.rows})

    @property
    def family(self) -> tuple[object, ...]:
        """What shared rows must have in common to be modelled together: all but the width."""
        return self.rows[0].fuse_format, self.rows[0].strip, tuple(self.entry_by_feed.items())


@dataclass(frozen=True)
class Whole:
    """Groups of a kind that one feed has to itself: how many (none counted where each way is fed singly), and ways."""

    kind: Kind
    feed: str
    number: IntVar | None
    ways: Sequence[IntVar]
    """Ways in use in all of them, by row of the kind."""


@dataclass(frozen=True)
class Shared:
    """One row that feeds share."""

    is_of: Sequence[tuple[Kind, IntVar]]
    ways_by_feed: Mapping[str, IntVar]


@dataclass(frozen=True)
class Further:
    """Pieces beyond one for a feed in each of its rows of some kinds."""

    kinds: Sequence[Kind]
    feed: str
    pieces: IntVar


@dataclass
class Tallies(Sums):
    """The variables of the tally model, beside what every model counts."""

    whole: list[Whole] = field(default_factory=list)
    shared: list[Shared] = field(default_factory=list)
    further: list[Further] = field(default_factory=list)
    ways: dict[tuple[str, str, str], list[IntVar]] = field(default_factory=lambda: defaultdict(list))
    """Ways in use, by (panel, format, feed)."""
    entries: dict[tuple[str, str], list[IntVar]] = field(default_factory=lambda: defaultdict(list))
    """Feed entries in rows, by (feed, panel)."""
    rows_in_use: dict[tuple[str, str], list[LinearExprT]] = field(default_factory=lambda: defaultdict(list))
    """Rows with a way in use, or more, by (panel, format)."""
    rows_fed: dict[Cell, list[LinearExprT]] = field(default_factory=lambda: defaultdict(list))
    """Rows that a feed enters, or more, by (panel, format, feed)."""

    def fed(self, kind: Kind, number: int, feed: str, ways: IntVar) -> None:
        """Note ways that are in use in the n-th row of a kind."""
        self.ways[kind.panel, kind.rows[number].fuse_format, feed].append(ways)
        self.fed_ways.append((kind.module, kind.indices[number], ways))

    def entered(self, panel: str, formats: Sequence[str], feed: str, entry: Entry, entries: IntVar) -> None:
        """Note entries of a feed."""
        self.entries[feed, panel].append(entries)
        self.fed_entries.append((feed, panel, entry, entries))
        for fuse_format in formats:
            self.entry_limits.setdefault((panel, fuse_format, feed), []).append((entry.limit_ma, entries))

    def entered_rows(self, kind: Kind, feed: str, groups: IntVar) -> None:
        """Note groups of a kind that a feed has to itself (where each way is fed singly: those ways)."""
        for fuse_format in kind.formats:
            rows = sum(row.fuse_format == fuse_format for row in kind.rows) * groups
            self.rows_in_use[kind.panel, fuse_format].append(rows)
            self.rows_fed[kind.panel, fuse_format, feed].append(rows)


def build_tallies(frame: Frame, optional: Collection[str] = ()) -> Tallies:
    """Build the tally model of a frame; needs that are ``optional`` may be left out."""
    x = Tallies(cp_model.CpModel(), frame)
    modules_by_type(x)
    carriers_hold_modules(x)
    choices(x, optional)
    draws(x)
    socket_entry_currents(x)
    _rows(x)
    _every_need_has_a_way(x)
    for feed in frame.sized.feeds:
        for site in frame.panels:
            entries_at(x, feed, site.name, x.entries[feed, site.name])
    sockets_suffice(x)
    long_jumpers_in_sum(x)
    piece_current_in_sum(x)
    module_current_in_sum(x)
    module_count(x)
    apart_and_together_by_feed_and_panel(x)
    apart_in_rows_in_sum(x, x.rows_in_use, x.rows_fed)
    return x


def _kinds(x: Tallies, panel: str) -> list[Kind]:
    """Return the kinds of supply group of a panel; what price, ways and amperes cannot tell apart is one kind."""
    sized, frame = x.frame.sized, x.frame
    copies = Counter(instance.module for instance in frame.instances if instance.panel == panel)
    alike: dict[tuple[tuple[Row, ...], tuple[Entry | None, ...]], list[tuple[str, int]]] = defaultdict(list)
    for module in copies:
        for number, indices in enumerate(frame.groups_of(module)):
            entries = tuple(sized.entries.get((panel, module, number, feed)) for feed in sized.feeds)
            alike[tuple(sized.module_by_id[module].rows[i] for i in indices), entries].append((module, number))
    numbers = {module: in_use for name, module, in_use in x.modules if name == panel}
    return [
        Kind(
            panel,
            members[0][0],
            frame.groups_of(members[0][0])[members[0][1]],
            rows,
            {feed: entry for feed, entry in zip(sized.feeds, entries, strict=True) if entry is not None},
            tuple(members),
            LinearExpr.sum([numbers[module] for module, _ in members]),
            sum(copies[module] for module, _ in members),
        )
        for (rows, entries), members in alike.items()
    ]


def _rows(x: Tallies) -> None:
    """Rules one-feed-per-piece and tail-fits: every supply group is one feed's, shared, or singly fed."""
    for site in x.frame.panels:
        families: dict[object, list[tuple[Kind, list[IntVar]]]] = defaultdict(list)
        for kind in _kinds(x, site.name):
            if kind.bus == "single":
                _singly_fed(x, kind)
                continue
            taken = _whole(x, kind)
            if kind.bus == "strip":
                families[kind.family].append((kind, taken))
            else:
                x.model.add(LinearExpr.sum(taken) <= kind.total)
        for kinds in families.values():
            _shared(x, kinds)
            _further_pieces(x, [kind for kind, _ in kinds])
            for kind, taken in kinds:
                x.model.add(LinearExpr.sum(taken) <= kind.total)


def _singly_fed(x: Tallies, kind: Kind) -> None:
    """Every way in use is an entry."""
    taken: list[IntVar] = []
    for feed, entry in kind.entry_by_feed.items():
        ways = x.model.new_int_var(0, kind.width * kind.most, f"singly fed {kind.module} {kind.indices} {feed}")
        x.fed(kind, 0, feed, ways)
        x.entered(kind.panel, kind.formats, feed, entry, ways)
        x.entered_rows(kind, feed, ways)
        x.whole.append(Whole(kind, feed, None, [ways]))
        taken.append(ways)
    x.model.add(LinearExpr.sum(taken) <= kind.width * kind.total)


def _whole(x: Tallies, kind: Kind) -> list[IntVar]:
    """Count the groups that one feed has to itself, with the ways in use in them."""
    groups: list[IntVar] = []
    for feed, entry in kind.entry_by_feed.items():
        name = f"{kind.panel} {kind.module} {kind.indices} {feed}"
        whole = x.model.new_int_var(0, kind.most, f"whole {name}")
        used: list[IntVar] = []
        for number, row in enumerate(kind.rows):
            ways = x.model.new_int_var(0, row.ways * kind.most, f"ways {name} {number}")
            x.model.add(ways <= row.ways * whole)
            x.fed(kind, number, feed, ways)
            used.append(ways)
        x.model.add(LinearExpr.sum(used) >= whole)
        x.entered(kind.panel, kind.formats, feed, entry, whole)
        x.entered_rows(kind, feed, whole)
        x.whole.append(Whole(kind, feed, whole, used))
        groups.append(whole)
    return groups


def _shared(x: Tallies, kinds: Sequence[tuple[Kind, list[IntVar]]]) -> None:
    """
    Rows shared by two feeds or more: fewer than there are feeds.

    Two feeds that share two rows (or a longer circle of feeds and rows) can trade ways until one of them is whole, at
    no higher price; what ampere limit is lost with the entry, a further piece brings back.
    """
    first = kinds[0][0]
    before: LinearExprT | None = None
    for number in range(min(len(first.entry_by_feed) - 1, sum(kind.most for kind, _ in kinds))):
        name = f"shared {first.panel} {first.module} {first.indices} {number}"
        is_of = [x.model.new_bool_var(f"{name} {kind.width}") for kind, _ in kinds]
        for (_, taken), here in zip(kinds, is_of, strict=True):
            taken.append(here)
        x.model.add_at_most_one(is_of)
        exists = LinearExpr.sum(is_of)
        x.rows_in_use[first.panel, first.formats[0]].append(exists)
        if before is not None:
            x.model.add(before >= exists)
        before = exists
        width = LinearExpr.sum([kind.width * here for (kind, _), here in zip(kinds, is_of, strict=True)])
        most = max(kind.width for kind, _ in kinds) - 1
        parts: dict[str, IntVar] = {}
        enters: list[IntVar] = []
        for feed, entry in first.entry_by_feed.items():
            enter = x.model.new_bool_var(f"{name} {feed}")
            part = x.model.new_int_var(0, most, f"{name} ways {feed}")
            x.model.add(part >= enter)
            x.model.add(part <= most * enter)
            x.model.add(enter <= exists)
            x.fed(first, 0, feed, part)
            x.entered(first.panel, first.formats, feed, entry, enter)
            x.rows_fed[first.panel, first.formats[0], feed].append(enter)
            parts[feed] = part
            enters.append(enter)
        x.shared.append(Shared([(kind, here) for (kind, _), here in zip(kinds, is_of, strict=True)], parts))
        x.model.add(LinearExpr.sum(list(parts.values())) <= width)
        x.model.add(LinearExpr.sum(enters) >= 2 * exists)


def _further_pieces(x: Tallies, kinds: Sequence[Kind]) -> None:
    """A feed may have more pieces than rows, to carry more."""
    first = kinds[0]
    for feed, entry in first.entry_by_feed.items():
        name = f"further {first.panel} {first.module} {first.indices} {feed}"
        pieces = x.model.new_int_var(0, len(x.frame.sized.needs), name)
        x.further.append(Further(kinds, feed, pieces))
        x.entered(first.panel, first.formats, feed, entry, pieces)
        x.rows_fed[first.panel, first.formats[0], feed].append(pieces)  # a row that was traded away


def _every_need_has_a_way(x: Tallies) -> None:
    """Rule every-need-placed, as a count: the needs of a panel, format and feed fill as many ways."""
    wanted: dict[tuple[str, str, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(x.frame.classes):
        for number, choice in enumerate(members.choices):
            if members.takes_way and choice.option.fuse_format is not None:
                wanted[choice.option.panel, choice.option.fuse_format, choice.feed].append(x.chosen[index, number])
    for key in sorted({*wanted, *x.ways}):
        x.model.add(LinearExpr.sum(wanted[key]) == LinearExpr.sum(x.ways[key]))
