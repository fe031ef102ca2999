"""
Do all the sums: Requirements in, Sized out, or one InputError with every reason why it cannot be.

The rooms beside it each know one thing; this one asks them in turn and gathers what cannot be done.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from allocator.errors import Fault, InputError, SizingError
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.vehicle import Feed
from allocator.sizing.branches import Branch
from allocator.sizing.cautions import cautions
from allocator.sizing.faults import circuit_fault, feed_fault
from allocator.sizing.feed_tree import FeedTree, check_feed
from allocator.sizing.feeds import fuse_before_cable, size_feed
from allocator.sizing.kept import KeptSizings
from allocator.sizing.limits import entries, module_limits, row_limits, socket_limits
from allocator.sizing.loads import Loads
from allocator.sizing.main_fuses import MainFuses
from allocator.sizing.offer import Offer
from allocator.sizing.options import Sizing, size_circuit
from allocator.sizing.sized import Entry, Need, Sized, SizedFeed
from allocator.sizing.spares import spare_needs


def size(requirements: Requirements, *, kept: KeptSizings | None = None) -> Sized:
    """
    Say what every circuit, feed and spare way may use.

    Parameters
    ----------
    requirements
        One vehicle, cross-checked.
    kept
        Sizings of the same vehicle with other circuits, feeds or wishes. With it the table has no cautions; a plan
        still gets those of its own choices.

    Returns
    -------
    Sized
        The sizing table with reasons, limits and cautions.

    Raises
    ------
    InputError
        With a fault for everything that no part on offer can do safely, and what would make it possible.
    """
    offer = Offer(requirements)
    tree = FeedTree(offer)
    faults = [*_catalogue_faults(offer), *_loop_faults(tree)]
    loads = Loads(offer)
    if faults or loads.faults:  # the sums below would have no end
        raise InputError([*faults, *loads.faults])
    kept_or_none = KeptSizings() if kept is None else kept
    circuits = _size_circuits(offer, loads, tree, kept_or_none)
    branches, found = _size_feeds_and_entries(offer, tree, loads, kept_or_none)
    spares = list(spare_needs(tree))
    faults = [*circuits.faults, *branches.faults, *(item for item in spares if isinstance(item, Fault))]
    needs = (*circuits.needs, *branches.needs, *(item for item in spares if isinstance(item, Need)))
    faults += _name_faults(needs)
    if not faults:
        faults = list(_entry_faults(needs, {key[-1] for key in found}, tree))
    if faults:
        raise InputError(faults)
    at_sockets = socket_limits(offer, branches.feeds, branches.needs)
    sized = Sized(requirements, needs, branches.feeds, found, row_limits(offer), module_limits(offer), at_sockets)
    told = cautions(sized, circuits.sizings) if kept is None else ()
    return replace(sized, cautions=told, sizings=tuple(circuits.sizings))


@dataclass(slots=True)
class _Circuits:
    needs: list[Need] = field(default_factory=list)
    sizings: list[Sizing] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


@dataclass(slots=True)
class _Branches:
    feeds: dict[str, SizedFeed] = field(default_factory=dict)
    needs: list[Need] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def _size_circuits(offer: Offer, loads: Loads, tree: FeedTree, kept: KeptSizings) -> _Circuits:
    found = _Circuits()
    by_id = {circuit.id: circuit for circuit in offer.requirements.circuits}
    for circuit in sorted(offer.requirements.circuits, key=_listing_order):
        feeds = [name for name in circuit.feeds if not circuit.key_out or tree.works_key_out(tree.feeds[name])]
        if not feeds:
            known = f"it accepts {', '.join(circuit.feeds)}"
            hint = "let it accept a permanent feed that no relay switches"
            message = "must work with the key out, and accepts no such feed"
            found.faults.append(circuit_fault(offer.requirements, circuit, "key-out", message, known, hint))
            continue
        reached = {panel for name in feeds for panel in tree.panels(tree.feeds[name])}
        panels = [
            panel
            for name, panel in offer.panel_by_name.items()
            if name in reached and (not circuit.panels or name in circuit.panels)
        ]
        sizings = kept.circuit(by_id, loads, circuit, panels, partial(size_circuit, offer, loads, circuit, panels))
        if isinstance(sizings, Fault):
            found.faults.append(sizings)
            continue
        found.sizings += sizings
        found.needs.append(
            Need(
                id=circuit.id,
                kind="circuit",
                label=circuit.label or circuit.id,
                feeds=tuple(feeds),
                load_ma_by_case=loads.of(circuit.id).by_case,
                options=tuple(sizing.option for sizing in sizings),
                pin=circuit.pin,
            )
        )
    return found


def _listing_order(circuit: Circuit) -> tuple[bool, int, str]:
    return circuit.order is None, circuit.order or 0, circuit.id


def _size_feeds_and_entries(
    offer: Offer, tree: FeedTree, loads: Loads, kept: KeptSizings
) -> tuple[_Branches, Mapping[tuple[str, str, int, str], Entry]]:
    def work() -> tuple[_Branches, Mapping[tuple[str, str, int, str], Entry]]:
        branches = _size_feeds(tree, loads)
        return branches, {} if branches.faults else entries(offer, branches.feeds)

    by_id = {circuit.id: circuit for circuit in offer.requirements.circuits}
    return kept.feeds(by_id, loads, tuple(tree.feeds.values()), work)


def _size_feeds(tree: FeedTree, loads: Loads) -> _Branches:
    found = _Branches()
    sized: dict[str, SizedFeed] = {}
    need_by_feed: dict[str, Need] = {}
    # A branch needs the tail of its source, so sources come first; results are listed in the scenario's order.
    for feed in sorted(tree.feeds.values(), key=lambda feed: len(tree.chain(feed))):
        try:
            check_feed(feed)
            if feed.source is None:
                main = MainFuses(tree, feed)
                sized[feed.name] = size_feed(tree, feed, main.takes_cable, main)
                continue
            branch = Branch(tree, loads, feed)
            before = fuse_before_cable(tree, feed, sized)
            sized[feed.name] = size_feed(tree, feed, branch.takes_cable, before=before)
            if feed.source in sized:
                need_by_feed[feed.name] = branch.need(sized[feed.name], sized[feed.source])
        except SizingError as refusal:
            found.faults.append(feed_fault(tree.offer.requirements, feed, refusal))
    found.feeds = {name: sized[name] for name in tree.feeds if name in sized}
    found.needs = [need_by_feed[name] for name in tree.feeds if name in need_by_feed]
    return found


def _catalogue_faults(offer: Offer) -> Iterator[Fault]:
    for letter in offer.formats:
        widths = sorted(
            {row.tab for module in offer.catalogue.modules for row in module.rows if row.fuse_format == letter}
        )
        if len(widths) > 1:
            yield Fault(
                "tabs-differ",
                f"rows of format {letter} have output tabs of {' and '.join(f'{width:g}' for width in widths)} mm",
                where='catalogue, modules, rows, field "tab"',
                known="the terminals of a circuit are chosen before its module is",
                hint="offer one tab width for each fuse format",
            )
    if offer.formats and not any(offer.has_fuses(letter) for letter in offer.formats):
        yield _no_fuse_at_all(offer)
    if not offer.formats:
        yield Fault(
            "no-ways", "no module on offer has a fuse way", where="catalogue, modules", hint="add a module with rows"
        )


def _no_fuse_at_all(offer: Offer) -> Fault:
    """Return the one fault that stands for those of every circuit: no fuse on offer suits the net."""
    fault_a, fuses = offer.scenario.supply.fault_current, offer.catalogue.fuses
    breaking = any(fuse.breaking_capacity >= fault_a for fuse in fuses if fuse.fuse_format in offer.formats)
    table, field = ("vehicle", "nominal_voltage") if breaking else ("supply", "fault_current")
    kinds = dict.fromkeys(
        f"type {fuse.fuse_format} for {fuse.voltage:g} V and {fuse.breaking_capacity:g} A"
        for fuse in fuses
        if fuse.fuse_format in offer.formats
    )
    return Fault(
        "no-fuse-for-net",
        f"no fuse on offer that a module takes is rated for {offer.maximum_v:g} V and breaks {fault_a:g} A",
        offer.requirements.where(table, "", field),
        "; ".join(kinds) or "no fuse of a format that a module takes is on offer",
        "offer fuses for such a net"
        + ("" if breaking else ", or state what a short circuit draws at the panel, behind its cable"),
    )


def _loop_faults(tree: FeedTree) -> Iterator[Fault]:
    for feed in tree.feeds.values():
        try:
            tree.chain(feed)
        except SizingError as refusal:
            yield feed_fault(tree.offer.requirements, feed, refusal)


def _name_faults(needs: tuple[Need, ...]) -> Iterator[Fault]:
    for name, count in Counter(need.id for need in needs).items():
        if count > 1:
            kinds = " and a ".join(sorted({need.kind for need in needs if need.id == name}))
            yield Fault(
                "name-taken",
                f'"{name}" names a {kinds}',
                known="needs are told apart by name",
                hint="rename one of them",
            )


def _entry_faults(needs: tuple[Need, ...], entering: set[str], tree: FeedTree) -> Iterator[Fault]:
    """Yield a fault for each feed that some need cannot do without and that no module lets in."""
    for feed in tree.feeds.values():
        stranded = [need.id for need in needs if need.takes_way and need.feeds == (feed.name,)]
        if feed.name not in entering and stranded:
            yield _no_entry(tree.offer.requirements, feed, stranded)


def _no_entry(requirements: Requirements, feed: Feed, stranded: list[str]) -> Fault:
    return feed_fault(
        requirements,
        feed,
        SizingError(
            "cannot enter any module on offer: no inlet, tab or stud takes a tail that is protected for it",
            rule="no-entry",
            known=f"{', '.join(stranded)} would be fed by it",
            hint="offer an in-line holder and fuse that protect an inlet, or a module with a larger inlet or a stud",
        ),
    )
