"""
The rows of the sizing table for circuits: one for each panel, fuse format and relay class that can serve.

What is on offer, the loads and one circuit come in; options go out, or the fault that says why there is none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from allocator.errors import Fault, SizingError
from allocator.requirements.catalogue import Fuse, Relay, Wire
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.coils import CoilLeads, coil_leads
from allocator.sizing.current import current_reason
from allocator.sizing.faults import circuit_fault
from allocator.sizing.fuse_choice import fuse_for, possible_fuses
from allocator.sizing.fuses import allowed_ma
from allocator.sizing.loads import CircuitLoad, Loads, load_reason
from allocator.sizing.nearest import Refusal, nearest_refusal
from allocator.sizing.offer import Offer
from allocator.sizing.reasons import fault_reason, fuse_reason, relay_reason, start_reason
from allocator.sizing.runs import Run, RunWire, choose_run_wire, run_of
from allocator.sizing.sized import Cut, Option, Reason
from allocator.sizing.suppression import coil_advice, load_advice
from allocator.units import from_model, to_model, whole_mm

LOAD_TABS = {"relay": ("87",), "changeover": ("87", "87a"), "flasher": ("49a",)}
"""Designations of the socket that take a wire of the load, by switching."""


@dataclass(frozen=True, slots=True)
class Sizing:
    """One option with the figures behind it, for cautions."""

    circuit: Circuit
    option: Option
    load: CircuitLoad
    fuse: Fuse
    allowed_ma: int
    run: Run
    wire: RunWire
    relay: Relay | None


def size_circuit(offer: Offer, loads: Loads, circuit: Circuit, panels: Sequence[PanelSite]) -> list[Sizing] | Fault:
    """
    Size a circuit at every panel, in every fuse format, with every relay class.

    Parameters
    ----------
    offer, loads
        What is on offer, and what everything draws.
    circuit
        The circuit.
    panels
        Panels that it accepts and that one of its feeds reaches.

    Returns
    -------
    list of Sizing, or Fault
        By panel, format and class in their order; a fault if nothing serves.
    """
    if not panels:
        message = "is on no panel: none that it accepts is reached by a feed that it accepts"
        known = f"it accepts feeds {', '.join(circuit.feeds)} and panels {', '.join(circuit.panels)}"
        hint = "let it accept a panel that one of these feeds reaches, or a feed that reaches one of these panels"
        return circuit_fault(offer.requirements, circuit, "unreachable", message, known, hint)
    try:
        relays: Sequence[Relay | None] = [None] if circuit.switching == "none" else [*loads.relays(circuit).values()]
    except SizingError as refusal:
        return circuit_fault(offer.requirements, circuit, refusal.rule, str(refusal), refusal.known, refusal.hint)
    found: list[Sizing] = []
    refusals: list[Refusal] = []
    formats = offer.formats if circuit.fuse_format is None else (circuit.fuse_format,)
    for panel in panels:
        for fuse_format in formats:
            for relay in relays:
                try:
                    found.append(_Sizer(offer, loads, circuit, panel).sizing(fuse_format, relay))
                except SizingError as error:
                    size = "" if relay is None else f", {relay.relay_class} relay"
                    place = f"panel {panel.name}, format {fuse_format}{size}"
                    serves = partial(_serves, offer, loads, panel, fuse_format, relay)
                    refusals.append(Refusal(place, error, serves))
    return found or nearest_refusal(offer.requirements, circuit, refusals)


@dataclass(frozen=True, slots=True)
class _Sizer:
    offer: Offer
    loads: Loads
    circuit: Circuit
    panel: PanelSite

    def sizing(self, fuse_format: str, relay: Relay | None) -> Sizing:
        load = self.loads.of(self.circuit.id)
        fuse = fuse_for(self.offer, self.circuit, fuse_format, self.panel, load)
        run = run_of(self.offer, self.circuit, self.panel, load.run_ma)
        wanted, fuses = self.circuit.fuse_rating is not None, self.offer.fuses(fuse_format)
        steps = [
            self._current_reason(load),
            fuse_reason(self.offer, fuses, fuse, load.fuse_ma, self.panel.ambient, wanted),
        ]
        start = start_reason(self.offer, self.circuit, fuse, load.design_ma)
        steps += [start] if start is not None else []
        way_mm = self.offer.tab_by_format[fuse_format]
        if relay is None:
            option, wire = self._unswitched(fuse, run, way_mm, steps)
        else:
            steps.append(relay_reason(self.offer, relay, self.circuit.load_type, load.run_ma))
            option, wire = self._switched(fuse, relay, run, way_mm, steps)
        if fuse.rating > option.wire_limit_a * self.offer.fuse_over_wire_share:
            raise SizingError(f"a fuse of {fuse.rating:g} A stands above its wire", rule="fuse-protects-wire")
        allowed = allowed_ma(fuse_format, fuse.rating, self.panel.ambient, self.offer.loading_share, self.offer.figures)
        return Sizing(self.circuit, option, load, fuse, allowed, run, wire, relay)

    def _unswitched(self, fuse: Fuse, run: Run, way_mm: float, steps: list[Reason]) -> tuple[Option, RunWire]:
        wire = choose_run_wire(self.offer, run, fuse, partial(self._fits, (way_mm,), fuse.rating))
        terminals = {"way": self._terminal(way_mm, wire.wire, fuse.rating)}
        cuts = _load_cuts(run, wire.wire, ("way",))
        steps.append(fault_reason(self.offer, run, wire.wire, fuse))
        return self._option(fuse, None, wire, None, terminals, cuts, None, steps), wire

    def _switched(
        self, fuse: Fuse, relay: Relay, run: Run, way_mm: float, steps: list[Reason]
    ) -> tuple[Option, RunWire]:
        tabs = self.offer.tabs(relay.relay_class, relay.function)
        inlet = "49" if relay.function == "flasher" else "30"
        outlets = [name for name in LOAD_TABS[self.circuit.switching] if name in tabs]
        jumper = self.jumper(fuse, (way_mm, tabs[inlet]))
        takes = partial(self._fits, tuple(tabs[name] for name in outlets), fuse.rating)
        wire = choose_run_wire(self.offer, run, fuse, takes)
        terminals = {
            "way": self._terminal(way_mm, jumper, fuse.rating),
            inlet: self._terminal(tabs[inlet], jumper, fuse.rating),
        } | {name: self._terminal(tabs[name], wire.wire, fuse.rating) for name in outlets}
        control = None if relay.function == "flasher" else self.circuit.control
        upstream = (fuse,) if control is None else possible_fuses(self.offer, self.loads, control)
        leads = coil_leads(self.offer, self.panel, tabs, self.loads.coil_ma(self.circuit), upstream, control)
        terminals |= leads.terminal_by_designation
        cuts = (*_load_cuts(run, wire.wire, outlets), *leads.cuts)
        steps += [Reason("relay", leads.reason), self._suppression_reason(relay)]
        steps.append(fault_reason(self.offer, run, wire.wire, fuse))
        return self._option(fuse, relay, wire, jumper, terminals, cuts, leads, steps), wire

    def jumper(self, fuse: Fuse, widths: Sequence[float]) -> Wire:
        """Return the thinnest wire that a fuse protects within the panel and that all tabs, mm, take."""
        wires = self.offer.wires(self.panel.ambient, bundled=False)
        carrying = [item.part for item in wires if self.offer.bears(item, fuse)]
        for wire in carrying:
            if self._fits(widths, fuse.rating, wire):
                return wire
        best = max(wires, key=lambda item: item.limit_ma)
        if best.limit_ma < to_model(fuse.rating):
            hottest_c = max(item.part.insulation for item in wires)
            raise SizingError(
                f"no wire on offer may stand as a jumper behind a fuse of {fuse.rating:g} A "
                f"at {self.panel.ambient:g} °C",
                rule="no-wire-for-jumper",
                known=f"wires on offer carry up to {from_model(best.limit_ma):.4g} A there; "
                f"the hottest insulation is for {hottest_c:g} °C",
                hint="offer thicker wire or hotter insulation, accept a cooler panel, or split the load",
                reach=-fuse.rating,
            )
        raise SizingError(
            f"no wire on offer makes a jumper from way to socket behind a fuse of {fuse.rating:g} A",
            rule="no-jumper",
            known=f"tabs of {' and '.join(f'{width:g}' for width in widths)} mm; "
            + (
                f"{carrying[0].label} is the thinnest that bears the fuse"
                if carrying
                else "no wire outlives a short circuit"
            ),
            hint="accept a larger relay class or fuse format, or offer terminals for that wire",
        )

    def _option(
        self,
        fuse: Fuse,
        relay: Relay | None,
        wire: RunWire,
        jumper: Wire | None,
        terminals: Mapping[str, str],
        cuts: Sequence[Cut],
        leads: CoilLeads | None,
        steps: Sequence[Reason],
    ) -> Option:
        inline = () if leads is None else leads.inline_parts
        parts = Counter([fuse.id, *([] if relay is None else [relay.id]), *terminals.values(), *inline])
        listed = ", ".join(f"{place} {terminal}" for place, terminal in terminals.items())
        return Option(
            panel=self.panel.name,
            fuse_format=fuse.fuse_format,
            relay_class=None if relay is None else relay.relay_class,
            fuse=fuse.id,
            fuse_rating_a=fuse.rating,
            relay=None if relay is None else relay.id,
            wire=wire.wire.id,
            wire_limit_a=from_model(wire.limit_ma),
            jumper_wire=None if jumper is None else jumper.id,
            cavities=len(terminals),
            parts=dict(sorted(parts.items())),
            wires=tuple(cuts),
            terminal_by_designation=terminals,
            reasons=(
                *steps,
                Reason("wire", wire.reason),
                Reason("terminal", f"{listed}: the cheapest that take tab and wire and carry {fuse.rating:g} A"),
            ),
            coil_fuse=None if leads is None else leads.inline,
        )

    def _fits(self, widths: Sequence[float], rating_a: float, wire: Wire) -> bool:
        return all(self.offer.terminal("tab", width, wire, to_model(rating_a)) is not None for width in widths)

    def _terminal(self, width: float, wire: Wire, rating_a: float) -> str:
        terminal = self.offer.terminal("tab", width, wire, to_model(rating_a))
        if terminal is None:
            raise SizingError(f"no terminal of {width:g} mm takes {wire.label}", rule="no-terminal")
        return terminal.id

    def _current_reason(self, load: CircuitLoad) -> Reason:
        text = current_reason(self.circuit.load, self.circuit.load_type, self.offer.vehicle, self.offer.figures)
        coils = load_reason(load, self.loads.coils_on(self.circuit.id))
        return Reason("current", f"{text}, {coils}" if coils else text)

    def _suppression_reason(self, relay: Relay) -> Reason:
        kind, load = self.circuit.load_type, self.loads.of(self.circuit.id)
        advice = [
            coil_advice(relay, kind, self.offer.figures),
            load_advice(kind, from_model(load.design_ma), self.offer.vehicle.nominal_voltage),
        ]
        return Reason("surge", "; ".join(filter(None, advice)))


def _load_cuts(run: Run, wire: Wire, starts: Sequence[str]) -> list[Cut]:
    cuts = [Cut(wire.id, whole_mm(run.out_m), start, "load") for start in starts]
    return cuts + ([Cut(wire.id, whole_mm(run.back_m), "", "return")] if run.back_m else [])


def _serves(
    offer: Offer, loads: Loads, panel: PanelSite, fuse_format: str, relay: Relay | None, circuit: Circuit
) -> bool:
    """Whether a circuit can be had so."""
    try:
        _Sizer(offer, loads, circuit, panel).sizing(fuse_format, relay)
    except SizingError:
        return False
    return True
