"""
Why a circuit gets its fuse and its relay, and what happens at its start and in a short circuit: one sentence each.

What is on offer, a circuit and the parts chosen come in; reasons go out, with the test that decided and by how much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from allocator.requirements.catalogue import Fuse, LoadType, Relay, Wire
from allocator.requirements.scenario import Circuit
from allocator.sizing.fuses import ambient_share, melting_a2s, opening_time_s, published_allowance_a
from allocator.sizing.inrush import evidence, inrush_of, opens_at_start
from allocator.sizing.offer import Offer
from allocator.sizing.relays import contact_rating_a, make_rating_a, strict_rating_a
from allocator.sizing.runs import Run, far_end_fault_a
from allocator.sizing.sized import Reason
from allocator.units import from_model, limit_to_model


def fuse_reason(
    offer: Offer, fuses: Sequence[Fuse], fuse: Fuse, load_ma: int, ambient_c: float, wanted: bool
) -> Reason:
    """
    Say what a fuse carries in its place, and what the next smaller one would.

    Parameters
    ----------
    offer, fuses
        What is on offer; the fuses of the format that suit the net.
    fuse, load_ma
        The fuse, and what it has to carry, mA.
    ambient_c
        Ambient temperature, degC.
    wanted
        Whether the customer asked for this rating.
    """
    by_curve = ambient_share(fuse.fuse_format, ambient_c, offer.figures)
    share = min(offer.loading_share, by_curve)
    why = "loading factor" if share < by_curve else f"ambient curve of type {fuse.fuse_format}"
    carries = f"carries {fuse.rating * share:.4g} A ({share:.0%} by {why} at {ambient_c:g} °C)"
    text = f"{fuse.rating:g} A type {fuse.fuse_format} {carries} for {from_model(load_ma):.4g} A; "
    smaller = [item.rating for item in fuses if item.rating < fuse.rating]
    if wanted:
        text += "wanted"
    elif smaller and limit_to_model(max(smaller) * share) >= load_ma:
        text += f"the smallest on offer that nothing published shows to open at the start, as {max(smaller):g} A would"
    elif smaller:
        text += f"the smallest on offer that does: {max(smaller):g} A would carry {max(smaller) * share:.4g} A"
    else:
        text += "the smallest on offer"
    published = published_allowance_a(fuse.fuse_format, fuse.rating, ambient_c, offer.figures)
    return Reason("fuse", text if published is None else f"{text}; a data sheet allows {published:g} A")


def relay_reason(offer: Offer, relay: Relay, load_type: LoadType, load_ma: int) -> Reason:
    """Say what a relay's contacts switch of what they may, on both sides of a changeover, and by which rule."""
    load_a, rating_a = from_model(load_ma), contact_rating_a(relay, load_type)
    used = f"{load_a:.4g} A of {rating_a:g} A for {load_type} ({load_a / rating_a:.0%})"
    text = f"{relay.label}: its contact switches {used}"
    if relay.function == "changeover":
        make_a = make_rating_a(relay, load_type)
        sides = f"make 87 carries {make_a:g} A, break 87a {make_a * relay.break_share / 100:g} A"
        text = f"{relay.label}: either contact switches {used}; {sides}"
    if offer.rules.strict_contacts:
        needed_a = strict_rating_a(load_a, load_type, offer.vehicle.nominal_voltage, offer.figures)
        resistive_a = contact_rating_a(relay, "resistive")
        text += f"; by FAA AC 43.13-1B it needs {needed_a:.4g} A of its {resistive_a:g} A for resistive loads"
    return Reason("relay", f"{text}; the cheapest of its class that does")


def start_reason(offer: Offer, circuit: Circuit, fuse: Fuse, design_ma: int) -> Reason | None:
    """Say what a load draws at its start, what shows that its fuse stays whole, and when it opens on a held motor."""
    inrush = inrush_of(circuit, from_model(design_ma), offer.figures)
    if inrush is None:
        return None
    ratio = f"{inrush.peak_a / inrush.steady_a:.3g} x, " + ("as stated" if circuit.stall is not None else "by its kind")
    text = f"{inrush.peak_a:.3g} A ({ratio}) for about {inrush.time_s:g} s: "
    shown = evidence(fuse.fuse_format, fuse.rating, inrush, offer.figures)
    if shown == "gate":
        text += "the fuse stays whole, it opens later at that current"
    elif shown == "melting":
        melting = melting_a2s(fuse.fuse_format, fuse.rating, offer.figures)
        text += f"the fuse stays whole, {inrush.peak_a**2 * inrush.time_s:.0f} A²s of {melting:.0f} A²s that melt it"
    elif opens_at_start(fuse.fuse_format, fuse.rating, inrush, offer.figures):
        text += f"the fuse opens {_by_when(offer, fuse, inrush.peak_a)} if the start is so: take a larger one"
    else:
        text += "no published figure shows that the fuse stays whole"
    if inrush.stall_a is not None:
        text += f"; held fast at {inrush.stall_a:.3g} A it opens {_by_when(offer, fuse, inrush.stall_a)}"
    return Reason("start", text)


def fault_reason(offer: Offer, run: Run, wire: Wire, fuse: Fuse) -> Reason:
    """Say what a short circuit draws at the panel and at the far end of a run, and whether the fuse clears both."""
    panel_a = offer.scenario.supply.fault_current
    far_a = far_end_fault_a(offer.requirements, run, wire)
    return Reason(
        "fault",
        f"a short circuit draws {panel_a:g} A at the panel, of {fuse.breaking_capacity:g} A that the fuse breaks; at "
        f"the far end about {far_a:.3g} A, {far_a / fuse.rating:.3g} x its rating: it opens "
        f"{_by_when(offer, fuse, far_a)}",
    )


def _by_when(offer: Offer, fuse: Fuse, current_a: float) -> str:
    latest_s = opening_time_s(fuse.fuse_format, fuse.rating, current_a, offer.figures)[1]
    return "within no published time" if math.isinf(latest_s) else f"within {latest_s:g} s"
