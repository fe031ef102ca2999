"""
Which fuse a circuit gets in a place: the wanted rating, else the smallest that does.

What is on offer, a circuit, its load and a panel come in; a fuse goes out, or the refusal that says why there is none.
"""

from __future__ import annotations

from collections.abc import Sequence

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.coils import sites_of
from allocator.sizing.fuses import opening_time_s, smallest_fuse, wanted_fuse
from allocator.sizing.inrush import inrush_of, opens_at_start
from allocator.sizing.loads import CircuitLoad, Loads
from allocator.sizing.offer import Offer
from allocator.units import from_model


def fuse_for(offer: Offer, circuit: Circuit, fuse_format: str, panel: PanelSite, load: CircuitLoad) -> Fuse:
    """
    Choose the fuse of a circuit: the wanted rating, else the smallest that carries its load.

    With the rule ``fuse_outlasts_start`` it is the smallest of which also nothing shows that it opens at the start.

    Raises
    ------
    SizingError
        If there is none.
    """
    if fuse_format not in offer.formats:
        raise SizingError(
            f"wants format {fuse_format}, which no module on offer takes",
            rule="format-not-offered",
            known=f"formats on offer: {', '.join(offer.formats)}",
            hint="want a format on offer, or leave the choice open",
        )
    fuses, share = offer.fuses(fuse_format), offer.loading_share
    if circuit.fuse_rating is not None:
        return wanted_fuse(fuses, circuit.fuse_rating, load.fuse_ma, panel.ambient, share, offer.figures)
    fuse = smallest_fuse(fuses, load.fuse_ma, panel.ambient, share, offer.figures)
    if not offer.rules.fuse_outlasts_start:
        return fuse
    return _outlasting(offer, circuit, [item for item in fuses if item.rating >= fuse.rating], load.design_ma)


def possible_fuses(offer: Offer, loads: Loads, name: str) -> tuple[Fuse, ...]:
    """Return every fuse that a circuit may have at some panel in some format."""
    circuit = next(item for item in offer.requirements.circuits if item.id == name)
    formats = offer.formats if circuit.fuse_format is None else (circuit.fuse_format,)
    found: dict[str, Fuse] = {}
    for panel in sites_of(offer, circuit):
        for fuse_format in formats:
            try:
                fuse = fuse_for(offer, circuit, fuse_format, panel, loads.of(circuit.id))
            except SizingError:
                continue  # sizing that circuit tells why, if no other format serves
            found[fuse.id] = fuse
    return tuple(found.values())


def _outlasting(offer: Offer, circuit: Circuit, fuses: Sequence[Fuse], design_ma: int) -> Fuse:
    """Return the first of some fuses, by rating, of which no gate shows that it opens at the start of a load."""
    inrush = inrush_of(circuit, from_model(design_ma), offer.figures)
    if inrush is None:
        return fuses[0]
    for fuse in fuses:
        if not opens_at_start(fuse.fuse_format, fuse.rating, inrush, offer.figures):
            return fuse
    last = fuses[-1]
    latest_s = opening_time_s(last.fuse_format, last.rating, inrush.peak_a, offer.figures)[1]
    raise SizingError(
        f"starts with {inrush.peak_a:.3g} A for about {inrush.time_s:g} s; every type {last.fuse_format} fuse on offer "
        "opens before that is over",
        rule="no-rating-outlasts-start",
        known=f"the largest, {last.rating:g} A, opens within {latest_s:g} s",
        hint=f"{'state the stall current that was measured' if circuit.load_type == 'motor' else 'offer larger ones'}, "
        "want the rating with fuse_rating, or drop fuse_outlasts_start",
    )
