"""Built panels and what is changed about them afterwards, for tests of revisions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from allocator.requirements.scenario import Circuit
from allocator.sizing.sized import Cut, Need, Option, Sized
from tests.builders import build_sized
from tests.strategies import Arguments


def sized_with_wires(arguments: Arguments, **more: object) -> Sized:
    """
    Return a small sizing table whose circuits and branches have wires: to the load, and the leads of a coil.

    A circuit of more than 8 A has a longer wire, so that a load that grows takes its wire out.
    """
    sized = build_sized(**(arguments | more))  # type: ignore[arg-type]
    requirements = sized.requirements
    heavy = {need.id: max(need.load_ma_by_case, default=0) > 8000 for need in sized.needs}
    circuits = {item.id: _with_lengths(item, 3.0 if heavy[item.id] else 2.0) for item in requirements.circuits}
    controls = {feed.name: feed.control for feed in requirements.scenario.feeds}
    controls |= {name: circuit.control for name, circuit in circuits.items()}
    return replace(
        sized,
        requirements=requirements.model_copy(update={"circuits": tuple(circuits.values())}),
        needs=tuple(_wired(need, circuits, controls.get(need.id)) for need in sized.needs),
    )


def _with_lengths(circuit: Circuit, length_m: float) -> Circuit:
    """Return a circuit with runs of a length, and with a wire back unless it has a relay."""
    back_m = length_m if circuit.switching == "none" else None
    return circuit.model_copy(update={"length": {"": length_m}, "return_length": back_m})


def _wired(need: Need, circuits: Mapping[str, Circuit], control: str | None) -> Need:
    if need.kind == "spare":
        return need
    run_mm = _run_mm(circuits[need.id]) if need.kind == "circuit" else None
    lead = Cut("wire", 100, "86", "own fuse way") if need.takes_way else None
    if control is not None:
        lead = Cut("wire", _run_mm(circuits[control]), "86", f"switched side of {control}")
    return replace(need, options=tuple(_with_wires(option, run_mm, lead) for option in need.options))


def _run_mm(circuit: Circuit) -> int:
    return round(1000 * circuit.length[""])


def _with_wires(option: Option, run_mm: int | None, lead: Cut | None) -> Option:
    places = option.terminal_by_designation
    leads = [Cut("wire", 0, "85", "switch to earth"), *([] if lead is None else [lead])]
    leads = [cut for cut in leads if cut.start in places]
    if run_mm is None:
        return replace(option, wires=tuple(leads))
    if option.relay_class is None:
        return replace(option, wires=(Cut("wire", run_mm, "way", "load"), Cut("wire", run_mm, "", "return")))
    runs = [Cut("wire", run_mm, name, "load") for name in ("87", "87a", "49a") if name in places]
    return replace(option, wires=(*runs, *leads))
