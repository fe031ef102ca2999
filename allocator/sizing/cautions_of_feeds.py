"""
Cautions about feeds: their main fuses, what stands before their branches, their inlets, own fuses and relays.

The sizing table and the figures behind its rows come in; cautions go out, one function each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from allocator.errors import SizingError
from allocator.sizing.fuses import ambient_share
from allocator.sizing.options import Sizing
from allocator.sizing.sized import Caution, Sized, supply_groups
from allocator.sizing.withstand import let_through_a2s


def critical_share_feed(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Critical circuits that one feed or main fuse can take out together, on it or on branches of it."""
    critical = {circuit.id for circuit in sized.requirements.circuits if circuit.critical}
    apart = [bond.circuits for bond in sized.requirements.scenario.rules.apart if bond.level == "feed"]
    for feed in sized.feeds:
        feeds_by_need = {
            need.id: {name for name in need.feeds if name in sized.feeds and feed in _upstream(sized, name)}
            for need in sized.needs
            if need.id in critical
        }
        on_feed = [name for name, feeds in feeds_by_need.items() if feed in feeds]
        sharing = {
            name
            for name in on_feed
            if any(other != name and not any({name, other} <= {*bond} for bond in apart) for other in on_feed)
        }
        branched = {
            name
            for one, other in combinations(feeds_by_need, 2)
            if any(_part_at(sized, feed, *pair) for pair in product(feeds_by_need[one], feeds_by_need[other]))
            for name in (one, other)
        }
        if sharing or branched:
            names = ", ".join(name for name in feeds_by_need if name in sharing | branched)
            where = f"stand on feed {feed}{' and its branches' if branched else ''}"
            instead = "feeds of other sources" if branched else "different feeds"
            yield Caution(
                "critical-share-feed",
                feed,
                f"critical circuits {names} may all {where}: its one fault would stop them together; ask for {instead} "
                "where they must survive each other",
            )


def _upstream(sized: Sized, feed: str) -> list[str]:
    """Return a feed and all that it comes from, the root last."""
    found, source = [feed], sized.feeds[feed].source
    while source is not None:
        found.append(source)
        source = sized.feeds[source].source
    return found


def _part_at(sized: Sized, feed: str, one: str, other: str) -> bool:
    """Say whether a feed is the last one that two different feeds have in common, from the supply on."""
    both = [name for name in _upstream(sized, one) if name in _upstream(sized, other)]
    return one != other and both[:1] == [feed]


def branch_not_selective(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Feeds whose protection is too near to the largest fuse that may stand on them."""
    ratio = sized.requirements.figures.selectivity.value
    for feed in sized.feeds.values():
        rating_a = feed.tail_protection_a
        ratings = {
            need.id: min(option.fuse_rating_a for option in need.options)
            for need in sized.needs
            if feed.name in need.feeds
        }
        near = [name for name, fuse_a in ratings.items() if fuse_a * ratio > rating_a]
        if near:
            largest = max(ratings.values())
            yield Caution(
                "branch-not-selective",
                feed.name,
                f"a fault on {', '.join(near)} may open the {rating_a:g} A fuse of feed {feed.name} before its own, "
                "of up to "
                f"{largest:g} A: {ratio:g} x the branch is usual",
            )


def cable_withstand_unproven(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Feeds whose cable or tail stands behind a fuse of which nothing published bounds what it lets through."""
    fuses = {fuse.id: fuse for fuse in sized.requirements.catalogue.fuses}
    supply, figures = sized.requirements.scenario.supply, sized.requirements.figures
    found: dict[str, str] = {}
    for feed in sized.feeds.values():
        first = sized.need_by_id[feed.name].options[0].fuse if feed.main is None else feed.main.fuse
        before = [first, feed.tail_fuse]
        for fuse in (fuses[name] for name in before if name is not None):
            if let_through_a2s(fuse.fuse_format, fuse.rating, supply.fault_current, figures) is None:
                found.setdefault(feed.name, fuse.fuse_format)
    if found:
        formats = ", ".join(sorted(set(found.values())))
        yield Caution(
            "cable-withstand-unproven",
            ", ".join(found),
            f"no published opening time says what the fuses (type {formats}) before the cables or tails of feeds "
            f"{', '.join(found)} let by in a short circuit: see that their data sheets suit the wire",
        )


def main_fuse_far(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Root feeds whose main fuse is farther from the source than a fuse should be."""
    figures = sized.requirements.figures
    for feed in sized.requirements.scenario.feeds:
        figure = figures.main_fuse_lead_sheathed if feed.main_fuse_sheathed else figures.main_fuse_lead
        far_m = feed.main_fuse_distance
        if far_m is not None and far_m > figure.value:
            yield Caution(
                "main-fuse-far",
                feed.name,
                f"{far_m:g} m of wire before the main fuse of feed {feed.name} are protected by nothing; a fuse "
                f"stands at the source, or up to {figure.value:.3g} m from it ({figure.source})",
            )


def main_fuse_unplaced(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Root feeds of which the scenario does not say where the main fuse is."""
    figures = sized.requirements.figures
    names = [
        feed.name
        for feed in sized.requirements.scenario.feeds
        if feed.source is None and feed.main_fuse_distance is None
    ]
    if names:
        near_m, sheathed_m = figures.main_fuse_lead.value, figures.main_fuse_lead_sheathed.value
        yield Caution(
            "main-fuse-unplaced",
            ", ".join(names),
            f"how far the main fuses of {', '.join(names)} are from the source is not stated (main_fuse_distance): put "
            f"them at the source, else within {near_m:.3g} m along the wire, {sheathed_m:.3g} m if it is sheathed all "
            "the way; no lead to them is ordered",
        )


def inlet_below_protection(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Modules that a feed cannot enter, though they would take what may be on it."""
    for feed in sized.feeds.values():
        formats = {
            (option.panel, option.fuse_format)
            for need in sized.needs
            if feed.name in need.feeds
            for option in need.options
        }
        closed = [
            module.id
            for module in sized.module_by_id.values()
            for group, rows in enumerate(supply_groups(module))
            for panel in feed.panels
            if (panel, module.rows[rows[0]].fuse_format) in formats
            and (panel, module.id, group, feed.name) not in sized.entries
        ]
        if closed:
            yield Caution(
                "inlet-below-protection",
                feed.name,
                f"feed {feed.name} is kept out of {', '.join(dict.fromkeys(closed))}: it is protected at "
                f"{feed.tail_protection_a:g} A, and no tail and in-line fuse on offer suit what their inlets carry",
            )


def feed_fuse_hot(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Feeds loaded above what their own fuse carries at the ambient temperature of its panel."""
    scenario = sized.requirements.scenario
    ambient = {panel.name: panel.ambient for panel in scenario.panels}
    loading = scenario.rules.feed_loading / 100
    for need in sized.needs:
        option = need.options[0]
        if need.kind != "feed" or option.fuse_format is None:
            continue
        try:
            share = ambient_share(option.fuse_format, ambient[option.panel], sized.requirements.figures)
        except SizingError:
            share = 0.0
        if share < loading:
            yield Caution(
                "feed-fuse-hot",
                need.id,
                f"feed {need.id} may be loaded to {loading:.0%} of {option.fuse_rating_a:g} A, and a type "
                f"{option.fuse_format} fuse "
                f"carries {share:.0%} at {ambient[option.panel]:g} °C: lower feed_loading, or move the fuse",
            )


def feed_relay_inrush(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Relays of feeds that close onto lamps or motors, be those on a branch of the feed."""
    harsh = {circuit.id for circuit in sized.requirements.circuits if circuit.load_type in ("filament-lamp", "motor")}
    for need in sized.needs:
        if need.kind != "feed" or not need.takes_socket:
            continue
        behind = _with_branches(sized, need.id)
        names = [other.id for other in sized.needs if other.id in harsh and behind & {*other.feeds}]
        if names:
            yield Caution(
                "feed-relay-inrush",
                need.id,
                f"the relay of feed {need.id} is chosen by what it carries; if {', '.join(names)} are switched on "
                "when it closes, "
                "their inrush goes through its contact",
            )


def _with_branches(sized: Sized, feed: str) -> set[str]:
    """Return a feed and all that branch from it, from a branch of it, and so on."""
    found = {feed}
    while more := {item.name for item in sized.feeds.values() if item.source in found} - found:
        found |= more
    return found
