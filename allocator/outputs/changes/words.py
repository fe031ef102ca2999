"""
A revision in the workshop's words: what it changes and how that is known, what a fresh panel would be, and every step.

Comes in as a ``ChangeSheet``; goes out as text, and as the sentences that list and paper share.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.goals import CHANGE_NAMES, change_proof_text, goal_name, value_text
from allocator.plan.change_list import ChangeList
from allocator.plan.change_step import Doing, Phase, Step
from allocator.plan.measures import measure_index
from allocator.plan.plan import Change, Plan
from allocator.requirements.amounts import sense
from allocator.sizing.sized import Sized
from allocator.units import MM_PER_M

CHANGE_MEANINGS: Mapping[Change, str] = {
    "moved-wires": "built wires of circuits that stay, which are moved or replaced",
    "new-parts": "carriers, modules, fuses and relays that the panel has not got",
    "recut-strips": "built strip pieces and other feed entries that are not left as they are",
}
HEADINGS: Mapping[Doing, str] = {
    "pull": "Pull out",
    "remove": "Remove",
    "move": "Move",
    "change": "Change",
    "add": "Add",
    "refit": "Put back",
    "relabel": "Label anew",
}
PHASE_NAMES: Mapping[Phase, str] = {
    "pull": "Fuses and relays out",
    "take out": "Wires out, then what they ended on",
    "build": "Panel and supply",
    "wire": "Wires in",
    "fit": "Relays and fuses in, spare ways last",
    "label": "Labels",
}
"""Headings of the steps, in building order."""
ORDER = "No fuse goes in before its wire; nothing goes where something else still is."
WIRE_KINDS = (
    "main lead", "feed cable", "stud link", "feed tail", "load wire", "return wire", "coil lead", "jumper",
)  # fmt: skip
ISOLATE = "First disconnect every battery, negative side first, and pull the fuses of what is worked on."


@dataclass(frozen=True)
class ChangeSheet:
    """All that the change sheet is about: the new plan, the steps to it, and a fresh plan to compare with."""

    content: Content
    changes: ChangeList
    fresh: Plan | None = None

    @property
    def plan(self) -> Plan:
        """The new plan."""
        return self.content.plan

    @property
    def sized(self) -> Sized:
        """Sizing of what is wanted now."""
        return self.content.sized

    @cached_property
    def numbered(self) -> tuple[tuple[int, Step], ...]:
        """Every step with its number, from 1."""
        return tuple(enumerate(self.changes.steps, 1))

    def subject(self, step: Step) -> str:
        """Return whose thing it is: the label of a circuit with its id, a feed, or nothing."""
        index = self.content.index if step.need in self.content.index.need_by_id else self.changes.old
        name = step.need if index is self.content.index else self.changes.names.back.need(step.need)
        if name in index.need_by_id and index.need_by_id[name].need.kind == "circuit":
            label = clean(index.need_by_id[name].need.label)
            return f"{label} ({step.need})" if label and label != step.need else step.need
        return f"feed {step.need or step.feed}" if step.need or step.feed else ""

    def part(self, step: Step) -> str:
        """Return what it is made of, in words: fuse and wire with their figures, else the label of the part."""
        texts = [self._part(step.was), self._part(step.part)] if step.was and step.was != step.part else []
        return " in place of ".join(reversed(texts)) if texts else self._part(step.part)

    def _part(self, part: str) -> str:
        for index in (self.content.index, self.changes.old):
            catalogue = index.sized.requirements.catalogue
            for fuse in catalogue.fuses:
                if fuse.id == part:
                    return f"{fuse.rating:g} A type {fuse.fuse_format}"
            if any(wire.id == part for wire in catalogue.wires):
                return Content(index.sized, index.plan).area_text(part)
            tables = (catalogue.modules, catalogue.carriers, catalogue.relays, catalogue.strips, catalogue.studs)
            for table in (*tables, catalogue.holders, catalogue.main_holders, catalogue.terminals):
                for item in table:
                    if item.id == part:
                        return clean(item.label)
        return part

    def sentence(self, step: Step) -> str:
        """Return a step as one line: what, whose, made of what, from where to where."""
        words = [f"{step.kind} {step.wire}".strip()]
        if step.kind == "label":
            return f"label of {step.need}: {clean(step.old)} -> {clean(step.new)}"
        subject = self.subject(step)
        if subject and step.kind != "spare way":
            words.append(f"of {subject}")
        part = self.part(step)
        is_wire = step.kind in WIRE_KINDS
        where = {
            "pull": f"from {step.old}" if not is_wire or " to " not in step.old else step.old,
            "remove": step.old if is_wire else f"from {step.old}",
            "move": f"from {step.old} to {step.new}",
            "change": step.new if is_wire else f"at {step.new}",
            "add": step.new if is_wire else f"at {step.new}",
            "refit": f"at {step.new}",
        }[step.doing]
        if step.doing == "change" and step.old != step.new:
            where += f" (was {step.old})"
        metres = f", {step.length_mm / MM_PER_M:.2f} m" if step.length_mm and step.doing in ("add", "change") else ""
        return f"{' '.join(words)}{f', {part}' if part else ''}{metres}: {where}"

    def change_rows(self) -> list[tuple[str, str, str, str]]:
        """Return the changes that were minimised: name, value, how it is known, what is counted."""
        return [
            (CHANGE_NAMES[item.change], str(item.value), change_proof_text(item), CHANGE_MEANINGS[item.change])
            for item in self.plan.changes
        ]

    def goal_rows(self) -> list[tuple[str, str, str, str]]:
        """Return every goal of the panel as built, as revised, and planned afresh."""
        currency = self.sized.requirements.catalogue.currency
        was = measure_index(self.changes.old)
        fresh = {} if self.fresh is None else {goal.goal: goal.value for goal in self.fresh.goals}
        return [
            (
                goal_name(goal.goal),
                value_text(goal.goal, was[goal.goal], currency),
                value_text(goal.goal, goal.value, currency),
                value_text(goal.goal, fresh[goal.goal], currency) if goal.goal in fresh else "",
            )
            for goal in self.plan.goals
        ]

    def fresh_text(self) -> str:
        """Say whether a panel planned afresh would be smaller, and by how much."""
        if self.fresh is None:
            return "No fresh panel was planned to compare with."
        currency = self.sized.requirements.catalogue.currency
        pairs = list(zip(self.plan.goals, self.fresh.goals, strict=True))
        first = next(((m, o) for m, o in pairs if m.value != o.value), None)
        if first is None:
            return "A fresh panel would be no better in any goal."
        mine, other = first
        worse = "more" if sense(mine.goal) == 1 else "fewer"
        if sense(mine.goal) * (other.value - mine.value) > 0:
            return f"A fresh panel would be no better: the search for it ended with {worse} {goal_name(mine.goal)}."
        apart = value_text(mine.goal, abs(mine.value - other.value), currency)
        less = f"{apart} {'less' if other.value < mine.value else 'more'}"
        more = [
            f"{goal_name(m.goal)} {value_text(m.goal, abs(m.value - o.value), currency)} "
            + ("less" if o.value < m.value else "more")
            for m, o in pairs
            if m.value != o.value and m is not mine
        ]
        proof = "proven best" if other.outcome == "best possible" else "the best that was found"
        better = "smaller" if sense(mine.goal) == 1 else "roomier"
        text = f"A fresh panel would be {better}: {goal_name(mine.goal)} {less} ({proof})"
        return text + (f"; with it {', '.join(more)}." if more else ".")
