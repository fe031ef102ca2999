"""
What every plan costs at least, goal by goal: sums over the sizing table, without a model and in no time.

Comes from ``Sized``; goes to ``search.py``, which reports these where time ran out before it had a better bound. They
hold whatever the values of the goals before. Of a goal of which more is better the cost is the negative of its amount.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from math import floor

from allocator.requirements.amounts import MORE_IS_BETTER
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import OWN_WAY, Cut, Need, Option, Sized, supply_groups
from allocator.units import MM_PER_M, whole_mm


def floor_of(sized: Sized, goal: Goal) -> Fraction:
    """Return a cost that no plan is below: a count, cents, mm2, mm, mm3, or a share of the allowed current."""
    return FLOORS[goal](sized) if sized.needs or goal in MORE_IS_BETTER else Fraction(0)


def _one(sized: Sized) -> Fraction:
    return Fraction(1)


def _none(sized: Sized) -> Fraction:
    return Fraction(0)


def _bays(sized: Sized) -> Fraction:
    return Fraction(min(carrier.bays for carrier in sized.requirements.catalogue.carriers))


def _footprint(sized: Sized) -> Fraction:
    carriers = sized.requirements.catalogue.carriers
    return min(Fraction(str(carrier.width)) * Fraction(str(carrier.height)) for carrier in carriers)


def _needs_by_only_feed(sized: Sized) -> Mapping[str, list[Need]]:
    """Return the needs that can be on one feed only, by that feed."""
    by_feed: dict[str, list[Need]] = defaultdict(list)
    for need in sized.needs:
        if len(need.feeds) == 1:
            by_feed[need.feeds[0]].append(need)
    return by_feed


def _entries(sized: Sized) -> Fraction:
    """Each feed enters the widest supply group as often as its ways ask for, and each relay socket that it feeds."""
    catalogue = sized.requirements.catalogue
    widths = [
        1 if module.rows[group[0]].bus == "single" else sum(module.rows[row].ways for row in group)
        for module in catalogue.modules
        for group in supply_groups(module)
    ]
    widest = max(widths, default=1)
    total = 0
    for needs in _needs_by_only_feed(sized).values():
        ways = sum(need.takes_way for need in needs)
        total += -(-ways // widest) + len(needs) - ways
    return Fraction(max(1, total))


def _peak(sized: Sized) -> Fraction:
    """All loads over all that feeds may carry; and of each feed the loads that can be nowhere else."""
    only = _needs_by_only_feed(sized)
    allowed = {name: feed.allowed_ma for name, feed in sized.feeds.items() if feed.allowed_ma}
    cases = range(len(sized.requirements.scenario.load_cases))
    shares = [Fraction(0)]
    for case in cases:
        if allowed:
            shares.append(Fraction(sum(need.load_ma_by_case[case] for need in sized.needs)) / sum(allowed.values()))
        shares += [sum(need.load_ma_by_case[case] for need in only.get(name, ())) / ma for name, ma in allowed.items()]
    return max(shares)


def _least_of_options(sized: Sized, worth: Callable[[Option], Fraction]) -> Fraction:
    return sum((min(worth(option) for option in need.options) for need in sized.needs), Fraction(0))


def _cuts(sized: Sized, option: Option) -> tuple[Cut, ...]:
    """Return the wires of an option, jumper and lead to its own way as the shorter of the two jumpers."""
    catalogue = sized.requirements.catalogue
    if option.jumper_wire is None:
        return option.wires
    length_mm = whole_mm(min(catalogue.short_jumper, catalogue.long_jumper))
    wires = (replace(cut, length_mm=length_mm) if cut.end == OWN_WAY else cut for cut in option.wires)
    return (*wires, Cut(option.jumper_wire, length_mm))


def _price(sized: Sized) -> Fraction:
    """The cheapest option of every need, in the cheapest carrier and module."""
    price, catalogue = sized.price_by_part, sized.requirements.catalogue

    def worth(option: Option) -> Fraction:
        parts = sum((price[part] * number for part, number in option.parts.items()), Fraction(0))
        return parts + sum((price[cut.wire] * cut.length_mm / MM_PER_M for cut in _cuts(sized, option)), Fraction(0))

    frame = min(price[part.id] for part in catalogue.carriers) + min(price[part.id] for part in catalogue.modules)
    return frame + _least_of_options(sized, worth)


def _wire_length(sized: Sized) -> Fraction:
    return _least_of_options(sized, lambda option: Fraction(sum(cut.length_mm for cut in _cuts(sized, option))))


def _copper(sized: Sized) -> Fraction:
    area_mm2 = sized.area_mm2_by_wire

    def worth(option: Option) -> Fraction:
        return sum((area_mm2[cut.wire] * cut.length_mm for cut in _cuts(sized, option)), Fraction(0))

    return _least_of_options(sized, worth)


def _spare_ways(sized: Sized) -> Fraction:
    """Every bay that there may be holds the modules with the most ways for each bay."""
    modules = sized.requirements.catalogue.modules
    densest = max(Fraction(sum(row.ways for row in module.rows), module.bays) for module in modules)
    most = sum(floor(site.max_bays * densest) for site in sized.requirements.scenario.panels)
    return Fraction(sum(need.takes_way and need.kind != "spare" for need in sized.needs) - most)


FLOORS: Mapping[Goal, Callable[[Sized], Fraction]] = {
    "bays": _bays,
    "module-types": _one,
    "strip-pieces": _entries,
    "peak-utilisation": _peak,
    "long-jumpers": _none,
    "price": _price,
    "carriers": _one,
    "footprint": _footprint,
    "panels": _one,
    "wire-length": _wire_length,
    "copper": _copper,
    "spare-ways": _spare_ways,
}
