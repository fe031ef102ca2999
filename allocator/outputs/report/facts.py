"""
What the report page says about each thing that a reader points at: names, amounts, places, reasons, what fails with it.

Comes in as the Content of a plan and its failures; goes out as pairs of a word and the lines that belong to it. Labels
stand in full, whatever their script: the reader's machine has fonts of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from allocator.explaining.accounts.account import counted
from allocator.outputs.content import Content
from allocator.outputs.failures import failure_name
from allocator.outputs.fonts import NO_BREAK, clean
from allocator.outputs.marks import fuse_colour
from allocator.plan.controls import control_by_need
from allocator.plan.failures import Failure
from allocator.plan.index import EntryAt, NeedAt
from allocator.plan.measures import entry_load_ma, feed_loads
from allocator.plan.wiring import Run, WireEnd
from allocator.sizing.sized import Need
from allocator.units import MM_PER_M, from_model

Fact = tuple[str, tuple[str, ...]]


class Facts:
    """Says what there is to say."""

    def __init__(self, content: Content, found: Sequence[Failure]) -> None:
        self.content, self.index = content, content.index
        scenario = content.sized.requirements.scenario
        self.cases = tuple(clean(case.name) for case in scenario.load_cases)
        self.feed_labels = {feed.name: clean(feed.label) for feed in scenario.feeds}
        self._failures = found

    def label(self, need: Need) -> str:
        """Return what a need is called, in full."""
        if need.kind == "feed":
            return f"to feed {self.feed_title(need.id)}"
        return clean(need.label or need.id) if need.kind == "circuit" else self.content.label(need)

    def feed_title(self, feed: str) -> str:
        """Return code and name of a feed."""
        return f"{self.content.marks[feed].code} {clean(feed)}"

    def in_brief(self, item: NeedAt) -> str:
        """Return label, fuse and feed of a need in one line."""
        return ", ".join(filter(None, (self.label(item.need), self.fuse(item), f"on {self.feed_title(item.feed)}")))

    def fuse(self, item: NeedAt) -> str:
        """Return rating, type and body colour of a fuse."""
        option = item.option
        if option.fuse_format is None:
            return ""
        if option.fuse is None:
            return f"no fuse fitted, type {option.fuse_format}"
        colour = fuse_colour(option.fuse_format, option.fuse_rating_a)
        said = f", {colour.name}" if colour else ""
        return f"{option.fuse_rating_a:g}{NO_BREAK}A type {option.fuse_format}{said}"

    def amounts(self, load_ma_by_case: Sequence[int]) -> tuple[str, ...]:
        """Return a load in each load case."""
        return tuple(
            f"{case}: {self.content.amperes(load_ma)}"
            for case, load_ma in zip(self.cases, load_ma_by_case, strict=True)
        )

    def of_need(self, item: NeedAt) -> tuple[Fact, ...]:
        """Return what there is to say about a need."""
        need, option = item.need, item.option
        facts: list[Fact] = [(need.kind, (clean(need.id),)), ("label", (self.label(need),))]
        facts += [("note", (clean(note),))] if (note := self.content.note_of(need)) else []
        facts += [("way", (str(item.way),))] if item.way else []
        facts += [("fuse", (self.fuse(item),))] if option.fuse_format else []
        facts.append(("feed", (self._feed_line(item.feed),)))
        if item.way is not None:
            facts.append(("strip piece", (self.entry_name(self.index.entry_by_way[item.way]),)))
        facts += [("relay", (self.relay(item),))] if item.socket else []
        facts += [("coil from", (self.control(item),))] if item.socket else []
        facts.append(("load", self.amounts(self.content.loads_by_need[need.id])))
        runs = [run for run in self.content.runs if run.need == need.id]
        facts += [("wires", tuple(map(self.run, runs)))] if runs else []
        facts += [("dark with", told)] if (told := tuple(self._fails_with(need))) else []
        facts += [("why", tuple(clean(reason.text) for reason in option.reasons))] if option.reasons else []
        about = [item.text for item in self.content.cautions if need.id in item.about.split(", ")]
        facts += [("cautions", tuple(map(clean, about)))] if about else []
        return tuple(facts)

    def relay(self, item: NeedAt) -> str:
        """Return socket, relay and jumper of a need."""
        jumper = f", {item.jumper} jumper" if item.jumper else ", its feed enters at the socket"
        return f"{item.socket}, {clean(item.option.relay or '')}{jumper}"

    def control(self, item: NeedAt) -> str:
        """Return what the coil of a need's relay hangs on."""
        name = control_by_need(self.content.sized.requirements).get((item.need.kind, item.need.id))
        return f"switched side of {clean(name)}" if name else "own fuse"

    def _feed_line(self, feed: str) -> str:
        return ": ".join(filter(None, (self.feed_title(feed), self.feed_labels[feed])))

    def _fails_with(self, need: Need) -> Iterator[str]:
        for failure in self._failures:
            lost = {name for effect in failure.effect_by_case for name in (*effect.dark, *effect.falls_back)}
            if need.id in lost:
                yield clean(failure_name(failure))

    def entry_name(self, entry: EntryAt) -> str:
        """Return what a feed entry is and whose."""
        words = {
            "strip": f"strip piece of {counted(len(entry.ways), 'way')}",
            "single": "way fed singly",
            "stud": "solid bus",
            "socket": "relay socket fed directly",
        }
        return f"{words[entry.piece.kind]} {entry.piece.at} on {self.feed_title(entry.piece.feed)}"

    def of_entry(self, entry: EntryAt) -> tuple[Fact, ...]:
        """Return what there is to say about a strip piece, a stud or a way fed singly."""
        _, limit_ma = self.content.entry_amounts(entry)
        ends = {entry.piece.at}
        tails = tuple(self.run(run) for run in self.content.runs if run.end.place in ends)
        loads = entry_load_ma(self.index, entry, self.content.loads_by_need)
        return (
            ("feed", (self._feed_line(entry.piece.feed),)),
            ("circuits", tuple(f"{item.way}: {self.in_brief(item)}" for item in self.index.needs_of(entry))),
            ("may carry", (self.content.amperes(limit_ma),)),
            ("load", self.amounts(loads)),
            ("fed by", tails),
        )

    def of_feed(self, feed: str) -> tuple[Fact, ...]:
        """Return what there is to say about a feed."""
        load = next(item for item in feed_loads(self.index) if item.feed == feed)
        sized = self.content.sized.feeds[feed]
        entries = tuple(self.entry_name(entry) for entry in self.index.entries if entry.piece.feed == feed)
        branches = tuple(
            self.feed_title(name) for name, other in self.content.sized.feeds.items() if other.source == feed
        )
        facts: list[Fact] = [
            ("feed", (self._feed_line(feed),)),
            ("comes from", (self.feed_title(sized.source) if sized.source else "supply",)),
            ("rating", (self.content.amperes(load.rating_ma),)),
            ("may carry", (f"{from_model(load.allowed_ma):.3g}{NO_BREAK}A in any load case",)),
            ("load", self.amounts(load.load_ma_by_case)),
            ("enters at", entries or ("nowhere",)),
        ]
        return (*facts, ("branches", branches)) if branches else tuple(facts)

    def of_wire(self, run: Run) -> tuple[Fact, ...]:
        """Return what there is to say about a wire."""
        facts: list[Fact] = [
            ("from", (self.end(run.start, run),)),
            ("to", (self.end(run.end, run),)),
            ("wire", (f"{self.content.area_text(run.wire)}, {clean(run.wire)}",)),
            ("colour", (self.colour(run),)),
            ("length", (self.length(run),)),
            ("feed", (self._feed_line(run.feed),)),
        ]
        need = self.content.sized.need_by_id.get(run.need)
        facts += [("for", (self.label(need),))] if need else []
        return (*facts, ("note", (clean(run.note),))) if run.note else tuple(facts)

    def of_failure(self, failure: Failure) -> tuple[Fact, ...]:
        """Return what goes dark in each load case, and which critical circuits share that fate."""
        facts: list[Fact] = [("of", (self.failing(failure),))]
        for case, effect in zip(self.cases, failure.effect_by_case, strict=True):
            names = [self.named(name) for name in effect.dark]
            names += [f"{self.named(name)} (falls back to 87a)" for name in effect.falls_back]
            facts.append((f"dark in {case}", tuple(names) or ("nothing",)))
        pairs = failure.critical_pairs
        return (*facts, ("critical pairs", tuple(f"{a} and {b}" for a, b in pairs))) if pairs else tuple(facts)

    def failing(self, failure: Failure) -> str:
        """Return whose feed, fuse or relay fails."""
        if failure.name in self.content.sized.feeds:
            return self._feed_line(failure.name)
        return self.named(failure.name)

    def named(self, circuit: str) -> str:
        """Return id and label of a circuit."""
        label = self.label(self.content.sized.need_by_id[circuit])
        return label if label == clean(circuit) else f"{label} ({clean(circuit)})"

    def run(self, run: Run) -> str:
        """Return a wire in one line."""
        size = f"{self.content.area_text(run.wire)} {self.content.look_by_run[run.number].code}"
        fused = f", in-line fuse {self.content.inline_text(run)}" if run.inline is not None else ""
        return f"{run.number} {size} from {self.end(run.start, run)} to {self.end(run.end, run)}{fused}"

    def colour(self, run: Run) -> str:
        """Return the colour of a wire, code and words."""
        look = self.content.look_by_run[run.number]
        return f"{look.code}, {look.words}"

    def end(self, end: WireEnd, run: Run) -> str:
        """Return one end of a wire with its terminal."""
        place = f"{clean(end.place)} {end.cavity}".strip()
        letter = self.content.letter_by_terminal.get(end.terminal, "")
        return f"{place} ({letter} {clean(end.terminal)})" if end.terminal else place

    def length(self, run: Run) -> str:
        """Return the length of a wire."""
        return f"{run.length_mm / MM_PER_M:.2f}{NO_BREAK}m" if run.length_mm else "to be measured"
