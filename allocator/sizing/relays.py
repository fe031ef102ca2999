"""
Which relays may switch a load.

A switching function, a kind of load and a current come in; for each relay class that fits, the cheapest relay goes out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from allocator.errors import SizingError
from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import LoadType, Relay, RelayFunction
from allocator.sizing.offer import Offer
from allocator.units import from_model, limit_to_model

FUNCTION_BY_SWITCHING: Mapping[str, RelayFunction] = {"relay": "make", "changeover": "changeover", "flasher": "flasher"}


def contact_rating_a(relay: Relay, load_type: LoadType) -> float:
    """
    Return what the contacts of a relay may switch.

    Parameters
    ----------
    relay
        The relay, with its own ratings by kind of load.
    load_type
        Kind of load. LED drivers and electronics have input capacitors that rush in like a cold lamp: the lamp rating
        holds (common practice).

    Returns
    -------
    float
        Current, A; of a changeover relay the least of its make and break contacts, since the load may stand on either.
    """
    rating = make_rating_a(relay, load_type)
    return rating * relay.break_share / 100 if relay.function == "changeover" else rating


def make_rating_a(relay: Relay, load_type: LoadType) -> float:
    """Return what the make contact of a relay may switch of a kind of load, A."""
    return {
        "resistive": relay.resistive,
        "heater": relay.resistive,
        "filament-lamp": relay.lamp,
        "led": relay.lamp,
        "electronics": relay.lamp,
        "motor": relay.motor,
        "inductive": relay.inductive,
    }[load_type]


def strict_rating_a(load_a: float, load_type: LoadType, nominal_v: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the resistive rating that a contact needs by the strict rule.

    Parameters
    ----------
    load_a, load_type
        Steady current, A, and kind of load.
    nominal_v
        Nominal voltage, V: up to 12 V the smaller factors hold, above it those of 24 to 28 V.
    figures
        The figures in force.

    Returns
    -------
    float
        Rating, A.

    Notes
    -----
    Source: ``Figures.contact_factors``, read at the next higher voltage, past the last one there. The table is for
    switches; relay data sheets ask far less.
    """
    kind = {"heater": "resistive", "filament-lamp": "lamp", "led": "lamp", "electronics": "lamp"}.get(
        load_type, load_type
    )
    factors = figures.contact_factors.value[kind]
    return load_a * factors[min((volts for volts in factors if nominal_v <= volts), default=max(factors))]


def switches(offer: Offer, relay: Relay, load_type: LoadType, load_ma: int) -> bool:
    """Say whether a relay may switch a load, by its own ratings and, where the rules want it, by the strict rule."""
    if limit_to_model(contact_rating_a(relay, load_type)) < load_ma:
        return False
    needed_a = strict_rating_a(from_model(load_ma), load_type, offer.vehicle.nominal_voltage, offer.figures)
    return not offer.rules.strict_contacts or contact_rating_a(relay, "resistive") >= needed_a


def relays_by_class(
    offer: Offer, function: RelayFunction, load_type: LoadType, load_ma: int, wanted_class: str | None
) -> Mapping[str, Relay]:
    """
    Choose the cheapest relay of each class that switches a load.

    Parameters
    ----------
    offer
        What is on offer.
    function
        ``make``, ``changeover`` or ``flasher``.
    load_type, load_ma
        Kind of load and current through the contact, mA.
    wanted_class
        The only class accepted; None: every class that has sockets.

    Returns
    -------
    Mapping
        Relay by class, smallest class first; at least one.

    Raises
    ------
    SizingError
        If no class fits.
    """
    found: dict[str, Relay] = {}
    known: list[str] = []
    has_any = False
    for name in offer.socket_classes:
        if wanted_class not in (None, name):
            continue
        relays = _fitted(offer, name, function)
        has_any = has_any or bool(relays)
        fitting = [relay for relay in relays if switches(offer, relay, load_type, load_ma)]
        if fitting:
            found[name] = fitting[0]
        elif relays:
            known.append(_too_small(offer, relays, load_type, load_ma))
        else:
            known.append(f"no {name} {function} relay with a {offer.vehicle.nominal_voltage:g} V coil and listed tabs")
    if found:
        return found
    whose, coil = (
        f"{wanted_class} {function}" if wanted_class else function,
        f"{offer.vehicle.nominal_voltage:g} V coil",
    )
    rating = f"{from_model(load_ma):g} A of kind {load_type}"
    others = [
        name
        for name in offer.socket_classes
        if wanted_class not in (None, name)
        and any(switches(offer, relay, load_type, load_ma) for relay in _fitted(offer, name, function))
    ]
    raise SizingError(
        f"no {whose} relay on offer "
        + (f"switches {rating}" if has_any else f"has a {coil}, a socket and listed tabs"),
        rule="no-relay-large-enough" if has_any else "no-relay-for-net",
        known="; ".join(known) or "no module on offer has a socket for it",
        hint=("drop strict_contacts, or " if offer.rules.strict_contacts and has_any else "")
        + f"offer a relay with a {coil} that switches {rating}, "
        + (f"accept class {' or '.join(others)}, which has one, " if others else "")
        + "or split the load",
    )


def _too_small(offer: Offer, relays: Sequence[Relay], load_type: LoadType, load_ma: int) -> str:
    """Say what the largest of some relays switches, and by which rule that is not enough."""
    best = max(relays, key=lambda relay: contact_rating_a(relay, load_type))
    rating_a = contact_rating_a(best, load_type)
    text = f"{best.relay_class} switches {rating_a:g} A"
    if best.function == "changeover" and best.break_share < 100:
        text += f" (its break contact 87a, {best.break_share:g} % of the {make_rating_a(best, load_type):g} A of 87)"
    if limit_to_model(rating_a) >= load_ma:
        needed_a = strict_rating_a(from_model(load_ma), load_type, offer.vehicle.nominal_voltage, offer.figures)
        text += f", and by strict_contacts it needs {needed_a:.4g} A of its {contact_rating_a(best, 'resistive'):g} A"
        text += " for resistive loads"
    return text


def _fitted(offer: Offer, relay_class: str, function: RelayFunction) -> Sequence[Relay]:
    """Return the relays of a class, cheapest first, where its sockets have listed tabs for that function."""
    return offer.relays(relay_class, function) if offer.tabs(relay_class, function) else ()
