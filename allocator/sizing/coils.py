"""
The leads of a relay coil: wire, terminals and, behind a large fuse, an in-line fuse of their own.

A panel, a relay's tabs and coil current and the fuse that protects the leads come in; parts and wires go out. A lead is
never thinner than the fuse before it allows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, Holder, Wire
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.fuses import smallest_fuse
from allocator.sizing.offer import Offer, PlacedWire
from allocator.sizing.sized import OWN_WAY, SWITCHED_SIDE, Cut, InlineFuse
from allocator.units import to_model, whole_mm

COIL_DESIGNATIONS = ("85", "86", "31")


@dataclass(frozen=True, slots=True)
class CoilLeads:
    """Wires and terminals of a coil, and the in-line fuse with its holder where there is one."""

    cuts: tuple[Cut, ...]
    terminal_by_designation: Mapping[str, str]
    inline: InlineFuse | None
    reason: str

    @property
    def inline_parts(self) -> tuple[str, ...]:
        """The in-line fuse and its holder, where there are any."""
        return () if self.inline is None else (self.inline.fuse, self.inline.holder)


def coil_leads(
    offer: Offer,
    panel: PanelSite,
    tabs: Mapping[str, float],
    coil_ma: int,
    upstream: Sequence[Fuse],
    control: str | None,
) -> CoilLeads:
    """
    Choose the leads of a coil: its supply side (86), its other side (85), or the earth of a flasher (31).

    Parameters
    ----------
    offer, panel
        What is on offer, and where.
    tabs
        Tab width by designation, mm.
    coil_ma
        What the coil draws, mA.
    upstream
        The fuse that the leads hang on: the need's own, or all that its control may have.
    control
        Circuit that supplies the coil; None: the need's own fuse does, and the coil is switched on the earth side.

    Returns
    -------
    CoilLeads
        A lead of up to 2.5 mm2 for that fuse; else a thinner one behind an in-line fuse; else a thicker one.

    Raises
    ------
    SizingError
        If nothing on offer protects the leads.

    Notes
    -----
    Lengths: from 86 to the own way a short jumper; to the switch that a control circuit feeds as long as the run of
    that circuit from this panel, because the coil hangs behind the switch, never before it. Where the circuit states
    no run from this panel, and from 85 or 31 to the switch, earth or return, the length is the builder's (0 here). A
    length without a panel's name counts from the panels where that circuit may be, and from no other. Leads are as hot
    as the hottest of their panel and of those where the control may be: the lead from 86 comes from its wire.
    """
    hot_c = max(site.ambient for site in (panel, *_control_sites(offer, control)))
    widths = {name: tabs[name] for name in COIL_DESIGNATIONS if name in tabs}
    wires = offer.wires(hot_c, bundled=True)
    upstream_a = max((fuse.rating for fuse in upstream), default=0.0)
    direct = next((item.part for item in wires if _fits(offer, item, widths, upstream)), None)
    smallest = sorted(upstream, key=lambda fuse: fuse.rating)[:1]
    least = next((item.part for item in wires if _fits(offer, item, widths, smallest)), None)
    is_open = control is not None and _circuit(offer, control).fuse_format is None and least != direct
    why = f"; {control} may have up to {upstream_a:g} A, with a fuse_format of its own perhaps less" if is_open else ""
    if direct is not None and direct.area <= offer.figures.coil_lead_largest.value:
        return _leads(offer, panel, direct, widths, upstream_a, control, why)
    for holder, fuse in _inline_fuses(offer, hot_c, coil_ma) if "86" in widths else ():
        thin = next((item.part for item in wires if _fits(offer, item, widths, (fuse,))), None)
        if thin is not None and (direct is None or thin.area < direct.area):
            return _leads(offer, panel, thin, widths, fuse.rating, control, why, InlineFuse(fuse.id, holder.id))
    if direct is not None:
        return _leads(offer, panel, direct, widths, upstream_a, control, why)
    raise SizingError(
        f"the coil leads of its relay hang on a fuse of {upstream_a:g} A, and no wire and terminal on offer bear that",
        rule="coil-unprotected",
        known=f"tabs {', '.join(f'{name} of {width:g} mm' for name, width in widths.items())}",
        hint="name a control circuit with a smaller fuse, or offer an in-line holder with a small fuse",
    )


def _fits(offer: Offer, item: PlacedWire, widths: Mapping[str, float], fuses: Sequence[Fuse]) -> bool:
    return all(
        offer.bears(item, fuse)
        and all(offer.terminal("tab", width, item.part, to_model(fuse.rating)) for width in widths.values())
        for fuse in fuses
    )


def sites_of(offer: Offer, circuit: Circuit) -> tuple[PanelSite, ...]:
    """Return the panels that a circuit accepts."""
    return tuple(site for site in offer.scenario.panels if not circuit.panels or site.name in circuit.panels)


def _control_sites(offer: Offer, control: str | None) -> tuple[PanelSite, ...]:
    return () if control is None else sites_of(offer, _circuit(offer, control))


def _circuit(offer: Offer, name: str) -> Circuit:
    return next(circuit for circuit in offer.requirements.circuits if circuit.id == name)


def _inline_fuses(offer: Offer, hot_c: float, coil_ma: int) -> Iterator[tuple[Holder, Fuse]]:
    for holder in sorted(offer.catalogue.holders, key=lambda holder: (holder.price, holder.id)):
        try:
            fuse = smallest_fuse(offer.fuses(holder.fuse_format), coil_ma, hot_c, offer.loading_share, offer.figures)
        except SizingError:
            continue  # another holder may do; coil_leads says so if none does
        if fuse.rating <= holder.limit:
            yield holder, fuse


def _leads(
    offer: Offer,
    panel: PanelSite,
    wire: Wire,
    widths: Mapping[str, float],
    rating_a: float,
    control: str | None,
    why: str,
    inline: InlineFuse | None = None,
) -> CoilLeads:
    terminals = {name: offer.terminal("tab", width, wire, to_model(rating_a)) for name, width in widths.items()}
    behind = f"an in-line fuse of {rating_a:g} A" if inline else f"a fuse of {rating_a:g} A"
    return CoilLeads(
        tuple(_cut(offer, panel, wire, name, control) for name in widths),
        {name: terminal.id for name, terminal in terminals.items() if terminal is not None},
        inline,
        f"coil leads of {wire.label} behind {behind}{why}",
    )


def _cut(offer: Offer, panel: PanelSite, wire: Wire, designation: str, control: str | None) -> Cut:
    if designation == "86" and control is None:
        return Cut(wire.id, whole_mm(offer.catalogue.short_jumper), designation, OWN_WAY)
    if designation == "86" and control is not None:
        return Cut(wire.id, whole_mm(_run_m(offer, panel, control)), designation, f"{SWITCHED_SIDE}{control}")
    back = "earth" if offer.scenario.vehicle.return_path == "chassis" else "return"
    return Cut(wire.id, 0, designation, f"switch to {back}" if designation == "85" and control is None else back)


def _run_m(offer: Offer, panel: PanelSite, control: str) -> float:
    """Return how far the switch of a control is from a panel, m; 0 where its circuit does not say so."""
    circuit = _circuit(offer, control)
    plain_m = circuit.length.get("", 0.0) if panel in sites_of(offer, circuit) else 0.0
    return circuit.length.get(panel.name, plain_m)
