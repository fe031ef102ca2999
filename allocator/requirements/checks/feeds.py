"""Feeds: the tree of feeds, what protects and switches a branch, and where its fuse and relay stand."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, cut_short, quoted, shown
from allocator.requirements.vehicle import Feed


def feed_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of the feeds as such."""
    in_cycle = _names_in_cycles(draft)
    yield from _cycles(draft)
    for item in draft.feeds:
        yield from _root(item) if item.value.source is None else _branch(item)
        yield from _tail_fuse(item)
        yield from _main_fuse(draft, item)
        if item.value.name not in in_cycle:
            yield from _home(draft, item)
            yield from _permanence(draft, item)


def sources_of(draft: Draft, feed: Feed) -> list[Feed]:
    """Return the feeds above a feed, nearest first; it ends where one is unknown or comes again."""
    above: dict[str, Feed] = {}
    source = draft.feed_by_name.get(feed.source or "")
    while source is not None and source.name not in above:
        above[source.name] = source
        source = draft.feed_by_name.get(source.source or "")
    return list(above.values())


def _names_in_cycles(draft: Draft) -> frozenset[str]:
    return frozenset(name for name, feed in draft.feed_by_name.items() if name in _names_above(draft, feed))


def _names_above(draft: Draft, feed: Feed) -> list[str]:
    return [source.name for source in sources_of(draft, feed)]


def _cycles(draft: Draft) -> Iterator[PlacedFault]:
    reported: list[str] = []
    for item in draft.feeds:
        name, above = item.value.name, _names_above(draft, item.value)
        if name not in above or name in reported or draft.feed_by_name[name] is not item.value:
            continue
        cycle = above[: above.index(name) + 1]
        reported.extend(cycle)
        way = cut_short([shown(part) for part in [name, *cycle]], " from ")
        hint = "one of them must come from the supply: leave out its source"
        yield item.spot.fault("feed-cycle", f"feeds branch from each other in a circle: {way}", "source", hint=hint)


def _root(item: Item[Feed]) -> Iterator[PlacedFault]:
    for field in ("fuse_format", "relay_class", "control", "home"):
        if getattr(item.value, field) is not None:
            message = f'{item.spot.subject} comes from the supply, so "{field}" has no place in a panel'
            hint = f'leave out "{field}", or name the feed that it branches from as "source"'
            yield item.spot.fault("root-feed-with-parts", message, field, hint=hint)


def _branch(item: Item[Feed]) -> Iterator[PlacedFault]:
    feed, spot = item.value, item.spot
    if feed.fuse_format is None and feed.relay_class is None:
        message = f"{spot.subject} branches from {shown(feed.source)} without a fuse or a relay of its own"
        hint = 'give "fuse_format", "relay_class" or both, or list its circuits under its source'
        yield spot.fault("bare-branch", message, "source", hint=hint)
    elif feed.fuse_format is None and feed.control is None:
        message = f"{spot.subject} has a relay and no fuse, so nothing protects its coil"
        yield spot.fault("coil-without-source", message, "control", known="expected the circuit that supplies the coil")
    if feed.control is not None and feed.relay_class is None:
        message = f"{spot.subject} has a control circuit and no relay"
        yield spot.fault("control-without-relay", message, "control", hint='give "relay_class", or leave out "control"')


def _tail_fuse(item: Item[Feed]) -> Iterator[PlacedFault]:
    feed = item.value
    if feed.tail_fuse is not None and feed.tail_fuse > feed.rating:
        message = f"the tail fuse of {item.spot.subject} is larger than the feed itself"
        known = f"expected at most {feed.rating:g} A, its rating"
        yield item.spot.fault("tail-fuse-too-large", message, "tail_fuse", known=known)


def _main_fuse(draft: Draft, item: Item[Feed]) -> Iterator[PlacedFault]:
    feed, spot = item.value, item.spot
    far_m = feed.main_fuse_distance
    if feed.source is not None and (far_m is not None or feed.main_fuse_sheathed):
        field = "main_fuse_sheathed" if far_m is None else "main_fuse_distance"
        message = f"{spot.subject} branches from {shown(feed.source)}, so it has no main fuse"
        yield spot.fault("branch-with-main-fuse", message, field, hint=f'leave out "{field}"')
    if far_m is None or feed.source is not None:
        return
    near = [panel.value for panel in draft.panels if reaches(feed, panel.value.name)]
    short = [panel for panel in near if panel.supply_distance < far_m]
    if short:
        message = f"the main fuse of {spot.subject} is {far_m:g} m from the source, beyond panel {shown(short[0].name)}"
        known = f"that panel is {short[0].supply_distance:g} m from the source"
        yield spot.fault("main-fuse-past-panel", message, "main_fuse_distance", known=known)
    small_craft = draft.rules is not None and draft.rules.value.fuse_over_wire == "small-craft-150"
    figure = draft.figures.main_fuse_lead_sheathed if feed.main_fuse_sheathed else draft.figures.main_fuse_lead
    if small_craft and far_m > figure.value:
        message = (
            f"the main fuse of {spot.subject} is {far_m:g} m from the source, farther than small craft may have it"
        )
        known = f"{figure.value:g} m: {figure.source}"
        hint = 'move it nearer, or give up fuse_over_wire = "small-craft-150", which rests on the same section'
        yield spot.fault("main-fuse-too-far", message, "main_fuse_distance", known=known, hint=hint)


def reaches(feed: Feed, panel: str) -> bool:
    """Whether a feed may be used at a panel."""
    return not feed.panels or panel in feed.panels


def _home(draft: Draft, item: Item[Feed]) -> Iterator[PlacedFault]:
    feed, spot = item.value, item.spot
    source = draft.feed_by_name.get(feed.source or "")
    panels = draft.names("panels")
    if source is None or panels is None or (feed.home is not None and feed.home not in panels):
        return
    shared = [panel for panel in dict.fromkeys(panels) if reaches(feed, panel) and reaches(source, panel)]
    if feed.home is not None and feed.home not in shared:
        which = (
            "it does not reach itself"
            if not reaches(feed, feed.home)
            else f"its source {shown(source.name)} does not reach"
        )
        message = f"{spot.subject} has its home at panel {shown(feed.home)}, which {which}"
        yield spot.fault("home-not-reached", message, "home", known=_possible(shared))
    elif feed.home is None and len(shared) != 1:
        message = f"{spot.subject} has no panel that both it and its source {shown(source.name)} reach"
        if shared:
            message = f"{spot.subject} could have its fuse and relay at several panels"
        yield spot.fault(
            "home-unclear",
            message,
            "home",
            known=_possible(shared),
            hint='name one of them as "home"' if shared else "",
        )


def _possible(panels: list[str]) -> str:
    return f"possible are {quoted(panels)}" if panels else ""


def always_live(draft: Draft, feed: Feed) -> bool:
    """Whether a feed is permanent, with no relay in it or above it and only permanent feeds above it."""
    chain = [feed, *sources_of(draft, feed)]
    return all(part.kind == "permanent" and part.relay_class is None for part in chain)


def _permanence(draft: Draft, item: Item[Feed]) -> Iterator[PlacedFault]:
    feed = item.value
    if feed.kind != "permanent" or always_live(draft, feed):
        return
    if feed.relay_class is not None:
        message = f"{item.spot.subject} is called permanent, and its own relay switches it"
    else:
        above = next(
            part for part in sources_of(draft, feed) if part.kind != "permanent" or part.relay_class is not None
        )
        message = f"{item.spot.subject} is called permanent, and feed {shown(above.name)} above it is switched"
    yield item.spot.fault(
        "permanent-but-switched", message, "kind", known='expected "ignition", "accessory" or "switched"'
    )
