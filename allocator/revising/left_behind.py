"""
What is not noted when a fuse is changed at the vehicle, and must bear it all the same: wires as built, terminals.

Comes in as the plan as built and the options of now; goes out as faults. Sizing chooses these parts anew for the fuse
that was fitted, and nobody has fitted them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

from allocator.errors import Fault
from allocator.plan.controls import control_by_need
from allocator.plan.index import NeedAt, PlanIndex
from allocator.requirements.catalogue import Fuse
from allocator.sizing.coils import COIL_DESIGNATIONS
from allocator.sizing.offer import Offer, PlacedWire
from allocator.sizing.sized import Option
from allocator.units import to_model

OptionNow = Callable[[NeedAt], Option | None]
_HINT = (
    "fit the fuse that it was built for, or ask for the other one in the scenario and revise the panel: the change "
    "sheet has all that goes with it"
)


def left_behind(
    index: PlanIndex, offer: Offer, option_now: OptionNow, rewired: Collection[str], where: Callable[[str], str]
) -> Iterator[Fault]:
    """
    Yield a fault for every wire and terminal as built that does not bear what stands before it now.

    Parameters
    ----------
    index
        The plan that the panel was built from.
    offer
        What is on offer, with the requirements of now.
    option_now
        What sizing has for a need in its place of now; None where it has nothing.
    rewired
        Circuits whose load wire was changed at the vehicle, and with it the terminals that it ends in.
    where
        Where the faults of a need are said to be.
    """
    built = _AsBuilt(index, offer, option_now, rewired)
    for item in index.needs:
        now = option_now(item)
        for text in () if now is None else built.texts(item, now):
            message = f'{item.need.kind} "{item.need.id}": {text}'
            yield Fault("vehicle-note", message, where(item.need.id), "what is not noted is as it was built", _HINT)


class _AsBuilt:
    def __init__(self, index: PlanIndex, offer: Offer, option_now: OptionNow, rewired: Collection[str]) -> None:
        self._index, self._offer, self._option_now, self._rewired = index, offer, option_now, rewired
        self._fuses = {fuse.id: fuse for fuse in offer.catalogue.fuses}
        self._labels = {wire.id: wire.label for wire in offer.catalogue.wires}
        self._circuits = {circuit.id: circuit for circuit in offer.requirements.circuits}
        self._control_by_need = control_by_need(offer.requirements)

    def texts(self, item: NeedAt, now: Option) -> Iterator[str]:
        """Yield what of a need does not bear the fuse before it."""
        fuse = self._fuses.get(now.fuse or "")
        if fuse is not None:
            yield from self._jumper_and_run(item, now, fuse)
        in_line = item.option.coil_fuse is not None and now.coil_fuse is not None
        before, panels = (None, ()) if in_line else self._before_coil(item, now)
        leads = () if before is None else tuple(self._leads(item, now, before, panels))
        yield from leads
        yield from self._terminals(item, now, None if leads else before)

    def _jumper_and_run(self, item: NeedAt, now: Option, fuse: Fuse) -> Iterator[str]:
        was, ambient_c = item.option, self._offer.panel_by_name[now.panel].ambient
        alone = self._offer.wires(ambient_c, bundled=False)
        if was.jumper_wire and now.jumper_wire and not self._bears(was.jumper_wire, alone, fuse):
            yield self._thin("jumper", was.jumper_wire, now.jumper_wire, fuse)
        if item.need.kind == "circuit" and was.wire and now.wire and item.need.id not in self._rewired:
            runs = self._offer.run_wires(ambient_c, self._circuits[item.need.id])
            if not self._bears(was.wire, runs, fuse, self._offer.fuse_over_wire_share):
                yield self._thin("load wire", was.wire, now.wire, fuse)

    def _bears(self, wire: str, placed: Sequence[PlacedWire], fuse: Fuse, share: float = 1.0) -> bool:
        built = next((item for item in placed if item.part.id == wire), None)
        if built is None:
            return False
        return built.limit_ma * share >= to_model(fuse.rating) and self._offer.outlives(built.part, fuse)

    def _thin(self, what: str, was: str, now: str, fuse: Fuse) -> str:
        return f"its {what} is of {self._labels[was]}; behind a fuse of {fuse.rating:g} A it takes {self._labels[now]}"

    def _before_coil(self, item: NeedAt, now: Option) -> tuple[Fuse | None, tuple[str, ...]]:
        """Return the fuse before the leads of a coil, that of its control or its own, and the panels of both."""
        control = self._control_by_need.get((item.need.kind, item.need.id))
        if control is None:
            return self._fuses.get(now.fuse or ""), (now.panel,)
        other = self._option_now(self._index.need_by_id[control])
        return (None, ()) if other is None else (self._fuses.get(other.fuse or ""), (now.panel, other.panel))

    def _leads(self, item: NeedAt, now: Option, before: Fuse, panels: Sequence[str]) -> Iterator[str]:
        """Yield what is wrong with the leads of a coil that has no fuse of its own, or has none on paper now."""
        built = [cut.wire for cut in item.option.wires if cut.start in COIL_DESIGNATIONS]
        needed = [cut.wire for cut in now.wires if cut.start in COIL_DESIGNATIONS]
        hot_c = max(self._offer.panel_by_name[name].ambient for name in panels)
        placed = self._offer.wires(hot_c, bundled=True)
        thin = next((wire for wire in built if not self._bears(wire, placed, before)), None)
        if thin is None or not needed:
            return
        if now.coil_fuse is not None:
            yield "the leads of its coil have no in-line fuse; behind the fuse before them they take one"
        else:
            labels = self._labels[thin], self._labels[needed[0]]
            hidden = " behind an in-line fuse, which the paper of now would leave out" * bool(item.option.coil_fuse)
            yield f"the leads of its coil are of {labels[0]}{hidden}; behind the fuse before them they take {labels[1]}"

    def _terminals(self, item: NeedAt, now: Option, before_coil: Fuse | None) -> Iterator[str]:
        """Yield terminals that carry less than the fuse before them; of a coil only where that is given."""
        terminals = {part.id: part for part in self._offer.catalogue.terminals}
        of_the_run = {cut.start for cut in item.option.wires} if item.need.id in self._rewired else set[str]()
        for position, name in item.option.terminal_by_designation.items():
            built, needed = terminals[name], terminals.get(now.terminal_by_designation.get(position, ""))
            at_coil = position in COIL_DESIGNATIONS
            if needed is None or needed.tab != built.tab or (position in of_the_run and not at_coil):
                continue
            rating_a, whose = now.fuse_rating_a, "its fuse"
            if at_coil:
                rating_a, whose = 0.0 if before_coil is None else before_coil.rating, "the fuse before its coil"
            if built.limit < rating_a:
                yield f"its terminal at {position} carries {built.limit:g} A, less than {whose} of {rating_a:g} A"
