"""
Choose the wire of a circuit's run: the thinnest that its fuse protects, that loses little enough, and that a terminal
takes.

A circuit, a panel, a fuse rating and a current come in; a wire with the test that decided goes out. No wire leaves here
that may carry less than the rating of its fuse.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, NoReturn

from allocator.errors import SizingError
from allocator.requirements.catalogue import Fuse, Wire
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.offer import Offer, PlacedWire
from allocator.sizing.wires import (
    conductor_temperature_c,
    drop_v,
    least_area_mm2,
    resistance_ohm_per_m,
    smallest_area_mm2,
)
from allocator.sizing.withstand import insulation_k, withstand_a2s
from allocator.units import from_model, limit_to_model, to_model

Test = Literal["ampacity", "withstand", "drop", "terminal", "offer", "wanted"]
_SAME_AREA_MM2 = 1e-3


@dataclass(frozen=True, slots=True)
class Run:
    """
    Length of a circuit's wire from one panel, and what may get lost along it.

    ``out_m`` is the wire to the load, ``back_m`` the wire back (0 where the chassis returns the current).
    """

    circuit: Circuit
    panel: PanelSite
    out_m: float
    back_m: float
    allowed_v: float
    load_ma: int


@dataclass(frozen=True, slots=True)
class RunWire:
    """The wire chosen, its limit in its place, its drop, and which test refused the next thinner one."""

    wire: Wire
    limit_ma: int
    drop_v: float
    decided_by: Test
    reason: str


def run_of(offer: Offer, circuit: Circuit, panel: PanelSite, load_ma: int) -> Run:
    """
    Return lengths and allowed drop of a circuit's run from a panel.

    Raises
    ------
    SizingError
        If the circuits table states no length from that panel.
    """
    out_m = circuit.length.get(panel.name, circuit.length.get(""))
    if out_m is None:
        raise SizingError(
            f"has no run length from panel {panel.name}",
            rule="no-run-length",
            known="lengths are given from " + (", ".join(sorted(circuit.length)) or "no panel"),
            hint=f'add "{panel.name}: 3 m" to its length, or leave the panel out of its panels',
        )
    back_m = circuit.return_length
    if back_m is None:
        back_m = out_m if offer.vehicle.return_path == "wire" else 0.0
    percent = offer.rules.drop_critical if circuit.critical else offer.rules.drop_other
    if circuit.drop is not None:
        percent = circuit.drop
    allowed_v = percent / 100 * offer.vehicle.nominal_voltage * (1 - offer.rules.upstream_drop / 100)
    return Run(circuit, panel, out_m, back_m, allowed_v, load_ma)


def run_drop_v(offer: Offer, run: Run, wire: Wire, limit_ma: int) -> float:
    """Return the voltage lost in a wire along a run at its load and its temperature, V."""
    load_a = from_model(run.load_ma)
    hot_c = conductor_temperature_c(run.panel.ambient, wire.insulation, load_a, from_model(limit_ma))
    return drop_v(load_a, run.out_m + run.back_m, resistance_ohm_per_m(wire.area, hot_c, offer.figures))


def far_end_fault_a(requirements: Requirements, run: Run, wire: Wire) -> float:
    """Return what a short circuit at the far end of a run draws through a wire as hot as its insulation may be, A."""
    scenario = requirements.scenario
    nominal_v, panel_a = scenario.vehicle.nominal_voltage, scenario.supply.fault_current
    ohm_per_m = resistance_ohm_per_m(wire.area, wire.insulation, requirements.figures)
    return nominal_v / (nominal_v / panel_a + (run.out_m + run.back_m) * ohm_per_m)


def choose_run_wire(offer: Offer, run: Run, fuse: Fuse, takes: Callable[[Wire], bool]) -> RunWire:
    """
    Choose the thinnest wire that passes every test.

    Parameters
    ----------
    offer
        What is on offer.
    run
        Lengths, load and allowed drop.
    fuse
        The fuse that protects the wire.
    takes
        Whether terminals for the wire are on offer wherever it ends in the panel.

    Returns
    -------
    RunWire
        The wire and why.

    Raises
    ------
    SizingError
        If no wire on offer, or not the wanted one, passes.
    """
    candidates = _candidates(offer, run)
    decided_by: Test = "wanted" if run.circuit.wire is not None else "offer"
    thinner: PlacedWire | None = None
    for item in candidates:
        failed = _failed_test(offer, run, item, fuse, takes)
        if failed is None:
            lost = run_drop_v(offer, run, item.part, item.limit_ma)
            reason = _reason(offer, run, item, fuse, lost, decided_by, thinner)
            return RunWire(item.part, item.limit_ma, lost, decided_by, reason)
        decided_by, thinner = failed, item
    _refuse(offer, run, candidates, fuse, takes)


def _candidates(offer: Offer, run: Run) -> Sequence[PlacedWire]:
    wires = offer.run_wires(run.panel.ambient, run.circuit)
    wanted = run.circuit.wire
    if wanted is None:
        return wires
    found = [item for item in wires if abs(item.part.area - wanted) < _SAME_AREA_MM2]
    if not found:
        raise SizingError(
            f"wants a wire of {wanted:.4g} mm2, which is not on offer",
            rule="wanted-wire-not-offered",
            known="areas on offer: " + ", ".join(dict.fromkeys(f"{item.part.area:.4g}" for item in wires)) + " mm2",
            hint=("drop wire_system, " if offer.rules.wire_system != "any" else "")
            + "want a wire on offer, or leave the choice open",
        )
    return found


def _bears(offer: Offer, run: Run, item: PlacedWire, fuse: Fuse) -> bool:
    over = limit_to_model(from_model(item.limit_ma) * offer.fuse_over_wire_share)
    return over >= to_model(fuse.rating) and item.limit_ma >= run.load_ma


def _failed_test(offer: Offer, run: Run, item: PlacedWire, fuse: Fuse, takes: Callable[[Wire], bool]) -> Test | None:
    if not _bears(offer, run, item, fuse):
        return "ampacity"
    if not offer.outlives(item.part, fuse):
        return "withstand"
    if run_drop_v(offer, run, item.part, item.limit_ma) > run.allowed_v:
        return "drop"
    return None if takes(item.part) else "terminal"


def _reason(
    offer: Offer,
    run: Run,
    item: PlacedWire,
    fuse: Fuse,
    lost_v: float,
    decided_by: Test,
    thinner: PlacedWire | None,
) -> str:
    share, ambient_c = offer.run_share(run.circuit), run.panel.ambient
    facts = (
        f"{item.part.label} carries {from_model(item.limit_ma):.4g} A in bundle ({share:.0%}) at {ambient_c:g} °C "
        f"for a fuse of {fuse.rating:g} A, and loses {lost_v:.3g} V of {run.allowed_v:.3g} V over "
        f"{run.out_m + run.back_m:g} m"
    )
    if fuse.rating > from_model(item.limit_ma):
        facts += "; the fuse stands above its wire by the small-craft rule"
    let_through = offer.let_through_a2s(fuse)
    if let_through:
        stands = withstand_a2s(item.part.area, insulation_k(item.part.insulation, offer.figures))
        facts += f"; in a short circuit it stands {stands:.0f} A²s of the {let_through:.0f} A²s that the fuse lets by"
    if thinner is None:
        return f"{facts}; " + ("wanted" if decided_by == "wanted" else "the thinnest on offer")
    name = thinner.part.label
    if decided_by == "ampacity" and thinner.limit_ma == 0:
        return f"{facts}; ampacity decides: {name} is below the ampacity table"
    if decided_by == "ampacity":
        return f"{facts}; ampacity decides: {name} carries {from_model(thinner.limit_ma):.4g} A"
    if decided_by == "withstand":
        return f"{facts}; short circuit decides: {name} is thinner than " + (
            f"{offer.fault_area_mm2(fuse, thinner.part.insulation):.3g} mm2"
        )
    if decided_by == "drop":
        return f"{facts}; drop decides: {name} loses {run_drop_v(offer, run, thinner.part, thinner.limit_ma):.3g} V"
    return f"{facts}; terminals decide: none on offer takes {name}"


def _says(wanted: bool, of_the_wanted: str, of_none: str) -> str:
    return f"the wanted wire {of_the_wanted}" if wanted else f"no wire on offer {of_none}"


def _thicker(run: Run) -> str:
    return "want a thicker wire" + ("" if run.circuit.fuse_rating is None else ", or a smaller fuse")


def _refuse(
    offer: Offer, run: Run, candidates: Sequence[PlacedWire], fuse: Fuse, takes: Callable[[Wire], bool]
) -> NoReturn:
    wanted = run.circuit.wire is not None
    carrying = [item for item in candidates if _bears(offer, run, item, fuse)]
    if not carrying:
        best = candidates[-1]
        least_a = max(fuse.rating / offer.fuse_over_wire_share, from_model(run.load_ma))
        need = smallest_area_mm2(
            least_a, best.part.insulation, run.panel.ambient, offer.run_share(run.circuit), offer.figures
        )
        raise SizingError(
            f"{_says(wanted, 'may not stand', 'may stand')} behind a fuse of {fuse.rating:g} A "
            f"at {run.panel.ambient:g} °C in bundle",
            rule="wanted-wire-too-thin" if wanted else "no-wire-for-fuse",
            known=(
                f"{best.part.label} carries {from_model(best.limit_ma):.4g} A"
                if best.limit_ma
                else f"{best.part.label} is below the ampacity table"
            )
            + ("" if need is None else f"; with its insulation it takes {need:.4g} mm2"),
            hint=_thicker(run) if wanted else "offer thicker wire or hotter insulation, or split the load",
            reach=-fuse.rating,
        )
    lasting = [item for item in carrying if offer.outlives(item.part, fuse)]
    if not lasting:
        best = carrying[-1]
        raise SizingError(
            f"{_says(wanted, 'does not outlive', 'outlives')} a short circuit "
            f"behind a {fuse.rating:g} A type {fuse.fuse_format} fuse",
            rule="wanted-wire-melts" if wanted else "no-wire-for-fault",
            known=f"the fuse lets by up to {offer.let_through_a2s(fuse):.0f} A²s; with the insulation of "
            f"{best.part.label} it takes {offer.fault_area_mm2(fuse, best.part.insulation):.3g} mm2",
            hint=_thicker(run) if wanted else "offer thicker wire, or accept a faster fuse format",
        )
    lean = [item for item in lasting if run_drop_v(offer, run, item.part, item.limit_ma) <= run.allowed_v]
    if not lean:
        best = lasting[-1]
        lost = run_drop_v(offer, run, best.part, best.limit_ma)
        allowed_ohm = run.allowed_v / from_model(run.load_ma)
        need_mm2 = least_area_mm2(offer.figures.other_resistivity.value / 1000, run.out_m + run.back_m, allowed_ohm)
        raise SizingError(
            f"{_says(wanted, 'does not keep', 'keeps')} the drop "
            f"over {run.out_m + run.back_m:g} m within {run.allowed_v:.3g} V",
            rule="wanted-wire-drops" if wanted else "no-wire-for-drop",
            known=f"{best.part.label} loses {lost:.3g} V; more than {need_mm2:.3g} mm2 is needed",
            reach=-lost,
            hint="shorten the run, allow more drop, or "
            + ("want a thicker wire" if wanted else "offer a thicker wire"),
        )
    taken = [item for item in lasting if takes(item.part)]
    if taken:
        lost = run_drop_v(offer, run, taken[-1].part, taken[-1].limit_ma)
        raise SizingError(
            f"no wire that terminals on offer take keeps the drop over {run.out_m + run.back_m:g} m "
            f"within {run.allowed_v:.3g} V",
            rule="no-wire-for-drop",
            known=f"{taken[-1].part.label}, the thickest that they take, loses {lost:.3g} V; "
            f"{lean[0].part.label} would do",
            reach=-lost,
            hint=f"shorten the run, allow more drop, or offer terminals for {lean[0].part.label}",
        )
    raise SizingError(
        f"no terminals on offer take {lean[0].part.label}, the thinnest wire that would do, behind a fuse of "
        f"{fuse.rating:g} A",
        rule="no-terminal",
        known="a terminal fits by tab width and wire, and carries the rating of the fuse",
        hint="offer such terminals, accept another fuse format or relay class, or split the load",
    )
