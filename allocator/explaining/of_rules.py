"""
What the scenario asks for beside its circuits: panels, feeds, spare ways, bonds, counts, caps and rules.

Requirements come in; demands go out in the order of the scenario.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from allocator.explaining.demands import Demand, Easing, Kind
from allocator.explaining.sketch import Change, Sketch
from allocator.requirements.amounts import MORE_IS_BETTER
from allocator.requirements.places import quoted
from allocator.requirements.scenario import Bond, Goal, Requirements
from allocator.requirements.vehicle import Feed, PanelSite
from allocator.sizing.feed_tree import FeedTree
from allocator.sizing.offer import Offer

ROOMY = 60
"""Bays of a panel with more room than anybody asks for; the most that a scenario may say."""
STEPS_OF_RATING = 8
STEPS_OF_COUNT = (1, 2, 3, 4, 6, 8, 12, 16, 24, 40)


def demands_of_rules(requirements: Requirements) -> Iterator[Demand]:
    """Yield the demands of panels, feeds and rules."""
    for site in requirements.scenario.panels:
        yield _room(requirements, site)
        if site.carriers:
            yield _carriers(requirements, site)
    for feed in requirements.scenario.feeds:
        yield _feed_current(requirements, feed)
        if feed.panels and len(feed.panels) < len(requirements.scenario.panels):
            yield _reach(requirements, feed)
        if feed.source is not None:
            yield _branch(requirements, feed)
    yield from _part_limits(requirements)
    yield from _spares(requirements)
    yield from _bonds(requirements, "apart")
    yield from _bonds(requirements, "together")
    yield from _counts(requirements)
    yield from _switches(requirements)
    yield from _caps(requirements)


def _change(table: str, key: Any, **fields: Any) -> Change:
    """Return what changes fields of one entry of a table of the sketch."""

    def change(sketch: Sketch) -> None:
        entries = getattr(sketch, table)
        entries[key] = entries[key].model_copy(update=fields)

    return change


def _remove(table: str, key: Any) -> Change:
    return lambda sketch: getattr(sketch, table).pop(key, None)


def _set_rule(**fields: Any) -> Change:
    return lambda sketch: sketch.rules.update(fields)


def _unbind(limit: str) -> Change:
    return lambda sketch: sketch.boundless.add(limit)


def _once(words: str, change: Change) -> tuple[tuple[Easing, ...], ...]:
    return ((Easing(words, change),),)


def _room(requirements: Requirements, site: PanelSite) -> Demand:
    name = site.name
    ladder = tuple(
        Easing(f'panel "{name}" with room for {bays} bays', _change("panels", name, max_bays=bays))
        for bays in (site.max_bays + step for step in STEPS_OF_COUNT)
        if bays <= ROOMY
    )
    return Demand(
        f"room of {name}", "room", f'panel "{name}" has room for {_number(site.max_bays, "bay")}',
        requirements.where("panels", name, "max_bays"), _change("panels", name, max_bays=ROOMY),
        f'more room at panel "{name}"', (ladder,),
    )  # fmt: skip


def _carriers(requirements: Requirements, site: PanelSite) -> Demand:
    words, change = f'panel "{site.name}" with any carrier', _change("panels", site.name, carriers=())
    return Demand(
        f"carriers of {site.name}", "carriers", f'panel "{site.name}" allows only carriers {quoted(site.carriers)}',
        requirements.where("panels", site.name, "carriers"), change, words, _once(words, change),
    )  # fmt: skip


def _feed_current(requirements: Requirements, feed: Feed) -> Demand:
    share = requirements.scenario.rules.feed_loading
    ladder = tuple(
        Easing(f'feed "{feed.name}" rated {rating:g} A', _change("feeds", feed.name, rating=rating))
        for rating in _larger_ratings(requirements, feed)
    )
    return Demand(
        f"current of {feed.name}", "feed current",
        f'feed "{feed.name}" carries no more than {feed.rating * share / 100:g} A ({share:g} % of {feed.rating:g} A)',
        requirements.where("feeds", feed.name, "rating"), _unbind(f"feed {feed.name}"),
        f'feed "{feed.name}" carrying more', (ladder,),
    )  # fmt: skip


def _larger_ratings(requirements: Requirements, feed: Feed) -> list[float]:
    """Return the next larger ratings of what protects a feed, A."""
    catalogue = requirements.catalogue
    if feed.source is None:
        formats = {holder.fuse_format for holder in catalogue.main_holders}
    else:
        formats = {feed.fuse_format} if feed.fuse_format else {fuse.fuse_format for fuse in catalogue.fuses}
    ratings = sorted({fuse.rating for fuse in catalogue.fuses if fuse.fuse_format in formats})
    return [rating for rating in ratings if rating > feed.rating][:STEPS_OF_RATING]


def _reach(requirements: Requirements, feed: Feed) -> Demand:
    others = [site.name for site in requirements.scenario.panels if site.name not in feed.panels]
    ladders = tuple(
        (Easing(f'feed "{feed.name}" at panel "{name}" too', _reaching(requirements, feed, (*feed.panels, name))),)
        for name in others
    )
    return Demand(
        f"reach of {feed.name}", "reach", f'feed "{feed.name}" reaches only panel {quoted(feed.panels)}',
        requirements.where("feeds", feed.name, "panels"), _reaching(requirements, feed, ()),
        f'feed "{feed.name}" at every panel', ladders,
    )  # fmt: skip


def _reaching(requirements: Requirements, feed: Feed, panels: tuple[str, ...]) -> Change:
    """Change the reach of a feed; every branch keeps the home that it has."""
    tree = FeedTree(Offer(requirements))
    homes = {branch.name: tree.home(branch) for branch in tree.feeds.values() if branch.source is not None}

    def change(sketch: Sketch) -> None:
        for name, home in homes.items():
            if sketch.feeds[name].source is not None:
                sketch.feeds[name] = sketch.feeds[name].model_copy(update={"home": home})
        sketch.feeds[feed.name] = sketch.feeds[feed.name].model_copy(update={"panels": panels})

    return change


def _branch(requirements: Requirements, feed: Feed) -> Demand:
    own = " and ".join(
        part for part, there in (("fuse", feed.fuse_format), ("relay", feed.relay_class)) if there is not None
    )
    drop = _change("feeds", feed.name, source=None, fuse_format=None, relay_class=None, control=None, home=None)
    words = f'feed "{feed.name}" straight from the supply'
    return Demand(
        f"branch {feed.name}", "branch",
        f'feed "{feed.name}" branches from feed "{feed.source}" with a {own} of its own',
        requirements.where("feeds", feed.name, "source"), drop, words, _once(words, drop),
    )  # fmt: skip


def _part_limits(requirements: Requirements) -> Iterator[Demand]:
    modules = requirements.catalogue.modules
    limits = [("entries", "strips, inlets, studs and feed tails", True)]
    limits.append(("rows", "rows of modules", any(row.limit is not None for module in modules for row in module.rows)))
    limits.append(("modules", "modules", any(module.limit is not None for module in modules)))
    for limit, what, is_there in limits:
        if is_there:
            yield Demand(
                f"limits of {limit}", "part limits", f"{what} carry no more than the catalogue says",
                "catalogue", _unbind(limit), f"{what} that carry more",
            )  # fmt: skip


def _spares(requirements: Requirements) -> Iterator[Demand]:
    for number, spare in enumerate(requirements.scenario.rules.spares, 1):
        about = f" on feed {spare.feed}" if spare.feed else ""
        about += f" at panel {spare.panel}" if spare.panel else ""
        about += f", {spare.reserve:g} A kept for each" if spare.reserve else ""
        there = "is" if spare.count == 1 else "are"
        fewer = [
            Easing(
                f"{_number(count, 'spare way')} of type {spare.fuse_format} instead of {spare.count} (rule {number})",
                _change("spares", number, count=count) if count else _remove("spares", number),
            )
            for count in range(spare.count - 1, -1, -1)
        ]
        yield Demand(
            f"spares {number}", "spares",
            f"there {there} {_number(spare.count, 'spare way')} of type {spare.fuse_format}{about}",
            requirements.where("rules.spares", str(number), "count"), _remove("spares", number),
            f"no spare ways of rule {number}", (tuple(fewer), *_other_formats(requirements, number)),
        )  # fmt: skip


def _other_formats(requirements: Requirements, number: int) -> Iterator[tuple[Easing, ...]]:
    spare = requirements.scenario.rules.spares[number - 1]
    for letter in Offer(requirements).formats:
        if letter != spare.fuse_format:
            words = f"spare ways of type {letter} instead of {spare.fuse_format} (rule {number})"
            yield (Easing(words, _change("spares", number, fuse_format=letter)),)


_SAID_OF: dict[tuple[str, str], str] = {
    ("apart", "feed"): "are on different feeds",
    ("apart", "row"): "are in different rows",
    ("apart", "module"): "are in different modules",
    ("apart", "panel"): "are at different panels",
    ("together", "feed"): "are on one feed",
    ("together", "row"): "are in one row",
    ("together", "module"): "are in one module",
    ("together", "panel"): "are at one panel",
}


def _bonds(requirements: Requirements, rule: str) -> Iterator[Demand]:
    bonds: tuple[Bond, ...] = getattr(requirements.scenario.rules, rule)
    kind: Kind = "apart" if rule == "apart" else "together"
    for number, bond in enumerate(bonds, 1):
        names, said_of = quoted(bond.circuits), _SAID_OF[rule, bond.level]
        said, words = f"circuits {names} {said_of}", f"circuits {names} not bound to be {said_of[4:]}"
        drop = _remove(rule, number)
        where = requirements.where(f"rules.{rule}", str(number))
        yield Demand(f"{rule} {number}", kind, said, where, drop, words, _once(words, drop))


def _counts(requirements: Requirements) -> Iterator[Demand]:
    rules = requirements.scenario.rules
    for limit in rules.modules:
        ladder = tuple(
            Easing(f'{limit.most + step} of module "{limit.module}" instead of at most {limit.most}',
                   _change("modules", limit.module, most=limit.most + step))
            for step in STEPS_OF_COUNT
        )  # fmt: skip
        yield Demand(
            f"count of {limit.module}", "module count",
            f'there {"is" if limit.most == 1 else "are"} at most {_number(limit.most, "module")} "{limit.module}"'
            if limit.most else f'there are no modules "{limit.module}"',
            requirements.where("rules.modules", limit.module, "most"), _remove("modules", limit.module),
            f'any number of modules "{limit.module}"', (ladder,),
        )  # fmt: skip
    if rules.use_stock:
        ladders = tuple(
            tuple(
                Easing(f'{module.stock + step} of module "{module.id}" on the shelf instead of {module.stock}',
                       _shelve(module.id, module.stock + step))
                for step in STEPS_OF_COUNT
            )
            for module in requirements.catalogue.modules
            if module.stock is not None
        )  # fmt: skip
        yield Demand(
            "shelf", "shelf", "there are no more modules of a type than are on the shelf",
            requirements.where("rules", "", "use_stock"), _set_rule(use_stock=False), "modules bought as needed",
            ladders,
        )  # fmt: skip


def _shelve(module: str, number: int) -> Change:
    return lambda sketch: sketch.stock.update({module: number})


def _switches(requirements: Requirements) -> Iterator[Demand]:
    rules = requirements.scenario.rules
    rows: list[tuple[bool, str, Kind, str, str, str, Change]] = [
        (rules.hot_share is not None, "hot ways", "hot ways",
         "ways that are hot in one load case are not side by side", "hot_share", "hot ways side by side",
         _set_rule(hot_share=None)),
        (rules.relay_beside_fuse_from is not None, "relay beside fuse", "relay beside fuse",
         "the relay of a large fuse is in the module of that fuse", "relay_beside_fuse_from",
         "relays in other modules than their fuses", _set_rule(relay_beside_fuse_from=None)),
        (rules.one_piece_per_feed_and_row, "one piece", "one piece",
         "a feed has at most one strip piece in a row", "one_piece_per_feed_and_row",
         "several strip pieces of a feed in one row", _set_rule(one_piece_per_feed_and_row=False)),
    ]  # fmt: skip
    for is_on, name, kind, said, field, words, drop in rows:
        if is_on:
            yield Demand(name, kind, said, requirements.where("rules", "", field), drop, words, _once(words, drop))


def _caps(requirements: Requirements) -> Iterator[Demand]:
    for aim in requirements.scenario.rules.aims:
        if aim.limit is not None:
            is_cap = aim.cap is not None
            yield Demand(
                f"cap on {aim.goal}", "cap", f"{aim.goal} {'is at most' if is_cap else 'are at least'} {aim.limit}",
                requirements.where("rules", "", "objective"), with_limit(aim.goal, None),
                f"no {'cap on' if is_cap else 'least number of'} {aim.goal}",
            )  # fmt: skip


def with_limit(goal: Goal, limit: str | int | None) -> Change:
    """Return what sets another limit to a goal; None: no limit."""
    return _change("aims", goal, **{"at_least" if goal in MORE_IS_BETTER else "cap": limit})


def _number(count: int, what: str) -> str:
    return f"{count or 'no'} {what}{'' if count == 1 else 's'}"
