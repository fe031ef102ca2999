"""
The rule on the wires of circuits and feeds: runs, returns and coil leads are there, and as long as required.

Comes in as a plan and the requirements; goes out as findings. Jumpers are as long as the catalogue says, which
``bill.py`` reads itself; cables are in ``cables.py``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from allocator.sizing.sized import Option
from allocator.verifying.exact import exact, is_in_whole_mm, number
from allocator.verifying.findings import Finding
from allocator.verifying.fuses_before import COIL_SIDES, control_of
from allocator.verifying.records import NeedKey
from allocator.verifying.runs import back_m, out_m
from allocator.verifying.terminals import OUTLETS
from allocator.verifying.view import View

RETURN = ""
"""Where a return starts: at the load, and so at no cavity of the panel."""
LOAD, OWN_WAY, SWITCHED_SIDE = "load", "own fuse way", "switched side of "
"""How the sizing table says where a run, and a lead from 86, leads; the last one with the name of the control."""


def wires_as_stated(view: View) -> Iterator[Finding]:
    """Report runs, returns and coil leads that lack, are too many, of another wire or of another length."""
    for need, option in view.options_in_use.items():
        lengths = dict(_lengths_mm(view, need, option))
        texts = (
            *_of_another_wire(view, need, option),
            *_of_another_length(option, lengths),
            *_astray(view, need, option),
        )
        for text in texts:
            yield Finding("wires-as-stated", f'{need[0]} "{need[1]}"', text)


def _lengths_mm(view: View, need: NeedKey, option: Option) -> Iterator[tuple[str, Fraction]]:
    """Yield the length of each wire of a need, mm, by the cavity where it starts."""
    kind, name = need
    function = view.relay_function(need)
    tabs = view.relay_tabs.get((option.relay_class, function), {})
    if kind == "circuit":
        circuit = view.circuits[name]
        outlets = ["way"] if function is None else [name for name in OUTLETS[function] if name in tabs]
        yield from ((outlet, 1000 * exact(out_m(circuit, option.panel))) for outlet in outlets)
        yield RETURN, 1000 * exact(back_m(view, circuit, option.panel))
    for designation in COIL_SIDES:
        if designation in tabs:
            yield designation, 1000 * (_coil_m(view, need, option.panel) if designation == "86" else Fraction())


def _coil_m(view: View, need: NeedKey, panel: str) -> Fraction:
    """Return the length of the lead from 86, m: to the own way, if any, or as the run of the control from there."""
    control = view.circuits.get(control_of(view, need) or "")
    if control is not None:
        is_stated = panel in control.length or not control.panels or panel in control.panels
        return exact(out_m(control, panel)) if is_stated else Fraction()
    return Fraction() if view.enters_at_socket(need) else exact(view.catalogue.short_jumper)


def _of_another_wire(view: View, need: NeedKey, option: Option) -> Iterator[str]:
    way = view.way_of.get(need)
    if way is None:
        return
    if need[0] == "feed":
        feed = view.sized.feeds.get(need[1])
        if feed is not None and way.used.wire != feed.cable_wire:
            yield f'has wire "{way.used.wire or "none"}" at its way; its cable is of wire "{feed.cable_wire}"'
        return
    for cut in option.wires:
        if cut.start not in COIL_SIDES and cut.wire != way.used.wire:
            yield f'{_named(cut.start)}: is of wire "{cut.wire}"; the run is of wire "{way.used.wire or "none"}"'


def _of_another_length(option: Option, lengths_mm: Mapping[str, Fraction]) -> Iterator[str]:
    for start in dict.fromkeys([*lengths_mm, *(cut.start for cut in option.wires)]):
        stated = [cut.length_mm for cut in option.wires if cut.start == start]
        if start not in lengths_mm:
            yield f"{_named(start)}: has a wire; expected none"
        elif len(stated) > 1:
            yield f"{_named(start)}: has {len(stated)} wires; expected one"
        elif not is_in_whole_mm(sum(stated), lengths_mm[start]):
            yield f"{_named(start)}: is of {sum(stated)} mm; required are {number(lengths_mm[start])} mm"


def _astray(view: View, need: NeedKey, option: Option) -> Iterator[str]:
    """Yield runs that do not lead to the load, and leads from 86 to another fuse than that of the coil."""
    control = control_of(view, need)
    supply = OWN_WAY if control is None else f"{SWITCHED_SIDE}{control}"
    for cut in option.wires:
        wanted = supply if cut.start == "86" else cut.end if cut.start in (*COIL_SIDES, RETURN) else LOAD
        if cut.end != wanted:
            yield f"{_named(cut.start)}: leads to {cut.end}; it must lead to {wanted}"


def _named(start: str) -> str:
    return f"wire at {start}" if start else "return"
