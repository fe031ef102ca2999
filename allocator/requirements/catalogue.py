"""
The schema of a catalogue: every part that a panel is built from.

Comes in as TOML (``reading.py``), goes out as frozen models. Each field's description feeds the reference page.
Every price is the unit price; ``pack`` is how many the supplier sells together.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from allocator.requirements.quantities import (
    Ampere,
    Area,
    Celsius,
    Cents,
    ColdOhm,
    CutLength,
    FuseDrop,
    Millimetre,
    Ohm,
    Rating,
    Share,
    Volt,
)

FuseFormat = Literal["A", "C", "E", "F", "N", "P", "SF30", "SF51"]
"""Type letter of ISO 8820 (part 3: C, E, F; part 4: A; part 5: SF30, SF51; part 12: N; part 13: P)."""

RelayClass = Literal["micro", "standard", "heavy"]
"""Trade words for the relay sizes of ISO 7588: micro (part 3), standard (part 1), heavy (part 2, high-power)."""

RelayFunction = Literal["make", "changeover", "flasher"]
Occasion = Literal["carrier", "bay", "empty-bay", "module", "row", "socket", "relay", "unused-cavity", "feed-tail"]
"""What an accessory is ordered for, so many for each."""
LoadType = Literal["resistive", "filament-lamp", "led", "motor", "inductive", "electronics", "heater"]

StudSize = Literal["M5", "M6", "M8", "M10"]
"""Thread of a stud that takes ring terminals."""

Whole = Annotated[int, Field(strict=True)]
YesNo = Annotated[bool, Field(strict=True)]
Count = Annotated[int, Field(strict=True, ge=1, le=1000)]

# Control characters, and those that turn the direction of text, would break drawings and lists.
_CONTROL = r"\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufffe\uffff"
Text = Annotated[str, Field(pattern=f"^[^{_CONTROL}]*$")]
_INNER = rf'[^/,;:@"{_CONTROL}]'
_OUTER = rf'[^/\s,;:@"{_CONTROL}]'
NAME_PATTERN = f"^{_OUTER}({_INNER}*{_OUTER})?$"
Identifier = Annotated[str, Field(min_length=1, max_length=60, pattern=NAME_PATTERN)]
"""A name that can stand in an address, in a list within a cell and between quotes."""


class Strict(BaseModel):
    """Base of every table: unknown fields are faults, values never change."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Part(Strict):
    """Fields that every part has."""

    id: Identifier = Field(description="part number of the catalogue, unique over all tables")
    label: Text = Field(description="name on lists and drawings", max_length=80)
    price: Cents = Field(description="unit price in the catalogue's currency, for example 4.35")
    pack: Count = Field(1, description="pieces sold together; the order list rounds up to it")
    stock: Whole | None = Field(None, ge=0, le=1_000_000, description="pieces on the shelf; no value: not counted")
    lead_days: Whole = Field(0, ge=0, le=1000, description="days from order to delivery")


class DeratingStep(Strict):
    """One column of a derating table."""

    ambient: Celsius = Field(description="ambient temperature up to which the factor holds")
    factor: Share = Field(description="share of the stated limit that is allowed, for example 85 %")


class Row(Strict):
    """Ways side by side in a module."""

    ways: Count = Field(description="number of fuse positions")
    fuse_format: FuseFormat = Field(description="fuse format of every way of the row")
    bus: Literal["strip", "single", "stud"] = Field(
        description="strip: takes a bus strip; single: each way is fed on its own; stud: on the solid bus of the module"
    )
    limit: Rating | None = Field(None, description="continuous current of all ways of the row together")
    tab: Millimetre = Field(description="nominal tab width of the output terminals (and of single supply terminals)")
    strip: Identifier | None = Field(None, description="bus strip that fits; needed when bus is strip")


class Sockets(Strict):
    """Relay positions of one class in a module."""

    relay_class: RelayClass = Field(description="class of the relays they take")
    count: Count = Field(description="how many")


class Module(Part):
    """An insert of rows and/or sockets that fills one or more bays."""

    bays: Annotated[int, Field(strict=True, ge=1, le=4)] = Field(1, description="bays it fills")
    rows: tuple[Row, ...] = Field((), max_length=6, description="rows of fuse ways, from the top")
    sockets: tuple[Sockets, ...] = Field((), max_length=3, description="relay positions")
    limit: Rating | None = Field(None, description="continuous current of all ways together at the stated ambient")
    stated_ambient: Celsius = Field(40.0, description="ambient temperature at which row and module limits hold")
    derating: tuple[DeratingStep, ...] = Field(
        (), description="allowance above the stated ambient; none: no allowance there"
    )
    stud: StudSize | None = Field(None, description="supply stud of the solid bus")
    stud_limit: Rating | None = Field(None, description="continuous current through the stud")


class Carrier(Part):
    """A frame of bays that is screwed to the vehicle; a mount for one module is a carrier of one bay."""

    bays: Annotated[int, Field(strict=True, ge=1, le=40)] = Field(description="modules of one bay it holds")
    width: Millimetre = Field(description="over all, for the footprint")
    height: Millimetre = Field(description="over all, for the footprint")
    cover_width: Millimetre | None = Field(None, description="room for the lid legend in the cover; else width")
    cover_height: Millimetre | None = Field(None, description="room for the lid legend in the cover; else height")

    @property
    def legend_mm(self) -> tuple[float, float]:
        """Width and height of the lid legend, mm."""
        return self.cover_width or self.width, self.cover_height or self.height


class Strip(Part):
    """Bridged supply terminals, sold in lengths of so many ways, cut to pieces; the price is for a whole length."""

    ways: Count = Field(description="ways of one stock length")
    limit: Rating = Field(description="continuous current of one piece at the stated ambient")
    stated_ambient: Celsius = Field(40.0, description="ambient temperature at which the limit holds")
    derating: tuple[DeratingStep, ...] = Field(
        (), description="allowance above the stated ambient; none: no allowance there"
    )
    inlet_tab: Millimetre = Field(description="tab width of the inlet that takes the feed tail")
    offcuts: tuple[Count, ...] = Field((), max_length=200, description="ways of each offcut on the shelf")


class Fuse(Part):
    """One fuse: a format and a rating."""

    fuse_format: FuseFormat = Field(description="type of the fuse")
    rating: Rating = Field(description="as printed on it")
    voltage: Volt = Field(description="rated voltage")
    breaking_capacity: Rating = Field(description="largest fault current it may break")
    drop: FuseDrop | None = Field(
        None,
        description="voltage drop at the rated current, for the heat of modules; none: a published one of its kind",
    )
    cold_resistance: ColdOhm | None = Field(
        None, description="cold resistance, to read small currents from its drop; none: a published one of its kind"
    )


class Relay(Part):
    """One relay: class, function, coil voltage, contact ratings."""

    relay_class: RelayClass = Field(description="size, which says what socket it takes")
    function: RelayFunction = Field(description="make; changeover, with 87a; flasher")
    voltage: Volt = Field(description="nominal coil voltage")
    coil: Ohm = Field(description="coil resistance")
    resistive: Ampere = Field(description="make contact (30-87), resistive loads and heaters")
    lamp: Ampere = Field(description="make contact, filament lamps")
    motor: Ampere = Field(description="make contact, motors")
    inductive: Ampere = Field(description="make contact, solenoids and other inductive loads")
    break_share: Share = Field(100.0, description="rating of the break contact (87a) as a share of the make contact's")
    suppressed: YesNo = Field(False, description="has suppression across the coil; then 86 is positive")


class RelayTabs(Strict):
    """Terminals of a relay socket: tab width by DIN 72552 designation."""

    relay_class: RelayClass = Field(description="class of the socket")
    function: RelayFunction = Field(description="function of the relay in it")
    tabs: dict[Literal["30", "85", "86", "87", "87a", "49", "49a", "31"], Millimetre] = Field(
        description="tab width of each terminal, by designation"
    )


class Terminal(Part):
    """A crimp terminal, chosen by tab, wire and current."""

    kind: Literal["tab", "inlet", "ring"] = Field(
        description="tab: single terminal in a way or socket; inlet: for a bus strip's inlet; ring: for a stud"
    )
    tab: Millimetre | None = Field(None, description="tab width; needed for tab and inlet")
    stud: StudSize | None = Field(None, description="stud; needed for ring")
    smallest_wire: Area = Field(description="thinnest wire it takes")
    largest_wire: Area = Field(description="thickest wire it takes")
    limit: Rating = Field(description="continuous current")


class Wire(Part):
    """Single-core wire; the price is for one metre, and ``pack`` is the metres on a reel."""

    area: Area = Field(description='conductor: "2.5 mm2" or "14 AWG"')
    insulation: Celsius = Field(105.0, description="highest conductor temperature of the insulation")


class Stud(Part):
    """A distribution stud, where several tails of one feed join."""

    size: StudSize = Field(description="thread")
    limit: Rating = Field(description="continuous current")
    stack: Annotated[int, Field(strict=True, ge=3, le=8)] = Field(description="ring terminals it takes")


class Holder(Part):
    """An in-line fuse holder, fitted at the start of a feed tail that is thinner than its feed."""

    fuse_format: FuseFormat = Field(description="type of fuse it takes")
    limit: Rating = Field(description="largest fuse rating it takes")


class MainHolder(Part):
    """A holder for the main fuse of a root feed, with a stud for ring terminals on each side."""

    fuse_format: FuseFormat = Field(description="type of fuse it takes")
    limit: Rating = Field(description="largest fuse rating it takes")
    stud: StudSize = Field(description="stud on each side")
    stack: Annotated[int, Field(strict=True, ge=1, le=8)] = Field(
        1, description="ring terminals that the outgoing side takes, one for each panel that the feed reaches"
    )


class Accessory(Part):
    """A part ordered by rule: so many for each carrier, module, socket, ..."""

    per: Occasion = Field(description="what it is ordered for")
    quantity: Count = Field(1, description="pieces for each")
    note: Text = Field("", max_length=120, description="when or how it is fitted")


class Catalogue(Strict):
    """Everything on offer."""

    name: Text = Field(max_length=80, description="as lists say it")
    notice: Text = Field(max_length=200, description="printed on every list, for example that the parts are invented")
    currency: Text = Field(max_length=8, description="of all prices, such as EUR")
    tail_length: CutLength = Field(
        0.4, description="wire from a distribution stud or relay to a strip inlet in the same panel"
    )
    short_jumper: CutLength = Field(0.1, description="wire from a way to a socket of the same module")
    long_jumper: CutLength = Field(0.5, description="wire from a way to a socket of another module")
    end_allowance: CutLength = Field(
        0.0, description="wire added at each end when it is cut, for stripping, crimping and one more try"
    )
    modules: tuple[Module, ...] = Field(min_length=1, description="inserts of rows and sockets")
    carriers: tuple[Carrier, ...] = Field(min_length=1, description="frames of bays")
    strips: tuple[Strip, ...] = Field((), description="bus strips")
    fuses: tuple[Fuse, ...] = Field(min_length=1, description="fuses, of every format that is to be used")
    relays: tuple[Relay, ...] = Field((), description="relays")
    relay_tabs: tuple[RelayTabs, ...] = Field(
        (), description="tabs of relay sockets, by class and function of the relay"
    )
    terminals: tuple[Terminal, ...] = Field(min_length=1, description="crimp terminals")
    wires: tuple[Wire, ...] = Field(min_length=1, description="single-core wire")
    studs: tuple[Stud, ...] = Field((), description="distribution studs, where several tails of one feed join")
    holders: tuple[Holder, ...] = Field((), description="in-line fuse holders")
    main_holders: tuple[MainHolder, ...] = Field((), description="holders of main fuses")
    accessories: tuple[Accessory, ...] = Field((), description="parts ordered by rule")


def bays_by_carrier(catalogue: Catalogue) -> dict[str, int]:
    """Return the number of bays of every carrier, by its id."""
    return {carrier.id: carrier.bays for carrier in catalogue.carriers}


def parts_by_id(catalogue: Catalogue) -> dict[str, Part]:
    """Return every part of a catalogue by its id, in the catalogue's order."""
    tables = (getattr(catalogue, name) for name in Catalogue.model_fields)
    return {part.id: part for table in tables if isinstance(table, tuple) for part in table if isinstance(part, Part)}
