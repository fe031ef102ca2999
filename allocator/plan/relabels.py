"""
What is called otherwise after a revision, and stays: circuits, branches and root feeds with another name or label.

Comes in as both plans, with what was renamed; goes out as steps.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.plan.change_step import Step
from allocator.plan.index import PlanIndex
from allocator.plan.parts import supplies
from allocator.plan.renames import Renames


def label_steps(old: PlanIndex, new: PlanIndex, names: Renames) -> Iterator[Step]:
    """Yield a step for everything that a place, cable or holder is labelled with, and which has another name now."""
    labels = {
        (kind, names.feed(name) if kind == "feed" else names.need(name)): (name, label)
        for kind, name, label, _ in _labelled(old)
    }
    for kind, name, label, feed in _labelled(new):
        was = labels.get((kind, name))
        if was is not None and was != (name, label):
            yield Step("relabel", "label", name, feed, was[1] or was[0], label or name, was=was[0])


def _labelled(index: PlanIndex) -> Iterator[tuple[str, str, str, str]]:
    """Yield kind, name, label and feed of what labels name; of a root feed they say the name alone."""
    for item in index.needs:
        if item.need.kind != "spare":
            yield item.need.kind, item.need.id, item.need.label, item.feed
    for name in dict.fromkeys(supply.feed.name for supply in supplies(index) if supply.feed.source is None):
        yield "feed", name, "", name
