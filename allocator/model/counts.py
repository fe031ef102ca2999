"""
The count model: how many modules, and how many ways of each row on each feed, with the feed of every need.

It is a relaxation of the whole decision: it knows which option and feed every need takes, but not in which row it lies.
So its best values are bounds for every plan. ``placing.py`` adds the places. Rules carry the ids of ``rulebook.py``; a
rule that the counts can only see in part says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import floor

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Class, Frame, Instance, RowSlot
from allocator.sizing.sized import Entry

Group = tuple[Instance, int]
"""One supply group of an instance."""


@dataclass
class Counts:
    """The variables of the count model, by what they stand for."""

    model: cp_model.CpModel
    frame: Frame
    used: dict[Instance, IntVar] = field(default_factory=dict)
    type_used: dict[str, IntVar] = field(default_factory=dict)
    carriers: dict[tuple[str, str], IntVar] = field(default_factory=dict)
    panel_used: dict[str, IntVar] = field(default_factory=dict)
    wide_in_carrier: dict[tuple[str, int, int], IntVar] = field(default_factory=dict)
    """Modules of a width (over one bay) in the n-th carrier of a panel, by (panel, n, width)."""
    carrier_slot: dict[tuple[str, int, str], IntVar] = field(default_factory=dict)
    """Whether the n-th carrier of a panel is of a type, by (panel, n, carrier)."""
    chosen: dict[tuple[int, int], IntVar] = field(default_factory=dict)
    """Needs of a class that take a choice, by (class index, choice index)."""
    ways: dict[tuple[RowSlot, str], IntVar] = field(default_factory=dict)
    """Ways of a row on a feed."""
    entries: dict[tuple[Instance, int, str], IntVar] = field(default_factory=dict)
    """Feed entries of a supply group on a feed."""
    enters: dict[tuple[Instance, int, str], IntVar] = field(default_factory=dict)
    """Whether a feed enters a supply group at all."""
    draw: dict[tuple[str, int], IntVar] = field(default_factory=dict)
    """Load of a feed in a load case, mA."""
    entries_at: dict[tuple[str, str], IntVar] = field(default_factory=dict)
    """Entries of a feed at a panel, those at relay sockets included, by (feed, panel)."""
    long_jumpers: IntVar | None = None
    """Relays that cannot be beside their fuse, whatever the places: fewer than these is impossible."""

    def entry(self, instance: Instance, group: int, feed: str) -> Entry | None:
        """Return how a feed enters a supply group, or None if it cannot."""
        return self.frame.sized.entries.get((instance.panel, instance.module, group, feed))

    def groups(self) -> Iterator[Group]:
        """Every supply group of every instance."""
        for instance in self.used:
            for group in range(len(self.frame.groups_of(instance.module))):
                yield instance, group

    def rows_of(self, instance: Instance, group: int) -> list[RowSlot]:
        """Return the rows of a supply group."""
        return [RowSlot(instance, row, group) for row in self.frame.groups_of(instance.module)[group]]

    def num_chosen(self, class_: int, *, feed: str | None = None, panel: str | None = None) -> LinearExprT:
        """Return how many needs of a class are on a feed and/or at a panel."""
        return LinearExpr.sum(
            [
                self.chosen[class_, index]
                for index, choice in enumerate(self.frame.classes[class_].choices)
                if feed in (None, choice.feed) and panel in (None, choice.option.panel)
            ]
        )

    def class_of(self, need: str) -> int:
        """Return the index of the class of a need."""
        return next(index for index, members in enumerate(self.frame.classes) if need in members.needs)


def build_counts(frame: Frame) -> Counts:
    """Build the count model of a frame."""
    x = Counts(cp_model.CpModel(), frame)
    _modules_and_carriers(x)
    _choices(x)
    _rows_and_entries(x)
    _draws(x)
    every_need_placed(x)
    one_feed_per_stud(x)
    sockets_suffice(x)
    _long_jumpers_in_sum(x)
    piece_current_in_sum(x)
    module_current_in_sum(x)
    module_count(x)
    pinned_bays_hold_one_module(x)
    apart_and_together_by_feed_and_panel(x)
    return x


def _modules_and_carriers(x: Counts) -> None:
    """Rules bays-within-panel, module-in-carrier, carrier-allowed; equal copies are used in order."""
    model, frame = x.model, x.frame
    for instance in frame.instances:
        x.used[instance] = model.new_bool_var(f"used {instance}")
        previous = Instance(instance.panel, instance.module, instance.copy - 1)
        if instance.copy > 0:
            model.add_implication(x.used[instance], x.used[previous])
    for module in sorted({instance.module for instance in frame.instances}):
        x.type_used[module] = model.new_bool_var(f"type {module}")
    for instance, used in x.used.items():
        model.add_implication(used, x.type_used[instance.module])
    catalogue = {carrier.id: carrier for carrier in frame.sized.requirements.catalogue.carriers}
    for site in frame.panels:
        allowed = [carrier for carrier in catalogue if not site.carriers or carrier in site.carriers]
        for carrier in allowed:
            most = site.max_bays // catalogue[carrier].bays
            x.carriers[site.name, carrier] = model.new_int_var(0, most, f"carriers {site.name} {carrier}")
        bays = LinearExpr.sum([x.carriers[site.name, c] * catalogue[c].bays for c in allowed])
        model.add(bays <= site.max_bays)
        model.add(sum(frame.module(i).bays * u for i, u in x.used.items() if i.panel == site.name) <= bays)
        x.panel_used[site.name] = model.new_bool_var(f"panel {site.name}")
        for carrier in allowed:
            model.add(x.carriers[site.name, carrier] == 0).only_enforce_if(~x.panel_used[site.name])
        _wide_modules_fit(x, site.name, allowed)


def _wide_modules_fit(x: Counts, panel: str, allowed: list[str]) -> None:
    """Rule module-in-carrier, where a module of two or more bays could be cut by the end of a carrier."""
    model, frame = x.model, x.frame
    wide = {i: frame.module(i).bays for i in x.used if i.panel == panel and frame.module(i).bays > 1}
    if not wide:
        return
    bays_of = {c.id: c.bays for c in frame.sized.requirements.catalogue.carriers}
    site = next(site for site in frame.panels if site.name == panel)
    slots = range(site.max_bays // min((bays_of[c] for c in allowed), default=site.max_bays + 1))
    for slot in slots:
        for carrier in allowed:
            x.carrier_slot[panel, slot, carrier] = model.new_bool_var(f"carrier {panel} {slot} {carrier}")
        model.add_at_most_one(x.carrier_slot[panel, slot, c] for c in allowed)
    for carrier in allowed:
        model.add(sum(x.carrier_slot[panel, s, carrier] for s in slots) == x.carriers[panel, carrier])
    room = [sum(bays_of[c] * x.carrier_slot[panel, s, c] for c in allowed) for s in slots]
    if not any(i.pinned_bay is not None for i in x.used if i.panel == panel):
        for slot in list(slots)[1:]:
            model.add(room[slot - 1] >= room[slot])
    for width in sorted(set(wide.values())):
        for slot in slots:
            x.wide_in_carrier[panel, slot, width] = model.new_int_var(
                0, site.max_bays // width, f"wide {panel} {slot} {width}"
            )
        total = sum(x.wide_in_carrier[panel, slot, width] for slot in slots)
        model.add(total == sum(x.used[i] for i, w in wide.items() if w == width))
    for slot in slots:
        model.add(sum(w * x.wide_in_carrier[panel, slot, w] for w in sorted(set(wide.values()))) <= room[slot])


def _choices(x: Counts) -> None:
    """Rules feed-accepted, panel-accepted, feed-reaches-panel hold by what is offered; every need takes one choice."""
    for index, members in enumerate(x.frame.classes):
        number = len(members.needs)
        for choice in range(len(members.choices)):
            x.chosen[index, choice] = x.model.new_int_var(0, number, f"choice {members.needs[0]} {choice}")
        x.model.add(sum(x.chosen[index, choice] for choice in range(len(members.choices))) == number)


def _most_load_ma(x: Counts, slot: RowSlot, feed: str) -> int:
    """Return the largest load that a row full of needs on one feed could have in any case, mA."""
    frame = x.frame
    worst = 0
    for case in frame.cases:
        loads: list[int] = []
        for members in frame.classes:
            if any(
                c.feed == feed and c.option.panel == slot.instance.panel and c.option.fuse_format == frame.format(slot)
                for c in members.choices
            ):
                branch = floor(frame.sized.feeds[members.supplies].allowed_ma) if members.supplies else 0
                loads += [members.load_ma_by_case[case] + branch] * len(members.needs)
        worst = max(worst, sum(sorted(loads, reverse=True)[: frame.ways(slot)]))
    return worst


def _rows_and_entries(x: Counts) -> None:
    """
    Rules tail-fits and one-piece-per-feed-and-row; a row has at most its ways, an entry at least one way.

    A feed needs a second piece in a row only where its load is too much for one, or where pinned ways lie between.
    """
    model, frame = x.model, x.frame
    one_piece = frame.sized.requirements.scenario.rules.one_piece_per_feed_and_row
    most: dict[tuple[str, str, int, str, bool], int] = {}
    for instance, group in x.groups():
        rows = x.rows_of(instance, group)
        width = sum(frame.ways(row) for row in rows)
        bus, pinned = frame.bus(rows[0]), frame.has_pinned_ways(rows[0])
        for feed in frame.sized.feeds:
            entry = x.entry(instance, group, feed)
            if entry is None:
                continue
            key = (instance.panel, instance.module, group, feed, pinned)
            if key not in most:
                may_split = bus == "strip" and not one_piece
                splits = may_split and (pinned or _most_load_ma(x, rows[0], feed) > entry.limit_ma)
                most[key] = width if bus == "single" or splits else 1
            enters = model.new_bool_var(f"enters {instance} {group} {feed}")
            entries = (
                enters if most[key] == 1 else model.new_int_var(0, most[key], f"entries {instance} {group} {feed}")
            )
            x.enters[instance, group, feed], x.entries[instance, group, feed] = enters, entries
            for row in rows:
                x.ways[row, feed] = model.new_int_var(0, frame.ways(row), f"ways {row} {feed}")
                model.add(x.ways[row, feed] <= frame.ways(row) * enters)
            total = sum(x.ways[row, feed] for row in rows)
            model.add(entries <= total)
            if bus == "single":
                model.add(entries == total)
            if most[key] > 1:
                model.add(entries >= enters)
                model.add(entries <= most[key] * enters)
            model.add_implication(enters, x.used[instance])
    for slot in frame.rows:
        on_feeds = [x.ways[slot, feed] for feed in frame.sized.feeds if (slot, feed) in x.ways]
        model.add(LinearExpr.sum(on_feeds) <= frame.ways(slot) * x.used[slot.instance])


def _draws(x: Counts) -> None:
    """Rule feed-current: a feed's load with all that branches from it stays within its allowed share."""
    model, frame = x.model, x.frame
    for name, feed in frame.sized.feeds.items():
        for case in frame.cases:
            x.draw[name, case] = model.new_int_var(0, floor(feed.allowed_ma), f"draw {name} {case}")
    for name in frame.sized.feeds:
        for case in frame.cases:
            parts: list[LinearExprT] = []
            for index, members in enumerate(frame.classes):
                if members.load_ma_by_case[case]:
                    parts.append(members.load_ma_by_case[case] * x.num_chosen(index, feed=name))
                if members.supplies and any(choice.feed == name for choice in members.choices):
                    parts.append(x.draw[members.supplies, case])
            model.add(x.draw[name, case] == LinearExpr.sum(parts))
    for name in frame.sized.feeds:
        for site in frame.panels:
            in_groups = [
                q for (instance, _, feed), q in x.entries.items() if feed == name and instance.panel == site.name
            ]
            direct = sum(
                1
                for c in frame.classes
                if not c.takes_way and c.choices[0].feed == name and c.choices[0].option.panel == site.name
            )
            if in_groups or direct:
                x.entries_at[name, site.name] = model.new_int_var(
                    0, len(frame.sized.needs), f"entries {name} {site.name}"
                )
                model.add(x.entries_at[name, site.name] == LinearExpr.sum(in_groups) + direct)


def every_need_placed(x: Counts) -> None:
    """Rule every-need-placed, as a count: the needs of a panel, format and feed fill as many ways of such rows."""
    wanted: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(x.frame.classes):
        if members.takes_way:
            for number, choice in enumerate(members.choices):
                wanted[choice.option.panel, choice.option.fuse_format, choice.feed].append(x.chosen[index, number])
    offered: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
    for (slot, feed), ways in x.ways.items():
        offered[slot.instance.panel, x.frame.format(slot), feed].append(ways)
    for key in sorted({*wanted, *offered}, key=str):
        x.model.add(LinearExpr.sum(wanted[key]) == LinearExpr.sum(offered[key]))


def one_feed_per_stud(x: Counts) -> None:
    """Rule one-feed-per-piece for a solid bus: one feed enters it."""
    for instance, group in x.groups():
        if x.frame.bus(x.rows_of(instance, group)[0]) == "stud":
            x.model.add_at_most_one(
                x.enters[instance, group, feed] for feed in x.frame.sized.feeds if (instance, group, feed) in x.enters
            )


def sockets_suffice(x: Counts) -> None:
    """Rule class-matches, as a count: a panel has as many sockets of a class as relays of it."""
    for site in x.frame.panels:
        for relay_class in ("micro", "standard", "heavy"):
            relays = [
                x.chosen[index, number]
                for index, members in enumerate(x.frame.classes)
                for number, choice in enumerate(members.choices)
                if choice.option.relay_class == relay_class and choice.option.panel == site.name
            ]
            if relays:
                sockets = [
                    used * sum(s.count for s in x.frame.module(instance).sockets if s.relay_class == relay_class)
                    for instance, used in x.used.items()
                    if instance.panel == site.name
                ]
                x.model.add(LinearExpr.sum(relays) <= LinearExpr.sum(sockets))


def _long_jumpers_in_sum(x: Counts) -> None:
    """A relay is beside its fuse only in a module with both a socket of its class and a way."""
    frame, model = x.frame, x.model
    relays: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(frame.classes):
        for number, choice in enumerate(members.choices):
            if choice.option.relay_class is not None and members.takes_way:
                relays[choice.option.panel, choice.option.relay_class].append(x.chosen[index, number])
    beside: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    for instance, used in x.used.items():
        module = frame.module(instance)
        ways = [n for (slot, _), n in x.ways.items() if slot.instance == instance] if module.sockets else []
        inside: list[IntVar] = []
        for group in module.sockets:
            if ways and (instance.panel, group.relay_class) in relays:
                most = min(group.count, sum(row.ways for row in module.rows))
                both = model.new_int_var(0, most, f"beside {instance} {group.relay_class}")
                model.add(both <= most * used)
                inside.append(both)
                beside[instance.panel, group.relay_class].append(both)
        if inside:
            model.add(LinearExpr.sum(inside) <= LinearExpr.sum(ways))
    x.long_jumpers = model.new_int_var(0, len(frame.sized.needs), "long jumpers")
    apart = []
    for key, chosen in relays.items():
        left = model.new_int_var(0, len(frame.sized.needs), f"long jumpers {key}")
        model.add(left >= LinearExpr.sum(chosen) - LinearExpr.sum(beside[key]))
        apart.append(left)
    model.add(x.long_jumpers == LinearExpr.sum(apart))


def _load_at(x: Counts, case: int, panel: str, fuse_format: str | None = None, feed: str | None = None) -> LinearExprT:
    """Return the load of all ways of a panel, format and feed in a case, mA."""
    parts: list[LinearExprT] = []
    for index, members in enumerate(x.frame.classes):
        if not members.takes_way:
            continue
        for number, choice in enumerate(members.choices):
            if (
                choice.option.panel != panel
                or fuse_format not in (None, choice.option.fuse_format)
                or feed not in (None, choice.feed)
            ):
                continue
            parts.append(members.load_ma_by_case[case] * x.chosen[index, number])
            if members.supplies:
                # A branch's own way has one panel, format and source, so its load is there whatever else is chosen.
                parts.append(x.draw[members.supplies, case])
    return LinearExpr.sum(parts)


def piece_current_in_sum(x: Counts) -> None:
    """Rules piece-current and row-current in sum over all rows of a panel, format and feed."""
    frame = x.frame
    for site in frame.panels:
        for fuse_format in sorted({frame.format(slot) for slot in frame.rows}):
            groups = [
                (instance, group)
                for instance, group in x.groups()
                if instance.panel == site.name
                and any(frame.format(r) == fuse_format for r in x.rows_of(instance, group))
            ]
            for feed in frame.sized.feeds:
                limits = [
                    entry.limit_ma * x.entries[instance, group, feed]
                    for instance, group in groups
                    if (entry := x.entry(instance, group, feed)) is not None
                ]
                if limits:
                    for case in frame.cases:
                        x.model.add(_load_at(x, case, site.name, fuse_format, feed) <= LinearExpr.sum(limits))


def module_current_in_sum(x: Counts) -> None:
    """Rule module-current in sum over all modules of a panel, where every type has a limit."""
    frame = x.frame
    for site in frame.panels:
        here = [i for i in x.used if i.panel == site.name and frame.module(i).rows]
        limits = [frame.sized.module_limit_ma.get((site.name, i.module)) for i in here]
        if here and all(limit is not None for limit in limits):
            total = LinearExpr.sum([(limit or 0) * x.used[i] for limit, i in zip(limits, here, strict=True)])
            for case in frame.cases:
                x.model.add(_load_at(x, case, site.name) <= total)


def module_count(x: Counts) -> None:
    """Rules module-count and module-stock."""
    for module, most in x.frame.module_cap.items():
        x.model.add(LinearExpr.sum([used for instance, used in x.used.items() if instance.module == module]) <= most)


def pinned_bays_hold_one_module(x: Counts) -> None:
    """Rule pin: where a pin names a bay, one module starts there."""
    bays: dict[tuple[str, int], list[IntVar]] = {
        (place.panel, place.bay): [] for place in x.frame.pins.values() if place.bay is not None
    }
    for instance, used in x.used.items():
        if instance.pinned_bay is not None:
            bays[instance.panel, instance.pinned_bay].append(used)
    for candidates in bays.values():
        x.model.add_exactly_one(candidates)


def apart_and_together_by_feed_and_panel(x: Counts) -> None:
    """Rules apart-feed, apart-panel, together-feed, together-panel; rows and modules are seen as far as panels go."""
    frame, rules = x.frame, x.frame.sized.requirements.scenario.rules
    feeds, panels = list(frame.sized.feeds), [site.name for site in frame.panels]
    for bond in rules.apart:
        classes = [x.class_of(circuit) for circuit in bond.circuits]
        if bond.level == "feed":
            for feed in feeds:
                x.model.add(LinearExpr.sum([x.num_chosen(c, feed=feed) for c in classes]) <= 1)
        elif bond.level == "panel":
            for panel in panels:
                x.model.add(LinearExpr.sum([x.num_chosen(c, panel=panel) for c in classes]) <= 1)
    for bond in rules.together:
        first, *others = [x.class_of(circuit) for circuit in bond.circuits]
        for other in others:
            if bond.level == "feed":
                for feed in feeds:
                    x.model.add(x.num_chosen(first, feed=feed) == x.num_chosen(other, feed=feed))
            else:
                for panel in panels:
                    x.model.add(x.num_chosen(first, panel=panel) == x.num_chosen(other, panel=panel))


__all__ = ["Class", "Counts", "build_counts"]
