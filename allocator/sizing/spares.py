"""
Spare ways as needs: fed and placed, nothing fitted.

The rules come in; a need for each spare way goes out, named ``spare-R-N`` (rule R, number N, both from 1).
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.errors import Fault
from allocator.requirements.scenario import Spare
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.sized import Need, Option, Reason
from allocator.units import to_model


def spare_needs(tree: FeedTree) -> Iterator[Need | Fault]:
    """Yield the need of every spare way asked for, or one fault for a rule that no module or feed can serve."""
    scenario, offer = tree.offer.scenario, tree.offer
    accepted = {feed for circuit in offer.requirements.circuits for feed in circuit.feeds}
    for rule, spare in enumerate(scenario.rules.spares, 1):
        feeds = (spare.feed,) if spare.feed else tuple(feed.name for feed in scenario.feeds if feed.name in accepted)
        reached = {panel for name in feeds for panel in tree.panels(tree.feeds[name])}
        panels = [name for name in offer.panel_by_name if name in reached and spare.panel in (None, name)]
        if spare.fuse_format not in offer.formats:
            known = f"formats on offer: {', '.join(offer.formats)}"
            message = f"no module on offer takes format {spare.fuse_format}"
            yield _fault(tree, rule, "format-not-offered", "fuse_format", message, known)
        elif not panels:
            message = f"no feed of {', '.join(feeds)} reaches panel {spare.panel}"
            yield _fault(tree, rule, "unreachable", "panel", message)
        else:
            yield from (
                _need(spare, f"spare-{rule}-{number}", feeds, panels, tree) for number in range(1, spare.count + 1)
            )


def _need(spare: Spare, name: str, feeds: tuple[str, ...], panels: list[str], tree: FeedTree) -> Need:
    reserve = Reason("current", f"free way, {spare.reserve:g} A kept for it; no fuse is fitted")
    return Need(
        id=name,
        kind="spare",
        label=f"Spare {spare.fuse_format}",
        feeds=feeds,
        load_ma_by_case=(to_model(spare.reserve),) * len(tree.offer.scenario.load_cases),
        options=tuple(
            Option(panel, spare.fuse_format, None, None, 0.0, None, None, 0.0, None, 0, reasons=(reserve,))
            for panel in panels
        ),
    )


def _fault(tree: FeedTree, rule: int, name: str, field: str, message: str, known: str = "") -> Fault:
    where = tree.offer.requirements.where("rules.spares", str(rule), field)
    return Fault(name, f"spare ways of rule {rule}: {message}", where, known, "change or leave out this rule")
