"""
What a reader can point at on the report page, what is said about it, and what lights up with it.

Comes in as the Content of a plan; goes out as Items by key. A key names every element that stands for one thing:
``way:helm/1/A/3``, ``socket:helm/2/S1``, ``piece:helm/1/A/1-4``, ``feed:key``, ``wire:W12``, ``need:horn``, and
``failure:3`` for a row of the failure view.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from allocator.outputs.content import Content
from allocator.outputs.failures import failure_name
from allocator.outputs.fonts import clean
from allocator.outputs.report.facts import Fact, Facts
from allocator.plan.failures import Failure, failures
from allocator.plan.index import EntryAt, NeedAt
from allocator.plan.measures import entry_load_ma, feed_loads
from allocator.plan.wiring import Run


@dataclass(frozen=True, slots=True)
class Item:
    """One thing: its name in full and in brief, what is said about it, what lights up with it, what filters ask for."""

    name: str
    title: str
    facts: tuple[Fact, ...]
    lights: tuple[str, ...]
    feeds: tuple[str, ...]
    cases: tuple[str, ...]
    """Load cases in which it carries something."""


class Items:
    """Every item of a plan."""

    def __init__(self, content: Content) -> None:
        self.content, self.index = content, content.index
        self.cases = tuple(case.name for case in content.sized.requirements.scenario.load_cases)
        self.failures = failures(self.index)
        self._facts = Facts(content, self.failures)

    @cached_property
    def by_key(self) -> Mapping[str, Item]:
        """All items."""
        found = dict(self._needs())
        found |= self._entries()
        found |= self._feeds()
        found |= {f"wire:{run.number}": self._wire(run) for run in self.content.runs}
        found |= {f"failure:{number}": self._failure(item) for number, item in enumerate(self.failures)}
        return found

    @cached_property
    def name_by_key(self) -> Mapping[str, str]:
        """Names of all items."""
        return {key: item.name for key, item in self.by_key.items()}

    def _needs(self) -> Iterator[tuple[str, Item]]:
        for placed in self.index.needs:
            facts, lights = self._facts.of_need(placed), tuple(dict.fromkeys(self._lit_by(placed)))
            cases = self._loaded(self.content.loads_by_need[placed.need.id])
            words = self._facts.in_brief(placed)
            title = self._facts.label(placed.need)
            places = [(kind, place) for kind, place in (("way", placed.way), ("socket", placed.socket)) if place]
            for kind, place in places:
                yield f"{kind}:{place}", Item(f"{kind} {place}: {words}", title, facts, lights, (placed.feed,), cases)
            name = f"{words}, at {places[0][1]}"
            yield f"need:{placed.need.id}", Item(name, title, facts, lights, (placed.feed,), cases)

    def _lit_by(self, placed: NeedAt) -> Iterator[str]:
        """Return what belongs to a need: its places, entry, feed and wires; of a branch also what it supplies."""
        yield f"need:{placed.need.id}"
        if placed.way is not None:
            yield f"way:{placed.way}"
            yield entry_key(self.index.entry_by_way[placed.way])
        if placed.socket is not None:
            yield f"socket:{placed.socket}"
        yield f"feed:{placed.feed}"
        own = {str(place) for place in (placed.way, placed.socket) if place is not None}
        for run in self.content.runs:
            if run.need == placed.need.id or own & {run.start.place, run.end.place}:
                yield f"wire:{run.number}"
        if placed.need.supplies is not None:
            yield f"feed:{placed.need.supplies}"
            yield from (entry_key(entry) for entry in self.index.entries if entry.piece.feed == placed.need.supplies)

    def _entries(self) -> Iterator[tuple[str, Item]]:
        for entry in self.index.entries:
            if entry.socket is None:
                needs = self.index.needs_of(entry)
                lights = [entry_key(entry), f"feed:{entry.piece.feed}", *self._places(needs)]
                lights += [f"wire:{run.number}" for run in self.content.runs if run.end.place == entry.piece.at]
                cases = self._loaded(entry_load_ma(self.index, entry, self.content.loads_by_need))
                facts = self._facts.of_entry(entry)
                name = self._facts.entry_name(entry)
                yield entry_key(entry), Item(name, name, facts, tuple(lights), (entry.piece.feed,), cases)

    def _places(self, needs: Iterable[NeedAt]) -> Iterator[str]:
        """Return rows and places of needs."""
        for item in needs:
            yield f"need:{item.need.id}"
            if item.way is not None:
                yield f"way:{item.way}"
            if item.socket is not None:
                yield f"socket:{item.socket}"

    def _feeds(self) -> Iterator[tuple[str, Item]]:
        loads = {load.feed: load.load_ma_by_case for load in feed_loads(self.index)}
        for feed in self.content.sized.feeds:
            needs = [item for item in self.index.needs if item.feed == feed]
            own = [item for item in self.index.needs if item.need.supplies == feed]
            lights = [f"feed:{feed}", *(entry_key(entry) for entry in self.index.entries if entry.piece.feed == feed)]
            lights += [*self._places(needs), *self._places(own)]
            lights += [f"wire:{run.number}" for run in self.content.runs if feed in (run.feed, run.need)]
            cases = self._loaded(loads[feed])
            name = f"feed {clean(feed)}"
            lit = tuple(dict.fromkeys(lights))
            yield f"feed:{feed}", Item(name, name, self._facts.of_feed(feed), lit, (feed,), cases)

    def _wire(self, run: Run) -> Item:
        ends = {run.start.place, run.end.place}
        needs = [item for item in self.index.needs if item.need.id == run.need]
        lights = [f"wire:{run.number}", f"feed:{run.feed}", *(f"need:{item.need.id}" for item in needs)]
        for item in self.index.needs:
            lights += [f"way:{item.way}"] if str(item.way) in ends else []
            lights += [f"socket:{item.socket}"] if str(item.socket) in ends else []
        lights += [entry_key(entry) for entry in self.index.entries if entry.piece.at in ends]
        cases = self._loaded(self.content.loads_by_need.get(run.need, ())) or self.cases
        facts, name = self._facts.of_wire(run), f"wire {run.number}"
        return Item(name, name, facts, tuple(dict.fromkeys(lights)), (run.feed,), cases)

    def _failure(self, failure: Failure) -> Item:
        lost = {name for effect in failure.effect_by_case for name in (*effect.dark, *effect.falls_back)}
        needs = [item for item in self.index.needs if item.need.id in lost]
        cases = zip(self.cases, failure.effect_by_case, strict=True)
        own = self.index.need_by_id.get(failure.name)
        feed = own.feed if own is not None and failure.kind != "feed" else failure.name
        name = f"{clean(failure_name(failure))} fails"
        return Item(
            name,
            name,
            self._facts.of_failure(failure),
            tuple(self._places(needs)),
            (feed,),
            tuple(case for case, effect in cases if effect.dark or effect.falls_back),
        )

    def _loaded(self, load_ma_by_case: Iterable[int]) -> tuple[str, ...]:
        return tuple(case for case, load_ma in zip(self.cases, load_ma_by_case, strict=False) if load_ma)


def entry_key(entry: EntryAt) -> str:
    """Return the key of a feed entry; one at a relay socket is that socket."""
    return f"socket:{entry.piece.at}" if entry.socket is not None else f"piece:{entry.piece.at}"
