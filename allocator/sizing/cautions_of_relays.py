"""
Cautions about relays: their contacts and their coils.

The sizing table and the figures behind its rows come in; cautions go out, one function each.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from allocator.sizing.options import Sizing
from allocator.sizing.relays import contact_rating_a
from allocator.sizing.sized import SWITCHED_SIDE, Caution, Sized
from allocator.sizing.suppression import coil_advice
from allocator.units import from_model


def relay_near_limit(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Contacts used to more than nine tenths of their rating."""
    near = sized.requirements.figures.relay_near_limit.value
    told: set[tuple[str, str]] = set()
    for sizing in sizings:
        relay = sizing.relay
        if relay is None or (sizing.circuit.id, relay.id) in told:
            continue
        rating_a, load_a = contact_rating_a(relay, sizing.circuit.load_type), from_model(sizing.load.run_ma)
        if load_a > near * rating_a:
            told.add((sizing.circuit.id, relay.id))
            yield Caution(
                "relay-near-limit",
                sizing.circuit.id,
                f"{relay.label} of {sizing.circuit.id} switches {load_a:.4g} A of its {rating_a:g} A for "
                f"{sizing.circuit.load_type}",
            )


def relay_below_fuse(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Contacts rated below the fuse next before them (common practice, no source): one line for all."""
    relay_by_id = {relay.id: relay for relay in sized.requirements.catalogue.relays}
    told: dict[str, str] = {}
    for need in sized.needs:
        name = f"feed {need.id}" if need.kind == "feed" else need.id
        for option in need.options:
            if option.relay is None or name in told:
                continue
            upstream_a = max(sized.feeds[feed].tail_protection_a for feed in need.feeds)
            fuse_a = upstream_a if option.fuse is None else option.fuse_rating_a
            rating_a = contact_rating_a(relay_by_id[option.relay], "resistive")
            if rating_a < fuse_a:
                told[name] = f"{name} ({rating_a:g} A behind {fuse_a:g} A)"
    if told:
        yield Caution(
            "relay-below-fuse",
            ", ".join(told),
            f"relay contacts may be rated below the fuse next before them: {', '.join(told.values())}; an overload in "
            "between burns or welds them before it opens the fuse, so take a larger relay or a smaller fuse where "
            "the load allows it",
        )


def coil_unsuppressed(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Relays whose coil has no suppression of its own."""
    figures = sized.requirements.figures
    names_by_relay: dict[str, list[str]] = defaultdict(list)
    for need in sized.needs:
        name = f"feed {need.id}" if need.kind == "feed" else need.id
        for part in dict.fromkeys(option.relay for option in need.options if option.relay is not None):
            names_by_relay[part].append(name)
    relays = [item for item in sized.requirements.catalogue.relays if item.id in names_by_relay]
    for relay in sorted(relays, key=lambda item: item.id):
        if not relay.suppressed and relay.function != "flasher":
            served = ", ".join(names_by_relay[relay.id])
            yield Caution(
                "coil-unsuppressed",
                relay.id,
                f"{relay.label} has no suppression across its coil (it may serve {served}), "
                f"which makes 1000 V and more when it is switched off; {coil_advice(relay, None, figures)}",
            )


def coil_lead_unmeasured(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Coils whose control says nothing of how far its switch is from the panel of the relay."""
    told: dict[tuple[str, str, str], None] = {}
    for need in sized.needs:
        for option in need.options:
            for cut in option.wires:
                if cut.end.startswith(SWITCHED_SIDE) and not cut.length_mm:
                    told[need.id, option.panel, cut.end.removeprefix(SWITCHED_SIDE)] = None
    for name, panel, control in told:
        yield Caution(
            "coil-lead-unmeasured",
            name,
            f"the relay of {name} at panel {panel} is switched by {control}, which states no length from there: the "
            f"wire from its coil to that switch is to be measured and is not in the lists; give {control} a length "
            f'"{panel}: 5 m" to have it there',
        )


def control_shared(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Controls that switch several coils: on one contact all of them close together."""
    names_by_control: dict[str, dict[str, None]] = defaultdict(dict)
    for need in sized.needs:
        name = f"feed {need.id}" if need.kind == "feed" else need.id
        for cut in (cut for option in need.options for cut in option.wires if cut.end.startswith(SWITCHED_SIDE)):
            names_by_control[cut.end.removeprefix(SWITCHED_SIDE)][name] = None
    for control, names in names_by_control.items():
        if len(names) > 1:
            yield Caution(
                "control-shared",
                control,
                f"the relays of {', '.join(names)} are all switched by {control}: on one contact all of them close "
                "together, so give each coil lead a contact or output of its own there, save those that are meant to",
            )


def relay_may_drop_out(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Relays that may not close at the lowest voltage."""
    vehicle = sized.requirements.scenario.vehicle
    share, least = vehicle.minimum_voltage / vehicle.nominal_voltage, sized.requirements.figures.relay_operates.value
    if share < least and any(option.relay for need in sized.needs for option in need.options):
        yield Caution(
            "relay-may-drop-out",
            "relays",
            f"at {vehicle.minimum_voltage:g} V, {share:.0%} of nominal, a relay may not close: data sheets promise it "
            f"from {least:.0%}",
        )
