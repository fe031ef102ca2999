"""
What every circuit of a plan loses on its way: in the cables before its panel, within the panel, along its run and back.

Comes in as an indexed plan; goes out as volts by part of the way, for charts and test sheets. The meaning is "Drop of a
plan" in ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from allocator.plan.index import EntryAt, NeedAt, PlanIndex
from allocator.plan.measures import entry_load_ma, feed_loads, need_loads
from allocator.plan.parts import supplies
from allocator.sizing.loads import Loads
from allocator.sizing.offer import Offer
from allocator.sizing.runs import run_of
from allocator.sizing.wires import conductor_temperature_c, drop_v, resistance_ohm_per_m
from allocator.units import MM_PER_M, from_model


@dataclass(frozen=True, slots=True)
class Drop:
    """
    What one circuit loses, V, in the load case in which it loses most.

    Attributes
    ----------
    circuit, feed, panel, case
        The circuit, where it stands, and the load case.
    cables_v
        Leads and cables of its feed and of all before it, from the source on; with their way back where that is a wire.
    panel_v
        Feed tails and the jumper to its relay.
    run_v, return_v
        Wire to the load, and the wire back (0 where the chassis returns the current).
    limit_v
        Drop that it is allowed.
    """

    circuit: str
    feed: str
    panel: str
    case: str
    cables_v: float
    panel_v: float
    run_v: float
    return_v: float
    limit_v: float

    @property
    def total_v(self) -> float:
        """Sum of all parts, V."""
        return self.cables_v + self.panel_v + self.run_v + self.return_v

    @property
    def is_over(self) -> bool:
        """Whether more is lost than is allowed."""
        return self.total_v > self.limit_v


def drops(index: PlanIndex) -> tuple[Drop, ...]:
    """Return what every circuit of a plan loses, in listing order."""
    return _Drops(index).all()


class _Drops:
    def __init__(self, index: PlanIndex) -> None:
        self._index = index
        self._requirements = index.sized.requirements
        self._offer = Offer(self._requirements)
        self._loads = Loads(self._offer)
        self._by_need = need_loads(index)
        self._wires = {wire.id: wire for wire in self._requirements.catalogue.wires}
        self._back = 2 if self._requirements.scenario.vehicle.return_path == "wire" else 1

    def all(self) -> tuple[Drop, ...]:
        """Return the drop of every circuit."""
        circuits = {circuit.id for circuit in self._requirements.circuits}
        return tuple(self._worst(item) for item in self._index.needs if item.need.id in circuits)

    def _worst(self, item: NeedAt) -> Drop:
        cases = range(len(self._requirements.scenario.load_cases))
        running = [case for case in cases if item.need.load_ma_by_case[case]] or list(cases)
        before = {case: self._before(item, case) for case in running}
        case = max(running, key=lambda number: (sum(before[number]), -number))
        cables_v, panel_v = before[case]
        circuit = next(one for one in self._requirements.circuits if one.id == item.need.id)
        run = run_of(self._offer, circuit, self._offer.panel_by_name[item.panel], self._loads.of(circuit.id).run_ma)
        run_a, limit_a = from_model(run.load_ma), item.option.wire_limit_a
        kept = 1 - self._requirements.scenario.rules.upstream_drop / 100
        return Drop(
            circuit=circuit.id,
            feed=item.feed,
            panel=item.panel,
            case=self._requirements.scenario.load_cases[case].name,
            cables_v=cables_v,
            panel_v=panel_v + self._jumper_v(item, case),
            run_v=self._lost_v(str(item.option.wire), run.out_m, run_a, item.panel, limit_a),
            return_v=self._lost_v(str(item.option.wire), run.back_m, run_a, item.panel, limit_a),
            limit_v=run.allowed_v / kept,
        )

    def _before(self, item: NeedAt, case: int) -> tuple[float, float]:
        """Return what is lost before the way or socket of a need: in cables, and in tails, V."""
        entry = self._entry_of(item)
        feed = self._index.sized.feeds[item.feed]
        cable_ma = sum(self._entry_loads[other.piece.at][case] for other in self._entries(entry))
        cable_m = feed.cable_mm_by_panel[item.panel] / MM_PER_M * self._back
        cables_v = self._lost_v(feed.cable_wire, cable_m, from_model(cable_ma), item.panel)
        if feed.main is not None and feed.main.lead_mm:  # the lead before the main fuse carries the whole feed
            lead_a = from_model(self._feed_loads[feed.name][case])
            cables_v += self._lost_v(feed.cable_wire, feed.main.lead_mm / MM_PER_M * self._back, lead_a, item.panel)
        tail_v = 0.0
        if (feed.name, item.panel) in self._joined:
            tail_a = from_model(self._entry_loads[entry.piece.at][case])
            tail_v = self._lost_v(
                self._index.tail_of(entry).wire, self._requirements.catalogue.tail_length, tail_a, item.panel
            )
        if feed.source is None:
            return cables_v, tail_v
        own = self._index.need_by_id[feed.name]
        before_cables_v, before_panel_v = self._before(own, case)
        return cables_v + before_cables_v, tail_v + before_panel_v + self._jumper_v(own, case)

    def _entry_of(self, item: NeedAt) -> EntryAt:
        if item.way is not None:
            return self._index.entry_by_way[item.way]
        return next(entry for entry in self._index.entries if entry.piece.at == str(item.socket))

    def _entries(self, entry: EntryAt) -> tuple[EntryAt, ...]:
        return self._index.entries_of(entry.piece.feed, entry.at.panel)

    @cached_property
    def _entry_loads(self) -> Mapping[str, tuple[int, ...]]:
        return {entry.piece.at: entry_load_ma(self._index, entry, self._by_need) for entry in self._index.entries}

    @cached_property
    def _feed_loads(self) -> Mapping[str, tuple[int, ...]]:
        return {load.feed: load.load_ma_by_case for load in feed_loads(self._index)}

    @cached_property
    def _joined(self) -> frozenset[tuple[str, str]]:
        """Feeds at panels where a stud stands between cable and tails."""
        return frozenset((supply.feed.name, supply.panel) for supply in supplies(self._index) if supply.num_studs)

    def _jumper_v(self, item: NeedAt, case: int) -> float:
        if item.jumper is None or item.option.jumper_wire is None:
            return 0.0
        catalogue = self._requirements.catalogue
        length_m = catalogue.short_jumper if item.jumper == "short" else catalogue.long_jumper
        load_a = from_model(self._by_need[item.need.id][case])
        return self._lost_v(item.option.jumper_wire, length_m, load_a, item.panel)

    def _lost_v(self, wire: str, length_m: float, load_a: float, panel: str, limit_a: float | None = None) -> float:
        """Return the volts lost along a wire that is as warm as its load makes it."""
        part, ambient_c = self._wires[wire], self._offer.panel_by_name[panel].ambient
        if limit_a is None:
            placed = self._offer.wires(ambient_c, bundled=False)
            limit_a = from_model(next(item.limit_ma for item in placed if item.part.id == wire))
        hot_c = conductor_temperature_c(ambient_c, part.insulation, load_a, limit_a)
        return drop_v(load_a, length_m, resistance_ohm_per_m(part.area, hot_c, self._requirements.figures))
