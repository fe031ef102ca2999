"""
Named warnings about a sizing table: what a builder should know before building.

The table and the figures behind each of its rows come in; cautions go out, rule by rule in the order of ``CAUTIONS``. A
caution that holds for many circuits alike is one line that names them all.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from allocator.sizing import cautions_of_circuits as circuits
from allocator.sizing import cautions_of_feeds as feeds
from allocator.sizing import cautions_of_figures as figures
from allocator.sizing import cautions_of_relays as relays
from allocator.sizing import cautions_of_supply as supply
from allocator.sizing.options import Sizing
from allocator.sizing.sized import Caution, Option, Sized

Rule = Callable[[Sized, Sequence[Sizing]], Iterator[Caution]]

CAUTIONS: Mapping[str, Rule] = {
    "critical-share-feed": feeds.critical_share_feed,
    "fuse-opens-at-start": circuits.fuse_opens_at_start,
    "inrush-may-open-fuse": circuits.inrush_may_open_fuse,
    "fuse-slow-at-stall": circuits.fuse_slow_at_stall,
    "drop-decides-wire": circuits.drop_decides_wire,
    "drop-with-feed": circuits.drop_with_feed,
    "relay-near-limit": relays.relay_near_limit,
    "relay-below-fuse": relays.relay_below_fuse,
    "coil-unsuppressed": relays.coil_unsuppressed,
    "coil-lead-unmeasured": relays.coil_lead_unmeasured,
    "control-shared": relays.control_shared,
    "relay-may-drop-out": relays.relay_may_drop_out,
    "fuse-slow-at-far-end": circuits.fuse_slow_at_far_end,
    "withstand-unproven": circuits.withstand_unproven,
    "wire-below-usual": circuits.wire_below_usual,
    "wires-mixed": circuits.wires_mixed,
    "wanted-fuse-large": circuits.wanted_fuse_large,
    "rating-unusual": circuits.rating_unusual,
    "charger-margin": supply.charger_margin,
    "battery-endurance": supply.battery_endurance,
    "quiescent-drain": supply.quiescent_drain,
    "cable-withstand-unproven": feeds.cable_withstand_unproven,
    "branch-not-selective": feeds.branch_not_selective,
    "main-fuse-far": feeds.main_fuse_far,
    "main-fuse-unplaced": feeds.main_fuse_unplaced,
    "inlet-below-protection": feeds.inlet_below_protection,
    "feed-fuse-hot": feeds.feed_fuse_hot,
    "feed-relay-inrush": feeds.feed_relay_inrush,
    "module-too-hot": supply.module_too_hot,
    "no-spare-way": supply.no_spare_way,
    "rule-loosened": figures.rule_loosened,
    "figure-of-ones-own": figures.figure_of_ones_own,
    "figure-from-memory": figures.figure_from_memory,
}
"""Every caution by its name: the function that finds it."""


def cautions(sized: Sized, sizings: Sequence[Sizing]) -> tuple[Caution, ...]:
    """
    Find everything worth a warning.

    Parameters
    ----------
    sized
        The sizing table.
    sizings
        Its circuit options, with the figures behind them.

    Returns
    -------
    tuple of Caution
        In the order of ``CAUTIONS``.
    """
    return tuple(caution for rule in CAUTIONS.values() for caution in rule(sized, sizings))


def cautions_of_choice(
    sized: Sized, chosen: Mapping[str, tuple[Option, str]], modules: Collection[tuple[str, str]]
) -> tuple[Caution, ...]:
    """
    Find everything worth a warning about what a plan has chosen, and nothing about what it has left.

    Parameters
    ----------
    sized
        The sizing table.
    chosen
        Option and feed by need.
    modules
        Panel and module type of every module in use.

    Returns
    -------
    tuple of Caution
        In the order of ``CAUTIONS``; all of the table where it was made without the figures behind its options.
    """
    if not sized.sizings:
        return sized.cautions
    needs = tuple(
        replace(need, options=(chosen[need.id][0],), feeds=(chosen[need.id][1],)) if need.id in chosen else need
        for need in sized.needs
    )
    narrowed = replace(
        sized,
        needs=needs,
        module_limit_ma={key: limit for key, limit in sized.module_limit_ma.items() if key in modules},
    )
    taken = {(name, option.panel, option.fuse_format, option.relay_class) for name, (option, _) in chosen.items()}
    return cautions(narrowed, [sizing for sizing in sized.sizings if _key(sizing) in taken])


def _key(sizing: Sizing) -> tuple[str, str, str | None, str | None]:
    option = sizing.option
    return sizing.circuit.id, option.panel, option.fuse_format, option.relay_class
