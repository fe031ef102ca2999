"""
Why no plan exists: which single kind of requirement, if it were eased, would leave a plan.

Comes from a ``Sized`` that cannot be met; goes out as sentences in the user's words. Each claim rests on a plan that
was found with that requirement eased and everything else kept.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.requirements.amounts import cap_text
from allocator.requirements.scenario import Goal, Rules
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock
from allocator.solving.levels import Level
from allocator.solving.placement import Placement
from allocator.solving.search import Found, Search

SECONDS_A_TRIAL = 6.0
MUCH_MA = 10_000_000
ROOMY = 60
Evaluate = Callable[[Sized, Placement], dict[Goal, Fraction]]


def reasons(sized: Sized, clock: Clock, evaluate: Evaluate) -> Iterator[str]:
    """Try every easing in turn and say which would leave a plan; nothing where none does in the time."""
    yield from _not_on_offer(sized)
    yield from _caps_in_the_way(sized, clock, evaluate)
    for name, ease in EASINGS.items():
        eased = ease(sized)
        if eased is None or clock.left_s <= 0:
            continue
        found = _plan_of(eased, clock, evaluate)
        if found is not None:
            yield _SENTENCES[name](sized, found)


def _not_on_offer(sized: Sized) -> Iterator[str]:
    modules = sized.requirements.catalogue.modules
    formats = {row.fuse_format for module in modules for row in module.rows}
    classes = {group.relay_class for module in modules for group in module.sockets}
    for need in sized.needs:
        wanted = {option.fuse_format for option in need.options}
        if need.takes_way and not wanted & formats:
            yield f"{need.id} needs a way of format {' or '.join(sorted(map(str, wanted)))}; no module on offer has one"
        relays = {option.relay_class for option in need.options}
        if need.takes_socket and not relays & classes:
            yield f"{need.id} needs a {' or '.join(sorted(map(str, relays)))} socket; no module on offer has one"


def _plan_of(sized: Sized, clock: Clock, evaluate: Evaluate) -> Placement | None:
    capped = [aim for aim in sized.requirements.scenario.rules.aims if aim.most is not None]
    bays = [] if any(aim.goal == "bays" for aim in capped) else ["bays"]
    found = _trial(_with_rules(sized, objective=(*bays, *capped)), clock, evaluate)
    return None if found is None else found[0].placement


def _first_level_of(sized: Sized, clock: Clock, evaluate: Evaluate) -> Level | None:
    found = _trial(sized, clock, evaluate)
    return None if found is None else found[1][0]


def _trial(sized: Sized, clock: Clock, evaluate: Evaluate) -> tuple[Found, list[Level]] | None:
    if clock.left_s <= 0:
        return None
    trial = Clock(time.monotonic() + min(SECONDS_A_TRIAL, clock.left_s), workers=clock.workers, stop=clock.stop)
    try:
        return Search(sized, trial, lambda placement: evaluate(sized, placement)).run()
    except (CannotBeMet, NoPlanInTime):
        return None


def _caps_in_the_way(sized: Sized, clock: Clock, evaluate: Evaluate) -> Iterator[str]:
    """Say of each cap what it would have to be, all others kept; or whether all of them together are too much."""
    capped = [aim for aim in sized.requirements.scenario.rules.aims if aim.most is not None]
    found_one = False
    for aim in capped:
        others = [other.model_copy(update={"tolerance": None}) for other in capped if other != aim]
        eased = _with_rules(sized, objective=(aim.goal, *others))
        level = _first_level_of(eased, clock, evaluate)
        if level is not None:
            found_one = True
            value = cap_text(aim.goal, level.value)
            least = ", the least possible" if level.proven else ", the least that was found"
            yield f"it could be met with a cap of {value} on {aim.goal}{least}, instead of {aim.cap}"
    if len(capped) > 1 and not found_one and _plan_of(_with_rules(sized, objective=("bays",)), clock, evaluate):
        yield f"it could be met without the caps on {' and '.join(aim.goal for aim in capped)}"


def _with_rules(sized: Sized, **changes: Any) -> Sized:
    scenario = sized.requirements.scenario
    rules: Rules = scenario.rules.model_copy(update=changes)
    changed = sized.requirements.model_copy(update={"scenario": scenario.model_copy(update={"rules": rules})})
    return replace(sized, requirements=changed)


def _more_room(sized: Sized) -> Sized:
    scenario = sized.requirements.scenario
    panels = tuple(site.model_copy(update={"max_bays": ROOMY}) for site in scenario.panels)
    changed = sized.requirements.model_copy(update={"scenario": scenario.model_copy(update={"panels": panels})})
    return replace(sized, requirements=changed)


def _stronger_feeds(sized: Sized) -> Sized:
    feeds = {name: replace(feed, allowed_ma=Fraction(MUCH_MA)) for name, feed in sized.feeds.items()}
    return replace(sized, feeds=feeds)


def _stronger_modules(sized: Sized) -> Sized:
    return replace(
        sized,
        entries={key: replace(entry, limit_ma=MUCH_MA) for key, entry in sized.entries.items()},
        row_limit_ma=dict.fromkeys(sized.row_limit_ma),
        module_limit_ma=dict.fromkeys(sized.module_limit_ma),
    )


def _no_bonds(sized: Sized) -> Sized | None:
    rules = sized.requirements.scenario.rules
    return _with_rules(sized, apart=(), together=()) if rules.apart or rules.together else None


def _no_pins(sized: Sized) -> Sized | None:
    if not any(need.pin for need in sized.needs):
        return None
    return replace(sized, needs=tuple(replace(need, pin=None) for need in sized.needs))


def _no_spares(sized: Sized) -> Sized | None:
    needs = tuple(need for need in sized.needs if need.kind != "spare")
    return replace(sized, needs=needs) if len(needs) < len(sized.needs) else None


def _any_number_of_modules(sized: Sized) -> Sized | None:
    rules = sized.requirements.scenario.rules
    return _with_rules(sized, modules=(), use_stock=False) if rules.modules or rules.use_stock else None


def _hot_ways_together(sized: Sized) -> Sized | None:
    hot = sized.requirements.scenario.rules.hot_share is not None
    return _with_rules(sized, hot_share=None) if hot else None


def _relays_anywhere(sized: Sized) -> Sized | None:
    beside = sized.requirements.scenario.rules.relay_beside_fuse_from is not None
    return _with_rules(sized, relay_beside_fuse_from=None) if beside else None


def _several_pieces(sized: Sized) -> Sized | None:
    one = sized.requirements.scenario.rules.one_piece_per_feed_and_row
    return _with_rules(sized, one_piece_per_feed_and_row=False) if one else None


EASINGS: Mapping[str, Callable[[Sized], Sized | None]] = {
    "room": _more_room,
    "feeds": _stronger_feeds,
    "limits": _stronger_modules,
    "bonds": _no_bonds,
    "pins": _no_pins,
    "spares": _no_spares,
    "modules": _any_number_of_modules,
    "hot ways": _hot_ways_together,
    "relays": _relays_anywhere,
    "pieces": _several_pieces,
}


def _room_needed(sized: Sized, found: Placement) -> str:
    bays = {carrier.id: carrier.bays for carrier in sized.requirements.catalogue.carriers}
    changes = [
        f"{used} bays at panel {site.name} instead of at most {site.max_bays}"
        for site in sized.requirements.scenario.panels
        if (used := sum(bays[carrier] for carrier in found.carriers[site.name])) > site.max_bays
    ]
    return "it could be met with more room: " + " and ".join(changes)


def _amperes_needed(sized: Sized, found: Placement) -> str:
    over = []
    for name, feed in sized.feeds.items():
        load_ma = max((found.draw_ma[name, case] for case in found.frame.cases), default=0)
        if load_ma > feed.allowed_ma:
            over.append(
                f"feed {name} would carry {load_ma / 1000:.1f} A, and is allowed {float(feed.allowed_ma) / 1000:.1f} A"
            )
    return "it could be met with stronger feeds, or fewer loads at once: " + "; ".join(over)


def _say(sentence: str) -> Callable[[Sized, Placement], str]:
    return lambda sized, found: sentence


_SENTENCES: Mapping[str, Callable[[Sized, Placement], str]] = {
    "room": _room_needed,
    "feeds": _amperes_needed,
    "limits": _say("it could be met if strips, rows and modules carried more at their ambient temperature"),
    "bonds": _say("it could be met without the wishes that keep circuits apart or together"),
    "pins": _say("it could be met without the pins"),
    "spares": _say("it could be met without the spare ways"),
    "modules": _say("it could be met with more modules of some type than the rules or the shelf allow"),
    "hot ways": _say("it could be met if ways that are hot together might lie side by side"),
    "relays": _say("it could be met if relays might be in other modules than their fuses"),
    "pieces": _say("it could be met if a feed might have several strip pieces in one row"),
}
