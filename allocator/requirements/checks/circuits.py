"""Circuits: feeds and panels that meet, lengths for every panel, the key, and pins."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.address import Place, parse_place
from allocator.requirements.checks.feeds import always_live, reaches
from allocator.requirements.drafting import Draft
from allocator.requirements.lamps import discharge_names, lamp_voltages
from allocator.requirements.places import Item, PlacedFault, quoted, shown
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Feed

_FILAMENT = ("filament lamp", "filament-lamp")
_DISCHARGE = ("gas-discharge lamp, whose ballast is what is switched", "electronics")
"""What a lamp by name is, and the kind of load that it is."""


def circuit_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of the circuits on their own."""
    if draft.names("panels") is None or draft.names("feeds") is None:
        return
    pinned: dict[str, str] = {}
    for item in draft.circuits:
        feeds = [draft.feed_by_name[name] for name in item.value.feeds if name in draft.feed_by_name]
        if len(feeds) < len(item.value.feeds):
            panels = _accepted(draft, item.value)  # a feed that is unknown or broken might have reached any
        else:
            yield from _key_out(draft, item, feeds)
            panels = [panel for panel in _accepted(draft, item.value) if any(reaches(feed, panel) for feed in feeds)]
            yield from _reach(draft, item, panels)
        yield from _length(item, panels)
        yield from _pin(draft, item, panels, pinned)
        yield from _lamps(draft, item)
        yield from _stall(draft, item)
        yield from _bundle(draft, item)


def _bundle(draft: Draft, item: Item[Circuit]) -> Iterator[PlacedFault]:
    count = item.value.bundle
    if count is None or draft.rules is None:
        return
    name = draft.rules.value.bundle_table
    most = max(draft.figures.bundles.value[name])
    if count > most:
        message = f"{item.spot.subject} shares its bundle with more circuits than table {shown(name)} knows"
        hint = "split the bundle, or choose another bundle_table"
        yield item.spot.fault("bundle-past-table", message, "bundle", known=f"its last column is {most:g}", hint=hint)


def _stall(draft: Draft, item: Item[Circuit]) -> Iterator[PlacedFault]:
    circuit = item.value
    if circuit.stall is None:
        return
    if circuit.load_type != "motor":
        message = f"{item.spot.subject} has a stall current and is of kind {circuit.load_type}"
        yield item.spot.fault("stall-without-motor", message, "stall", known="only a motor stalls")
    elif circuit.load.unit == "A" and circuit.stall < circuit.load.total(0, draft.figures):
        message = (
            f"{item.spot.subject} stalls at {circuit.stall:g} A, less than the {circuit.load.text} that it runs at"
        )
        yield item.spot.fault("stall-below-load", message, "stall")


def _lamps(draft: Draft, item: Item[Circuit]) -> Iterator[PlacedFault]:
    load, kind = item.value.load, item.value.load_type
    for name in load.lamps:
        what, right = _DISCHARGE if name in discharge_names() else _FILAMENT
        if kind != right:
            message = f"{item.spot.subject} names lamp {name} and is of kind {kind}"
            hint = f'make it of kind "{right}", a circuit for each kind, or give the load in watts'
            yield item.spot.fault("lamp-of-other-kind", message, "load_type", known=f"{name} is a {what}", hint=hint)
            break
    if draft.vehicle is None:
        return
    volts = draft.vehicle.value.nominal_voltage
    for name in load.lamps:
        known_for = lamp_voltages(name, draft.figures)
        if volts not in known_for:
            message = f"{item.spot.subject} names lamp {name}, whose watts are not known for {volts:g} V"
            known = f"known for {' and '.join(f'{other:g} V' for other in known_for)}"
            yield item.spot.fault("lamp-for-other-net", message, "load", known=known, hint="give the load in watts")


def _accepted(draft: Draft, circuit: Circuit) -> list[str]:
    known = list(dict.fromkeys(draft.names("panels") or []))
    return [panel for panel in known if not circuit.panels or panel in circuit.panels]


def _key_out(draft: Draft, item: Item[Circuit], feeds: list[Feed]) -> Iterator[PlacedFault]:
    if item.value.key_out and not any(always_live(draft, feed) for feed in feeds):
        message = f"{item.spot.subject} must work with the key out, and accepts no feed that is always live"
        live = [other.value.name for other in draft.feeds if always_live(draft, other.value)]
        known = f"always live: {quoted(live)}" if live else "no feed is always live"
        yield item.spot.fault("key-out-without-permanent-feed", message, "feeds", known=known)


def _reach(draft: Draft, item: Item[Circuit], panels: list[str]) -> Iterator[PlacedFault]:
    if not panels and _accepted(draft, item.value):
        message = f"{item.spot.subject} accepts no panel that one of its feeds reaches"
        known = f"it accepts {quoted(_accepted(draft, item.value))}"
        yield item.spot.fault("no-panel-reached", message, "feeds", known=known)


def _length(item: Item[Circuit], panels: list[str]) -> Iterator[PlacedFault]:
    lengths = item.value.length
    missing = [panel for panel in panels if "" not in lengths and panel not in lengths]
    if missing:
        message = f"{item.spot.subject} has no length for {quoted(missing)}, where it may be"
        such = "; ".join(f"{panel}: 3.2 m" for panel in missing)
        hint = f"add the run from there, such as {shown(such)}, or write one length for all panels"
        yield item.spot.fault("length-missing", message, "length", hint=hint)


def _pin(draft: Draft, item: Item[Circuit], panels: list[str], pinned: dict[str, str]) -> Iterator[PlacedFault]:
    pin, spot = item.value.pin, item.spot
    if pin is None:
        return
    try:
        place = parse_place(pin)
    except ValueError as error:
        yield spot.fault("bad-pin", f'"pin" of {spot.subject} is no place: {error}', "pin")
        return
    message = _pin_problem(draft, place, panels)
    if message:
        yield spot.fault("bad-pin", f'"pin" of {spot.subject} {message}', "pin", known=f"it may be at {quoted(panels)}")
    elif place.first is not None:
        other = pinned.setdefault(str(place), item.value.id)
        if other != item.value.id:
            message = f"{spot.subject} is pinned to a way that circuit {shown(other)} is pinned to"
            yield spot.fault("pin-clash", message, "pin")


def _pin_problem(draft: Draft, place: Place, panels: list[str]) -> str:
    site = draft.panel_by_name.get(place.panel)
    if place.last is not None:
        return "is a span of ways; a circuit has one way"
    if place.panel not in (draft.names("panels") or []):
        return f"names the unknown panel {shown(place.panel)}"
    if place.panel not in panels:
        return f"names panel {shown(place.panel)}, where the circuit may not be"
    if site is not None and place.bay is not None and place.bay > site.max_bays:
        return f"names bay {place.bay}, and panel {shown(place.panel)} has room for {site.max_bays}"
    return ""
