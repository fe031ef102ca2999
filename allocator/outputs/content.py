"""
What the drawings say about a plan: labels that can be drawn, feed marks, fuse texts, and the wires at every cavity.

Comes in as a Plan with its Sized; goes out to every sheet, so that front, wiring side and tables always agree.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from string import ascii_lowercase

from allocator.explaining.accounts.account import Account
from allocator.explaining.accounts.goals import accounts_of
from allocator.outputs.fonts import NO_BREAK, clean, drawable
from allocator.outputs.marks import USUAL_FUSE_V, FeedMark, feed_marks
from allocator.outputs.strips import StripPlan, strip_plans
from allocator.plan.cautions import cautions_in
from allocator.plan.colours import WireLook, look_of
from allocator.plan.crimps import crimps_of
from allocator.plan.cuts import cut_mm
from allocator.plan.drops import Drop, drops
from allocator.plan.files import plan_text
from allocator.plan.index import EntryAt, ModuleAt, NeedAt, PlanIndex
from allocator.plan.measures import entry_load_ma, need_loads
from allocator.plan.plan import Plan
from allocator.plan.wiring import STUD, Run, WireEnd, runs_of
from allocator.requirements.catalogue import Fuse
from allocator.requirements.markings import Issue
from allocator.sizing.sized import Caution, Need, Sized
from allocator.units import area_mm2, from_model


def _letters(number: int) -> str:
    """Return a for 0, z for 25, aa for 26."""
    letter = ascii_lowercase[number % len(ascii_lowercase)]
    return letter if number < len(ascii_lowercase) else _letters(number // len(ascii_lowercase) - 1) + letter


@dataclass(frozen=True)
class Content:
    """One plan, ready to be written about."""

    sized: Sized
    plan: Plan

    @cached_property
    def index(self) -> PlanIndex:
        """Look-ups into the plan."""
        return PlanIndex(self.sized, self.plan)

    @cached_property
    def accounts(self) -> tuple[Account, ...]:
        """Where the amount of each goal comes from."""
        return accounts_of(self.index)

    @cached_property
    def marks(self) -> Mapping[str, FeedMark]:
        """Code, colour and pattern of every feed."""
        return feed_marks(feed.name for feed in self.sized.requirements.scenario.feeds)

    @cached_property
    def note_by_circuit(self) -> Mapping[str, str]:
        """The free words beside a circuit, by its id; circuits without any are not in it."""
        return {circuit.id: circuit.note for circuit in self.sized.requirements.circuits if circuit.note}

    def note_of(self, need: Need) -> str:
        """Return the free words beside a circuit; nothing for feeds and spare ways."""
        return self.note_by_circuit.get(need.id, "") if need.kind == "circuit" else ""

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """Every wire."""
        return runs_of(self.index)

    @cached_property
    def runs_at(self) -> Mapping[tuple[str, str], tuple[Run, ...]]:
        """Wires by (place, cavity) of either end."""
        found: dict[tuple[str, str], tuple[Run, ...]] = {}
        for run in self.runs:
            for end in (run.start, run.end):
                key = end.place, end.cavity
                found[key] = (*found.get(key, ()), run)
        return found

    @cached_property
    def strip_plans(self) -> tuple[StripPlan, ...]:
        """How the bus strips are cut."""
        return strip_plans(self.index)

    @cached_property
    def look_by_run(self) -> Mapping[str, WireLook]:
        """Colour of every wire, by its number."""
        return {run.number: look_of(run, self.sized.requirements) for run in self.runs}

    @cached_property
    def cut_mm_by_run(self) -> Mapping[str, int | None]:
        """Length to cut every wire to, mm, by its number; None where the builder measures it."""
        return {run.number: cut_mm(run, self.sized.requirements) for run in self.runs}

    @cached_property
    def letter_by_terminal(self) -> Mapping[str, str]:
        """A short sign for every kind of terminal in use: a to z, then aa, ab, ...; in the catalogue's order."""
        used = {crimp.terminal for crimp in crimps_of(self.runs)}
        kinds = [part.id for part in self.sized.requirements.catalogue.terminals if part.id in used]
        return {part: _letters(number) for number, part in enumerate(kinds)}

    def terminal_at(self, place: str, cavity: str) -> str:
        """Return the terminal part in a cavity; nothing where no wire has one there."""
        runs = self.runs_at.get((place, cavity), ())
        ends = (end for run in runs for end in (run.start, run.end) if (end.place, end.cavity) == (place, cavity))
        return next((end.terminal for end in ends if end.terminal), "")

    def terminal_letter(self, place: str, cavity: str) -> str:
        """Return the sign of the kind of terminal in a cavity; nothing where no wire has one there."""
        return self.letter_by_terminal.get(self.terminal_at(place, cavity), "")

    def terminal_text(self, terminal: str) -> str:
        """Return a terminal part with the sign of its kind, such as ``e tab-6.3-1.5``."""
        return " ".join(filter(None, (self.letter_by_terminal.get(terminal), drawable(terminal))))

    @cached_property
    def drop_by_circuit(self) -> Mapping[str, Drop]:
        """What every circuit loses on its way."""
        return {drop.circuit: drop for drop in drops(self.index)}

    @cached_property
    def loads_by_need(self) -> Mapping[str, tuple[int, ...]]:
        """What flows through every need, mA by load case."""
        return need_loads(self.index)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        """What sizing warns of in what the plan has chosen."""
        return cautions_in(self.index)

    def entry_peak_ma(self, entry: EntryAt) -> int:
        """Return the largest load of a feed entry over all load cases, mA."""
        return max(entry_load_ma(self.index, entry, self.loads_by_need))

    def entry_amounts(self, entry: EntryAt) -> tuple[int, int]:
        """Return the largest load of a feed entry over all load cases, and what it may carry; mA, 0 for no limit."""
        return self.entry_peak_ma(entry), self.index.limit_ma(entry) or 0

    def module_amounts(self, at: ModuleAt) -> tuple[int, int] | None:
        """Return the largest load of a module over all load cases, and what it may carry, mA; None for no limit."""
        limit_ma = self.sized.module_limit_ma[at.panel, at.module.id]
        if limit_ma is None:
            return None
        loads = [
            self.loads_by_need[use.need]
            for place, use in self.index.way_by_place.items()
            if (place.panel, place.bay) == (at.panel, at.bay)
        ]
        return max((sum(case) for case in zip(*loads, strict=True)), default=0), limit_ma

    def amperes(self, load_ma: int) -> str:
        """Return a current as drawings write it, such as ``8.35 A``."""
        return f"{from_model(load_ma):.3g}{NO_BREAK}A"

    @cached_property
    def number(self) -> str:
        """A short number that changes whenever the plan does; what its paper says of itself is not of the plan."""
        requirements = self.plan.requirements
        scenario = requirements.scenario.model_copy(update={"document": Issue()})
        bare = self.plan.model_copy(update={"requirements": requirements.model_copy(update={"scenario": scenario})})
        return hashlib.sha256(plan_text(bare).encode()).hexdigest()[:8]

    @cached_property
    def issue_text(self) -> str:
        """What every sheet says of itself: plan number, and revision and day where they are given."""
        issue = self.plan.requirements.scenario.document
        revision = clean(f"revision {issue.revision}") if issue.revision else ""
        return ", ".join(text for text in (f"plan {self.number}", revision, issue.date) if text)

    @cached_property
    def supersedes_text(self) -> str:
        """What the paper replaces, in words; empty where nothing is said."""
        issue = self.plan.requirements.scenario.document
        return clean(f"supersedes {issue.supersedes}") if issue.supersedes else ""

    @cached_property
    def vehicle(self) -> str:
        """Name of the vehicle."""
        return drawable(self.sized.requirements.scenario.vehicle.name, "vehicle")

    def label(self, need: Need) -> str:
        """Return what drawings call a need: its label, or its id where no font here draws the label."""
        if need.kind == "spare":
            placed = self.index.need_by_id.get(need.id)
            return f"spare on {self.marks[placed.feed].code} {self.feed_name(placed.feed)}" if placed else "spare"
        if need.kind == "feed":
            return f"to feed {self.marks[need.id].code} {self.feed_name(need.id)}"
        return drawable(need.label or need.id, need.id, self._ordinal(need))

    def is_drawable(self, need: Need) -> bool:
        """Whether a font here draws the label of a circuit."""
        return need.kind != "circuit" or self.label(need) == clean(need.label or need.id)

    def feed_name(self, feed: str) -> str:
        """Return the name of a feed, or its code where no font here draws it."""
        return drawable(feed, self.marks[feed].code)

    def panel_name(self, panel: str) -> str:
        """Return the name of a panel, or its number where no font here draws it."""
        return drawable(panel, f"panel {self.index.panels.index(panel) + 1}")

    def place_name(self, address: str) -> str:
        """Return an address as drawings write it."""
        panel, slash, rest = address.partition("/")
        return self.panel_name(panel) + slash + rest if panel in self.index.panels else drawable(address)

    def end_name(self, end: WireEnd, feed: str) -> str:
        """Return one end of a wire as drawings write it; studs are those of the feed that the wire is on."""
        if end.cavity != STUD:
            return f"{self.place_name(end.place)} {end.cavity}".strip()
        panel, _, which = end.place.partition(", distribution stud")
        number = which.partition(" of ")[0]
        return f"{self.panel_name(panel)}, stud{number} of {self.marks[feed].code}"

    def area_text(self, wire: str) -> str:
        """Return the size of a wire as a builder says it."""
        area = next(item.area for item in self.sized.requirements.catalogue.wires if item.id == wire)
        return self._gauges.get(area, f"{area:.4g}{NO_BREAK}mm²")

    @cached_property
    def _gauges(self) -> Mapping[float, str]:
        """AWG sizes by the area that the catalogue's reader gives them."""
        names = {gauge: str(gauge) for gauge in range(1, 41)} | {1 - zeros: f"{zeros}/0" for zeros in range(1, 5)}
        return {area_mm2(f"{name} AWG"): f"{name}{NO_BREAK}AWG" for name in names.values()}

    def inline_text(self, run: Run) -> str:
        """Return rating and type of the in-line fuse of a wire, such as ``60 A E``; nothing where it has none."""
        if run.inline is None:
            return ""
        return f"{self._fuses[run.inline.fuse].rating:g}{NO_BREAK}A {self.fuse_type(run.inline.fuse)}"

    def inline_where(self, run: Run) -> str:
        """Return where the in-line fuse of a wire is: at the end that gets the supply."""
        return self.end_name(run.start if run.role == "tail" else run.end, run.feed)

    @cached_property
    def inline_runs(self) -> tuple[Run, ...]:
        """Every wire with an in-line fuse."""
        return tuple(run for run in self.runs if run.inline is not None)

    def fuse_text(self, item: NeedAt) -> str:
        """Return rating and type of a need's fuse, such as ``7.5 A, C`` or ``7.5 A, C 58 V``."""
        if item.option.fuse is None:
            return f"none, {item.option.fuse_format}" if item.option.fuse_format else ""
        return f"{item.option.fuse_rating_a:g} A, {self.fuse_type(item.option.fuse)}"

    def fuse_type(self, fuse: str) -> str:
        """Return the type letter of a catalogue fuse, with its voltage where that is above the usual one."""
        part = self._fuses[fuse]
        return part.fuse_format + (f" {part.voltage:g}{NO_BREAK}V" if part.voltage > USUAL_FUSE_V else "")

    def fuse_voltage_v(self, item: NeedAt) -> float:
        """Return the rated voltage of a need's fuse, V; the usual one where none is fitted."""
        return USUAL_FUSE_V if item.option.fuse is None else self._fuses[item.option.fuse].voltage

    @cached_property
    def _fuses(self) -> Mapping[str, Fuse]:
        return {fuse.id: fuse for fuse in self.sized.requirements.catalogue.fuses}

    def _ordinal(self, need: Need) -> str:
        return f"need {self.sized.needs.index(need) + 1}"
