"""
What is not noted when a fuse is changed at the vehicle, and must bear it all the same: jumpers, coil leads, terminals.

Comes in as the plan as built and the options of now; goes out as faults. Sizing chooses these parts anew for the fuse
that was fitted, and nobody has fitted them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

from allocator.errors import Fault
from allocator.plan.index import NeedAt, PlanIndex
from allocator.requirements.catalogue import Wire
from allocator.sizing.coils import COIL_DESIGNATIONS
from allocator.sizing.sized import Option

_HINT = (
    "fit the fuse that it was built for, or ask for the other one in the scenario and revise the panel: the change "
    "sheet has all that goes with it"
)


def left_behind(
    index: PlanIndex,
    option_now: Callable[[NeedAt], Option | None],
    rewired: Collection[str],
    where: Callable[[str], str],
) -> Iterator[Fault]:
    """
    Yield a fault for every wire and terminal as built that does not bear what stands before it now.

    Parameters
    ----------
    index
        The plan that the panel was built from.
    option_now
        What sizing has for a need in its place of now; None where it has nothing.
    rewired
        Circuits whose load wire was changed at the vehicle, and with it the terminals that it ends in.
    where
        Where the faults of a need are said to be.
    """
    for item in index.needs:
        now = option_now(item)
        for text in () if now is None else _texts(index, item, now, rewired):
            message = f'{item.need.kind} "{item.need.id}": {text}'
            yield Fault("vehicle-note", message, where(item.need.id), "what is not noted is as it was built", _HINT)


def _texts(index: PlanIndex, item: NeedAt, now: Option, rewired: Collection[str]) -> Iterator[str]:
    was = item.option
    wires = {wire.id: wire for wire in index.sized.requirements.catalogue.wires}
    if was.jumper_wire and now.jumper_wire and _is_less(wires[was.jumper_wire], wires[now.jumper_wire]):
        labels = wires[was.jumper_wire].label, wires[now.jumper_wire].label
        yield f"its jumper is of {labels[0]}; behind a fuse of {now.fuse_rating_a:g} A it takes {labels[1]}"
    if was.coil_fuse is None:
        yield from _leads(was, now, wires)
    yield from _terminals(index, item, now, rewired)


def _is_less(built: Wire, needed: Wire) -> bool:
    return (built.area, built.insulation) < (needed.area, needed.insulation)


def _leads(was: Option, now: Option, wires: dict[str, Wire]) -> Iterator[str]:
    """Yield what is wrong with the leads of a coil that has no fuse of its own."""
    built = {cut.start: wires[cut.wire] for cut in was.wires if cut.start in COIL_DESIGNATIONS}
    needed = {cut.start: wires[cut.wire] for cut in now.wires if cut.start in COIL_DESIGNATIONS}
    if now.coil_fuse is not None:
        yield "the leads of its coil have no in-line fuse; behind the fuse before them they take one"
    elif any(_is_less(wire, needed[start]) for start, wire in built.items() if start in needed):
        labels = next(iter(built.values())).label, next(iter(needed.values())).label
        yield f"the leads of its coil are of {labels[0]}; behind the fuse before them they take {labels[1]}"


def _terminals(index: PlanIndex, item: NeedAt, now: Option, rewired: Collection[str]) -> Iterator[str]:
    """Yield terminals of the fuse's own current that carry less than its rating."""
    terminals = {part.id: part for part in index.sized.requirements.catalogue.terminals}
    of_the_run = {cut.start for cut in item.option.wires} if item.need.id in rewired else set[str]()
    for position, name in item.option.terminal_by_designation.items():
        built, needed = terminals[name], terminals.get(now.terminal_by_designation.get(position, ""))
        if position in (*COIL_DESIGNATIONS, *of_the_run) or needed is None or needed.tab != built.tab:
            continue
        if built.limit < now.fuse_rating_a:
            yield f"its terminal at {position} carries {built.limit:g} A, less than its fuse of {now.fuse_rating_a:g} A"
