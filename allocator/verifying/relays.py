"""Rules on relays: each in a socket of its class, beside its fuse, with contacts that carry the load."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import LoadType, Relay
from allocator.verifying.design_current import switched_ma
from allocator.verifying.exact import amperes, exact, milliamperes, number, share
from allocator.verifying.findings import Finding
from allocator.verifying.loads import Loads
from allocator.verifying.records import quoted
from allocator.verifying.view import View


def relay_present(view: View) -> Iterator[Finding]:
    """Report needs with no relay or several, sockets that hold what nobody asked for, and relays nobody sells."""
    held = Counter(socket.need for socket in view.sockets)
    for kind, name in view.needs_with_socket:
        if held[kind, name] != 1:
            places = ", ".join(socket.at for socket in view.sockets if socket.need == (kind, name))
            detail = f"has {held[kind, name]} relays ({places}); expected one" if places else "has no relay"
            yield Finding("relay-present", f'{kind} "{name}"', detail)
    for socket in view.sockets:
        if socket.need not in view.needs_with_socket:
            text = f'holds {socket.used.kind} "{socket.used.need}", which needs no relay'
            yield Finding("relay-present", socket.at, text)
        if socket.used.relay not in view.relays:
            yield Finding("relay-present", socket.at, f'relay "{socket.used.relay}" is not in the catalogue')


def socket_exists(view: View) -> Iterator[Finding]:
    """Report used sockets that no placed module has."""
    for socket in view.sockets:
        if socket.place is None:
            text = "this is no socket; expected panel/bay/S and a number, such as cabin/2/S1"
            yield Finding("socket-exists", socket.at, text)
        elif socket.module is None:
            yield Finding("socket-exists", socket.at, f"no module starts at {socket.place.panel}/{socket.place.bay}")
        elif socket.relay_class is None:
            yield Finding("socket-exists", socket.at, f'module "{socket.module.id}" has no such socket')


def one_relay_per_socket(view: View) -> Iterator[Finding]:
    """Report sockets that hold two relays."""
    for sockets in view.sockets_at.values():
        if len(sockets) > 1:
            names = quoted(socket.used.need for socket in sockets)
            yield Finding("one-relay-per-socket", sockets[0].at, f"holds the relays of {names}")


def class_matches(view: View) -> Iterator[Finding]:
    """Report relays of another class than their socket's, of other kinds than was asked for, or of another voltage."""
    for socket in view.sockets:
        relay, name = view.relays.get(socket.used.relay), socket.used.need
        asker = view.feeds.get(name) if socket.used.kind == "feed" else view.circuits.get(name)
        wanted = None if asker is None else asker.relay_class
        for text, found in (("relay", None if relay is None else relay.relay_class), ("wanted class", wanted)):
            if found is not None and socket.relay_class is not None and found != socket.relay_class:
                detail = f'the {text} of {socket.used.kind} "{name}" is {found}; the socket is {socket.relay_class}'
                yield Finding("class-matches", socket.at, detail)
        function = view.relay_function(socket.need)
        if relay is not None and function not in (None, relay.function):
            detail = (
                f'the relay of {socket.used.kind} "{name}" is of function {relay.function}; asked for is {function}'
            )
            yield Finding("class-matches", socket.at, detail)
        nominal_v = view.scenario.vehicle.nominal_voltage
        if relay is not None and relay.voltage != nominal_v:
            coil, net = (number(exact(volts)) for volts in (relay.voltage, nominal_v))
            detail = (
                f'relay "{relay.id}" of {socket.used.kind} "{name}" has a coil for {coil} V; the vehicle has {net} V'
            )
            yield Finding("class-matches", socket.at, detail)


def relay_in_panel(view: View) -> Iterator[Finding]:
    """Report relays in another panel than their fuse."""
    for socket in view.sockets:
        way = view.way_of.get(socket.need)
        if way is None or way.place is None or socket.place is None or way.place.panel == socket.place.panel:
            continue
        text = f'the fuse of {socket.used.kind} "{socket.used.need}" is at {way.at}'
        yield Finding("relay-in-panel", socket.at, text)


def contact_ma(relay: Relay, load_type: LoadType) -> Fraction:
    """
    Return what the contacts of a relay may switch, mA: of a changeover relay the lesser of its two contacts.

    Notes
    -----
    Drivers and electronics charge their input capacitors and rush in like a cold lamp (common practice).
    """
    rating_a = {
        "resistive": relay.resistive,
        "heater": relay.resistive,
        "filament-lamp": relay.lamp,
        "led": relay.lamp,
        "electronics": relay.lamp,
        "motor": relay.motor,
        "inductive": relay.inductive,
    }[load_type]
    both = min(Fraction(1), share(relay.break_share)) if relay.function == "changeover" else Fraction(1)
    return milliamperes(rating_a) * both


def strict_factor(load_type: LoadType, nominal_v: float, figures: Figures = PUBLISHED) -> Fraction:
    """Return by how much the resistive rating of a contact must exceed a load, by FAA AC 43.13-1B Table 11-4."""
    if load_type in ("resistive", "heater"):
        column = figures.contact_factors.value["resistive"]
    elif load_type in ("motor", "inductive"):
        column = figures.contact_factors.value[load_type]
    else:
        column = figures.contact_factors.value["lamp"]
    higher = [volts for volts in column if volts >= nominal_v]
    return exact(column[min(higher)] if higher else column[max(column)])


def relay_beside_fuse(view: View) -> Iterator[Finding]:
    """Report relays in another module than a fuse that is too large for that."""
    from_a = view.rules.relay_beside_fuse_from
    for need, way in view.way_of.items():
        socket, fuse = view.socket_of.get(need), view.fuses.get(way.used.fuse or "")
        if from_a is None or fuse is None or socket is None or fuse.rating < from_a:
            continue
        if way.module_key != socket.module_key:
            text = f'the relay of "{way.used.need}" is not in the module of its fuse, {way.at}'
            reason = (
                f"with {amperes(milliamperes(fuse.rating))}, and from {amperes(milliamperes(from_a))} on it must be"
            )
            yield Finding("relay-beside-fuse", socket.at, f"{text}, {reason}")


def relay_carries_load(view: View) -> Iterator[Finding]:
    """Report relays whose contacts do not carry the load they switch; the mixed loads of a feed count as resistive."""
    loads = Loads(view)
    for socket in view.sockets:
        relay = view.relays.get(socket.used.relay)
        if relay is None or socket.need not in view.needs_with_socket:
            continue
        kind, name = socket.need
        load_type = view.circuits[name].load_type if kind == "circuit" else "resistive"
        load = max(switched_ma(view, name)) if kind == "circuit" else Fraction(max(loads.of_feed(name)))
        if load > contact_ma(relay, load_type):
            may = f"may switch {amperes(contact_ma(relay, load_type))} of kind {load_type}"
            text = f'{kind} "{name}" draws {amperes(load)}; relay "{relay.id}" {may}'
            yield Finding("relay-carries-load", socket.at, text)
        elif view.rules.strict_contacts:
            needed = load * strict_factor(load_type, view.scenario.vehicle.nominal_voltage, view.figures)
            if needed > contact_ma(relay, "resistive"):
                text = (
                    f'{kind} "{name}" needs a contact of {amperes(needed)} by the strict rule; relay "{relay.id}" has '
                )
                yield Finding("relay-carries-load", socket.at, text + amperes(contact_ma(relay, "resistive")))
