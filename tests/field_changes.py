"""
One change for every field that a user can write, and where it must show; and the few that change nothing, with why.

Comes in as the hand-built vehicle; goes out to ``test_fields_matter.py``. A path names tables and entries, an entry by
its id, name or position: ``scenario.feeds.battery.rating``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Shows = Literal["faults", "sizing", "cautions", "findings", "goals", "parts", "wires", "tests", "summary"]
"""
Where a change shows: refused input, the sizing table, its cautions, rules that the old plan now breaks, goal values,
the order list, the wire list, the tests, the summary.
"""


@dataclass(frozen=True)
class Change:
    """Another value at a path, where it shows, and what goes with it."""

    path: str
    value: Any
    shows: Shows
    given: tuple[tuple[str, Any], ...] = ()
    also: tuple[tuple[str, Any], ...] = ()
    """What must change with it to be one sound change."""
    cut: str = ""
    """Strip piece of the plan that is cut after its first way beforehand."""


_TWIN, _RULES = "catalogue.modules.twin", "scenario.rules"
_OTHER_STRIP = {
    "id": "bridge-d",
    "label": "other",
    "price": "9.00",
    "ways": 10,
    "limit": "70 A",
    "inlet_tab": "12 mm",
} | {"derating": [{"ambient": "60 degC", "factor": "80 %"}]}
_ONE_SOCKET = [{"relay_class": "micro", "count": 1}]
_CRITICAL = (("circuits.dip-left.critical", True), ("circuits.dip-left.length", {"": "6 m"}))
_FAR = (("circuits.winch.wire", None), ("circuits.winch.length", {"": "12 m"}))
_AIMS = ((f"{_RULES}.objective", ["bays", {"goal": "carriers", "cap": 4}]),)
_ROOM = ((f"{_RULES}.objective", ["bays", {"goal": "spare-ways", "at_least": 1}]),)
_NARROW_TABS = {"30": "6.3 mm", "87": "6.3 mm", "85": "6.3 mm", "86": "6.3 mm"}
_NOW_INLET = (("catalogue.terminals.ring-M6-16.tab", "12 mm"), ("catalogue.terminals.ring-M6-16.stud", None))
_COLOURS = "scenario.wire_colours.0"
_COLOURED = (("scenario.wire_colours.+", {"functions": ["load"], "colour": "GN"}),)

CHANGES: dict[str, Change] = {
    "Vehicle.name": Change("scenario.vehicle.name", "other boat", "summary"),
    "Vehicle.nominal_voltage": Change("scenario.vehicle.nominal_voltage", "13 V", "faults"),
    "Vehicle.operating_voltage": Change("scenario.vehicle.operating_voltage", "13 V", "sizing"),
    "Vehicle.minimum_voltage": Change("scenario.vehicle.minimum_voltage", "10 V", "sizing"),
    "Vehicle.return_path": Change("scenario.vehicle.return_path", "wire", "wires"),
    "Supply.charger_rating": Change("scenario.supply.charger_rating", "300 A", "cautions"),
    "Supply.battery_capacity": Change("scenario.supply.battery_capacity", "50 Ah", "cautions"),
    "Supply.fault_current": Change("scenario.supply.fault_current", "1500 A", "faults"),
    "Supply.source_fault_current": Change("scenario.supply.source_fault_current", "1500 A", "faults"),
    "Supply.stud": Change(
        "scenario.supply.stud", "M6", "sizing", (("scenario.feeds.ignition.main_fuse_distance", "0.1 m"),)
    ),
    "PanelSite.name": Change("scenario.panels.cabin.name", "wheelhouse", "faults"),
    "PanelSite.ambient": Change("scenario.panels.cabin.ambient", "60 degC", "sizing"),
    "PanelSite.max_bays": Change("scenario.panels.cabin.max_bays", 5, "findings"),
    "PanelSite.carriers": Change("scenario.panels.cabin.carriers", ["frame-4"], "findings"),
    "PanelSite.supply_distance": Change("scenario.panels.cabin.supply_distance", "20 m", "wires"),
    "Feed.name": Change("scenario.feeds.deck.name", "foredeck", "faults"),
    "Feed.kind": Change("scenario.feeds.hold.kind", "ignition", "findings"),
    "Feed.rating": Change("scenario.feeds.ignition.rating", "80 A", "sizing"),
    "Feed.source": Change("scenario.feeds.lights.source", "ignition", "sizing"),
    "Feed.fuse_format": Change("scenario.feeds.lights.fuse_format", "C", "faults"),
    "Feed.relay_class": Change(
        "scenario.feeds.lights.relay_class", None, "sizing", also=(("scenario.feeds.lights.control", None),)
    ),
    "Feed.control": Change("scenario.feeds.lights.control", None, "sizing"),
    "Feed.home": Change("scenario.feeds.deck.home", "cabin", "faults"),
    "Feed.panels": Change("scenario.feeds.ignition.panels", [], "sizing"),
    "Feed.tail_fuse": Change("scenario.feeds.battery.tail_fuse", "80 A", "sizing"),
    "Feed.main_fuse_distance": Change("scenario.feeds.battery.main_fuse_distance", "0.1 m", "wires"),
    "Feed.main_fuse_sheathed": Change(
        "scenario.feeds.battery.main_fuse_sheathed",
        True,
        "cautions",
        (("scenario.feeds.battery.main_fuse_distance", "0.3 m"),),
    ),
    "LoadCase.name": Change("scenario.load_cases.road.name", "street", "faults"),
    "LoadCase.engine_running": Change("scenario.load_cases.parked.engine_running", True, "cautions"),
    "LoadCase.hours": Change("scenario.load_cases.parked.hours", "0.1 h", "cautions"),
    "Rules.loading_factor": Change(f"{_RULES}.loading_factor", "50 %", "sizing"),
    "Rules.feed_loading": Change(f"{_RULES}.feed_loading", "50 %", "sizing"),
    "Rules.drop_critical": Change(f"{_RULES}.drop_critical", "1 %", "sizing", _CRITICAL),
    "Rules.drop_other": Change(f"{_RULES}.drop_other", "5 %", "sizing"),
    "Rules.bundle_factor": Change(f"{_RULES}.bundle_factor", "60 %", "sizing"),
    "Rules.fuse_over_wire": Change(f"{_RULES}.fuse_over_wire", "small-craft-150", "sizing"),
    "Rules.bundle_table": Change(f"{_RULES}.bundle_table", "bunched", "sizing", (("circuits.pump-a.bundle", 20),)),
    "Rules.upstream_drop": Change(f"{_RULES}.upstream_drop", "50 %", "sizing"),
    "Rules.run_allowance": Change(f"{_RULES}.run_allowance", "5 %", "wires"),
    "Rules.wire_system": Change(f"{_RULES}.wire_system", "any", "sizing"),
    "Rules.fuse_outlasts_start": Change(
        f"{_RULES}.fuse_outlasts_start", False, "sizing", (("circuits.washer.stall", "18 A"),)
    ),
    "Rules.strict_contacts": Change(f"{_RULES}.strict_contacts", True, "faults"),
    "Rules.one_piece_per_feed_and_row": Change(
        f"{_RULES}.one_piece_per_feed_and_row",
        True,
        "findings",
        ((f"{_RULES}.one_piece_per_feed_and_row", False),),
        cut="aft/3/A/1-2",
    ),
    "Rules.hot_share": Change(
        f"{_RULES}.hot_share", "50 %", "findings", ((f"{_RULES}.hot_share", "65 %"), (f"{_RULES}.hot_from", "5 A"))
    ),
    "Rules.hot_from": Change(f"{_RULES}.hot_from", "5 A", "findings"),
    "Rules.relay_beside_fuse_from": Change(f"{_RULES}.relay_beside_fuse_from", "10 A", "findings"),
    "Rules.use_stock": Change(
        f"{_RULES}.use_stock", True, "findings", ((f"{_RULES}.use_stock", False), (f"{_TWIN}.stock", 1))
    ),
    "Rules.objective": Change(f"{_RULES}.objective", ["price", "bays"], "summary"),
    "Aim.goal": Change(f"{_RULES}.objective.1.goal", "panels", "summary", _AIMS),
    "Aim.tolerance": Change(f"{_RULES}.objective.1.tolerance", 1, "summary", _AIMS),
    "Aim.at_least": Change(f"{_RULES}.objective.1.at_least", 100, "findings", _ROOM),
    "Aim.cap": Change(f"{_RULES}.objective.1.cap", 3, "findings", _AIMS),
    "Rules.modules": Change(f"{_RULES}.modules", [{"module": "bus", "most": 1}], "findings"),
    "Rules.spares": Change(f"{_RULES}.spares", [], "sizing"),
    "Rules.apart": Change(f"{_RULES}.apart", [{"circuits": ["horn", "dip-right"], "level": "row"}], "findings"),
    "Rules.together": Change(f"{_RULES}.together", [{"circuits": ["horn", "fan"], "level": "row"}], "findings"),
    "ModuleLimit.module": Change(
        f"{_RULES}.modules.0.module", "bus", "findings", ((f"{_RULES}.modules", [{"module": "solo", "most": 1}]),)
    ),
    "ModuleLimit.most": Change(f"{_RULES}.modules.0.most", 2, "findings"),
    "Spare.fuse_format": Change(f"{_RULES}.spares.0.fuse_format", "E", "sizing"),
    "Spare.count": Change(f"{_RULES}.spares.0.count", 2, "sizing"),
    "Spare.feed": Change(f"{_RULES}.spares.0.feed", "battery", "sizing"),
    "Spare.panel": Change(f"{_RULES}.spares.1.panel", "cabin", "sizing"),
    "Spare.reserve": Change(f"{_RULES}.spares.0.reserve", "3 A", "sizing"),
    "Bond.circuits": Change(f"{_RULES}.apart.0.circuits", ["dip-right", "horn"], "findings"),
    "Bond.level": Change(f"{_RULES}.together.3.level", "row", "findings"),
    "Issue.revision": Change("scenario.document.revision", "B", "summary"),
    "Issue.date": Change("scenario.document.date", "2025-03-31", "summary"),
    "Issue.supersedes": Change("scenario.document.supersedes", "revision A", "summary"),
    "WireColour.functions": Change(f"{_COLOURS}.functions", ["load", "jumper"], "wires", _COLOURED),
    "WireColour.kinds": Change(f"{_COLOURS}.kinds", ["ignition"], "wires", _COLOURED),
    "WireColour.feeds": Change(f"{_COLOURS}.feeds", ["battery"], "wires", _COLOURED),
    "WireColour.circuits": Change(f"{_COLOURS}.circuits", ["horn"], "wires", _COLOURED),
    "WireColour.colour": Change(f"{_COLOURS}.colour", "PK", "wires", _COLOURED),
    "WireColour.tracer": Change(f"{_COLOURS}.tracer", "WH", "wires", _COLOURED),
    "Circuit.id": Change("circuits.dip-left.id", "dip-port", "faults"),
    "Circuit.order": Change("circuits.pump-a.order", 1, "wires"),
    "Circuit.label": Change("circuits.pump-a.label", "Pump in the bow", "wires"),
    "Circuit.load": Change("circuits.pump-a.load", "6 A", "sizing"),
    "Circuit.load_type": Change("circuits.winch.load_type", "motor", "cautions"),
    "Circuit.duty": Change("circuits.heater.duty", "10 %", "cautions"),
    "Circuit.load_cases": Change("circuits.winch.load_cases", [], "sizing"),
    "Circuit.feeds": Change("circuits.winch.feeds", ["battery"], "findings"),
    "Circuit.panels": Change("circuits.winch.panels", ["cabin"], "faults"),
    "Circuit.switching": Change("circuits.fan.switching", "none", "sizing"),
    "Circuit.control": Change("circuits.fan.control", "light-switch", "sizing"),
    "Circuit.length": Change("circuits.winch.length", {"": "12 m"}, "wires"),
    "Circuit.return_length": Change("circuits.winch.return_length", "12 m", "sizing"),
    "Circuit.bundle": Change("circuits.pump-a.bundle", 25, "sizing"),
    "Circuit.drop": Change("circuits.winch.drop", "4 %", "sizing", _FAR),
    "Circuit.stall": Change("circuits.fan.stall", "12 A", "cautions"),
    "Circuit.quiescent": Change("circuits.hazard.quiescent", "80 mA", "cautions"),
    "Circuit.critical": Change("circuits.winch.critical", True, "sizing", _FAR),
    "Circuit.key_out": Change("circuits.dip-left.key_out", True, "findings"),
    "Circuit.fuse_format": Change("circuits.winch.fuse_format", "E", "sizing"),
    "Circuit.fuse_rating": Change("circuits.pump-b.fuse_rating", "15 A", "sizing"),
    "Circuit.wire": Change("circuits.winch.wire", "10 mm2", "sizing"),
    "Circuit.relay_class": Change("circuits.horn.relay_class", "heavy", "sizing"),
    "Circuit.pin": Change("circuits.radio.pin", "cabin/4/A", "findings"),
    "Catalogue.notice": Change("catalogue.notice", "made up", "parts"),
    "Catalogue.currency": Change("catalogue.currency", "GBP", "parts"),
    "Catalogue.tail_length": Change("catalogue.tail_length", "1 m", "wires"),
    "Catalogue.short_jumper": Change("catalogue.short_jumper", "0.2 m", "wires"),
    "Catalogue.long_jumper": Change("catalogue.long_jumper", "0.9 m", "wires"),
    "Catalogue.end_allowance": Change("catalogue.end_allowance", "0.05 m", "wires"),
    "Module.bays": Change(f"{_TWIN}.bays", 2, "findings"),
    "Module.rows": Change(f"{_TWIN}.rows", [], "findings", ((f"{_TWIN}.sockets", _ONE_SOCKET),)),
    "Module.sockets": Change("catalogue.modules.bus.sockets", [], "findings"),
    "Module.limit": Change(f"{_TWIN}.limit", "50 A", "sizing"),
    "Module.stated_ambient": Change(f"{_TWIN}.stated_ambient", "30 degC", "sizing"),
    "Module.derating": Change(f"{_TWIN}.derating", [], "sizing"),
    "Module.stud": Change("catalogue.modules.bus.stud", "M8", "sizing"),
    "Module.stud_limit": Change("catalogue.modules.bus.stud_limit", "30 A", "sizing"),
    "Row.ways": Change(f"{_TWIN}.rows.0.ways", 2, "findings"),
    "Row.fuse_format": Change(
        f"{_TWIN}.rows.0.fuse_format", "E", "findings", also=((f"{_TWIN}.rows.0.tab", "9.5 mm"),)
    ),
    "Row.bus": Change(f"{_TWIN}.rows.0.bus", "single", "findings", also=((f"{_TWIN}.rows.0.strip", None),)),
    "Row.limit": Change(f"{_TWIN}.rows.0.limit", "20 A", "sizing"),
    "Row.tab": Change(f"{_TWIN}.rows.0.tab", "4.8 mm", "faults"),
    "Row.strip": Change(f"{_TWIN}.rows.0.strip", "bridge-d", "goals", (("catalogue.strips.+", _OTHER_STRIP),)),
    "Sockets.relay_class": Change("catalogue.modules.bus.sockets.0.relay_class", "standard", "findings"),
    "Sockets.count": Change("catalogue.modules.wide.sockets.0.count", 1, "findings"),
    "DeratingStep.ambient": Change(f"{_TWIN}.derating.0.ambient", "45 degC", "sizing"),
    "DeratingStep.factor": Change(f"{_TWIN}.derating.0.factor", "70 %", "sizing"),
    "Carrier.bays": Change("catalogue.carriers.frame-4.bays", 3, "findings"),
    "Carrier.width": Change("catalogue.carriers.frame-4.width", "250 mm", "goals"),
    "Carrier.height": Change("catalogue.carriers.frame-4.height", "250 mm", "goals"),
    "Carrier.cover_width": Change("catalogue.carriers.frame-4.cover_width", "200 mm", "legends"),
    "Carrier.cover_height": Change("catalogue.carriers.frame-4.cover_height", "110 mm", "legends"),
    "Strip.ways": Change("catalogue.strips.bridge-c.ways", 25, "goals"),
    "Strip.limit": Change("catalogue.strips.bridge-c.limit", "20 A", "sizing"),
    "Strip.stated_ambient": Change("catalogue.strips.bridge-c.stated_ambient", "30 degC", "sizing"),
    "Strip.derating": Change("catalogue.strips.bridge-c.derating", [], "sizing"),
    "Strip.offcuts": Change("catalogue.strips.bridge-c.offcuts", [3, 5], "parts"),
    "Strip.inlet_tab": Change("catalogue.strips.bridge-c.inlet_tab", "9.5 mm", "sizing"),
    "Fuse.fuse_format": Change("catalogue.fuses.C-15.fuse_format", "E", "sizing"),
    "Fuse.rating": Change("catalogue.fuses.C-10.rating", "11 A", "faults"),
    "Fuse.voltage": Change("catalogue.fuses.C-10.voltage", "12 V", "faults"),
    "Fuse.breaking_capacity": Change("catalogue.fuses.C-5.breaking_capacity", "500 A", "sizing"),
    "Fuse.cold_resistance": Change("catalogue.fuses.C-15.cold_resistance", "4.2 mohm", "tests"),
    "Fuse.drop": Change("catalogue.fuses.C-15.drop", "900 mV", "summary"),
    "Relay.relay_class": Change("catalogue.relays.make-heavy.relay_class", "standard", "faults"),
    "Relay.function": Change("catalogue.relays.flash-standard.function", "make", "faults"),
    "Relay.voltage": Change("catalogue.relays.make-heavy.voltage", "24 V", "faults"),
    "Relay.coil": Change("catalogue.relays.make-heavy.coil", "50 ohm", "sizing"),
    "Relay.resistive": Change("catalogue.relays.make-heavy.resistive", "30 A", "faults"),
    "Relay.lamp": Change("catalogue.relays.flash-standard.lamp", "5 A", "faults"),
    "Relay.motor": Change("catalogue.relays.change-standard.motor", "5 A", "faults"),
    "Relay.inductive": Change("catalogue.relays.make-micro.inductive", "5 A", "faults"),
    "Relay.break_share": Change("catalogue.relays.change-standard.break_share", "30 %", "faults"),
    "Relay.suppressed": Change("catalogue.relays.make-micro.suppressed", True, "cautions"),
    "RelayTabs.relay_class": Change("catalogue.relay_tabs.0.relay_class", "heavy", "faults"),
    "RelayTabs.function": Change("catalogue.relay_tabs.0.function", "flasher", "faults"),
    "RelayTabs.tabs": Change("catalogue.relay_tabs.0.tabs", _NARROW_TABS, "sizing"),
    "Terminal.kind": Change("catalogue.terminals.ring-M6-16.kind", "inlet", "sizing", also=_NOW_INLET),
    "Terminal.tab": Change("catalogue.terminals.tab-4.8-2.5.tab", "6.3 mm", "faults"),
    "Terminal.stud": Change("catalogue.terminals.ring-M6-16.stud", "M8", "sizing"),
    "Terminal.smallest_wire": Change("catalogue.terminals.inlet-12-16.smallest_wire", "16 mm2", "sizing"),
    "Terminal.largest_wire": Change("catalogue.terminals.inlet-12-16.largest_wire", "6 mm2", "sizing"),
    "Terminal.limit": Change("catalogue.terminals.inlet-12-16.limit", "20 A", "sizing"),
    "Wire.area": Change("catalogue.wires.w2.5.area", "3 mm2", "sizing"),
    "Wire.insulation": Change("catalogue.wires.w2.5.insulation", "75 degC", "sizing"),
    "Stud.size": Change("catalogue.studs.post-m6.size", "M5", "sizing"),
    "Stud.limit": Change("catalogue.studs.post-m6.limit", "30 A", "sizing"),
    "Stud.stack": Change("catalogue.studs.post-m6.stack", 6, "sizing"),
    "Holder.fuse_format": Change("catalogue.holders.holder-sf30.fuse_format", "C", "faults"),
    "Holder.limit": Change("catalogue.holders.holder-sf30.limit", "50 A", "faults"),
    "MainHolder.fuse_format": Change("catalogue.main_holders.main-sf30.fuse_format", "E", "faults"),
    "MainHolder.limit": Change("catalogue.main_holders.main-sf30.limit", "90 A", "faults"),
    "MainHolder.stud": Change("catalogue.main_holders.main-sf30.stud", "M6", "sizing"),
    "MainHolder.stack": Change("catalogue.main_holders.main-sf30.stack", 1, "faults"),
    "Accessory.per": Change("catalogue.accessories.for-row.per", "carrier", "goals"),
    "Accessory.quantity": Change("catalogue.accessories.for-row.quantity", 2, "goals"),
    "Accessory.note": Change("catalogue.accessories.for-row.note", "goes in last", "parts"),
}

_ONE_OF_EACH: dict[str, tuple[str, Shows]] = {
    "Module": ("modules.twin", "faults"),
    "Carrier": ("carriers.frame-4", "faults"),
    "Strip": ("strips.bridge-c", "faults"),
    "Fuse": ("fuses.C-10", "sizing"),
    "Relay": ("relays.make-micro", "sizing"),
    "Terminal": ("terminals.tab-6.3-2.5", "sizing"),
    "Wire": ("wires.w2.5", "sizing"),
    "Stud": ("studs.post-m6", "sizing"),
    "Holder": ("holders.holder-sf30", "sizing"),
    "MainHolder": ("main_holders.main-sf30", "sizing"),
    "Accessory": ("accessories.for-row", "parts"),
}
"""A part of each table that the plan uses, and where another id for it shows: some are named elsewhere."""

for _model, (_entry, _shows) in _ONE_OF_EACH.items():
    CHANGES |= {
        f"{_model}.id": Change(f"catalogue.{_entry}.id", "another", _shows),
        f"{_model}.label": Change(f"catalogue.{_entry}.label", "another name", "parts"),
        f"{_model}.price": Change(f"catalogue.{_entry}.price", "77.00", "goals"),
        f"{_model}.pack": Change(f"catalogue.{_entry}.pack", 50, "parts"),
        f"{_model}.stock": Change(f"catalogue.{_entry}.stock", 3, "parts"),
        f"{_model}.lead_days": Change(f"catalogue.{_entry}.lead_days", 9, "parts"),
    }

UNSEEN: dict[str, str] = {
    "Scenario.catalogue": "names the file that the catalogue is read from; what stands in it shows",
    "Catalogue.name": "a heading only",
    "Feed.label": "a heading only",
    "Circuit.note": "for whoever edits the table",
}
"""Fields that change no sum, plan or list, and why."""
