"""
The cautions of one plan: what sizing warns of in what the plan has chosen, and what only the finished plan shows.

Comes from ``Sized`` and a plan; plain sentences go out, to plan.json and from there to every output.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator

from allocator.plan.drops import drops
from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.parts import supplies
from allocator.plan.plan import Plan
from allocator.sizing.cautions import cautions_of_choice
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.offer import Offer
from allocator.sizing.sized import Caution, Sized
from allocator.units import from_model, to_model


def cautions_about(sized: Sized, plan: Plan) -> tuple[str, ...]:
    """Return all cautions of a plan as sentences, those of sizing first."""
    return (*(caution.text for caution in cautions_in(PlanIndex(sized, plan))), *_idle_branches(sized, plan))


def cautions_in(index: PlanIndex) -> tuple[Caution, ...]:
    """Return what there is to warn of in the fuses, wires, relays, feeds and modules of a plan, and in its entries."""
    chosen = {item.need.id: (item.option, item.feed) for item in index.needs}
    found = cautions_of_choice(index.sized, chosen, {(item.panel, item.module.id) for item in index.modules})
    return (
        *found,
        *_drop_over_limit(index),
        *_tail_not_selective(index),
        *_jumpers_together(index),
        *_cables_together(index),
        *_labels_outdated(index),
    )


def _drop_over_limit(index: PlanIndex) -> Iterator[Caution]:
    """Circuits that lose more than they may in a load case of the plan, with all wires before them: one line."""
    if not index.sized.sizings:  # no figures of runs behind this table
        return
    over = [drop for drop in drops(index) if drop.is_over]
    if over:
        told = (f"{drop.circuit} {drop.total_v:.3f} V of {drop.limit_v:.3g} V in {drop.case}" for drop in over)
        yield Caution(
            "drop-over-limit",
            ", ".join(drop.circuit for drop in over),
            f"with the cables, tails and jumpers before it and the loads of the plan, more is lost than is allowed: "
            f"{'; '.join(told)}. Allow more, keep a share for the feeds with upstream_drop, or bring them by shorter "
            "or thicker cables",
        )


def _tail_not_selective(index: PlanIndex) -> Iterator[Caution]:
    """Fuses of an entry's own tail that are too near to the largest fuse behind them: one line."""
    ratio = index.sized.requirements.figures.selectivity.value
    near: dict[str, str] = {}
    for entry in index.entries:
        tail, needs = index.tail_of(entry), index.needs_of(entry)
        if tail.fuse is None or tail == index.sized.feeds[entry.piece.feed].tail or not needs:
            continue  # of a fuse in all tails of a feed sizing tells
        largest = max(needs, key=lambda item: item.option.fuse_rating_a)
        rating_a = largest.option.fuse_rating_a
        if rating_a * ratio > tail.protection_a:
            near[largest.need.id] = f"{largest.need.id} ({rating_a:g} A behind {tail.protection_a:g} A)"
    if near:
        yield Caution(
            "tail-not-selective",
            ", ".join(near),
            f"a fault may open the fuse in the feed tail before the circuit's own: {', '.join(near.values())}; "
            f"{ratio:g} x the circuit is usual, so look at both fuses, and at what else hangs on that tail",
        )


def _jumpers_together(index: PlanIndex) -> Iterator[Caution]:
    """Long jumpers of one panel of which some would carry less than their fuse in a bundle: one line for each panel."""
    if not index.sized.sizings:  # no catalogue wires behind this table
        return
    offer = Offer(index.sized.requirements)
    long_at: dict[str, list[NeedAt]] = defaultdict(list)
    for item in index.needs:
        if item.jumper == "long":
            long_at[item.panel].append(item)
    for panel, items in long_at.items():
        placed = {wire.part.id: wire for wire in offer.wires(offer.panel_by_name[panel].ambient, bundled=True)}
        thin: dict[str, str] = {}
        for item in items:
            wire, rating_a = placed[str(item.option.jumper_wire)], item.option.fuse_rating_a
            if wire.limit_ma < to_model(rating_a):
                carried = f"{wire.part.label} {from_model(wire.limit_ma):.4g} A behind {rating_a:g} A"
                thin[item.need.id] = f"{item.need.id} ({carried})"
        if thin and len(items) > 1:
            yield Caution(
                "jumpers-together",
                ", ".join(thin),
                f"{len(items)} long jumpers run from module to module at panel {panel}; each is sized as lying alone, "
                f"and tied together, at {offer.bundle_share:.0%}, these would carry less than the fuse before them: "
                f"{', '.join(thin.values())}. Lay them apart from each other, or ask for fewer with the goal "
                "long-jumpers",
            )


def _cables_together(index: PlanIndex) -> Iterator[Caution]:
    """Cables to a panel that would carry less than the fuse before them in a bundle: one line."""
    if not index.sized.sizings:  # no catalogue wires behind this table
        return
    tree = FeedTree(Offer(index.sized.requirements))
    thin: dict[str, list[str]] = defaultdict(list)
    for supply in supplies(index):
        feed = tree.feeds[supply.feed.name]
        if feed.source is not None and supply.panel == tree.home(feed):  # it stays at the panel, as short as a tail
            continue
        placed = {wire.part.id: wire for wire in tree.offer.wires(tree.hottest_c(feed), bundled=True)}
        wire, rating_a = placed[supply.feed.cable_wire], tree.protection_a(feed)
        if wire.limit_ma < to_model(rating_a):
            carried = f"{wire.part.label} {from_model(wire.limit_ma):.4g} A behind {rating_a:g} A"
            thin[feed.name].append(f"{feed.name} to {supply.panel} ({carried})")
    if thin:
        yield Caution(
            "cables-together",
            ", ".join(thin),
            f"every cable is sized as lying alone, and tied to other loaded wires, at {tree.offer.bundle_share:.0%}, "
            f"these would carry less than the fuse before them: {', '.join(itertools.chain(*thin.values()))}. Lay each "
            "apart from the others and from the runs",
        )


def _labels_outdated(index: PlanIndex) -> Iterator[Caution]:
    """Circuits that came or went at the vehicle: wires that were there before have other numbers now. One line."""
    names = sorted({note.circuit for note in index.plan.notes if note.what in ("added", "removed")})
    if names:
        yield Caution(
            "labels-outdated",
            ", ".join(names),
            f"{', '.join(names)} came or went at the vehicle, and wires are numbered through: others may have another "
            "number here than on the labels that hang on them since the panel was built. Tell a wire by its circuit "
            "and by both of its ends until the new labels (labels.pdf) hang on every wire",
        )


def _idle_branches(sized: Sized, plan: Plan) -> Iterator[str]:
    """Say which branches have a fuse or relay in this plan and nothing to supply."""
    fed = {piece.feed for piece in plan.pieces}
    for name, feed in sized.feeds.items():
        if feed.source is not None and name not in fed:
            yield f"feed {name} supplies nothing in this plan; without it, its own fuse and relay would not be needed"
