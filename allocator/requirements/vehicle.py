"""
The schema of a vehicle within a scenario: its voltages, its supply, its panels, its feeds and the ways it is used.

Comes in as tables of ``scenario.toml`` (``reading.py``), goes out as frozen models that ``scenario.py`` puts together.
Each field's description feeds the reference page.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from allocator.requirements.catalogue import FuseFormat, Identifier, RelayClass, Strict, StudSize, Text, YesNo
from allocator.requirements.markings import FeedKind
from allocator.requirements.quantities import AmpereHour, Celsius, Hour, Metre, Rating, Volt


class Vehicle(Strict):
    """The vehicle and its voltages."""

    name: Text = Field(min_length=1, max_length=80, description="as every sheet says it")
    nominal_voltage: Volt = Field(description="of its system: 12 V, 24 V, ...; percentages of drop are of this")
    operating_voltage: Volt = Field(description="with the engine or charger running")
    minimum_voltage: Volt = Field(description="lowest voltage at which loads must still work")
    return_path: Literal["chassis", "wire"] = Field("chassis", description="how the current comes back from a load")


class Supply(Strict):
    """What stands behind the feeds."""

    charger_rating: Rating = Field(description="alternator or charger, rated output")
    battery_capacity: AmpereHour = Field(description="for the sums of charge and drain")
    fault_current: Rating = Field(description="prospective short-circuit current at the panel")
    source_fault_current: Rating | None = Field(
        None, description="the same at the source, where main fuses stand; none given: as at the panel"
    )
    stud: StudSize | None = Field(
        None, description="stud of the source that takes leads to main fuses; none given: as the holder's"
    )


class PanelSite(Strict):
    """A location of the vehicle where carriers may be fixed."""

    name: Identifier = Field(description="name in lists and addresses, such as cabin")
    ambient: Celsius = Field(description="highest ambient temperature there")
    max_bays: Annotated[int, Field(strict=True, ge=1, le=60)] = Field(description="bays there is room for")
    carriers: tuple[Identifier, ...] = Field((), description="carriers allowed; none named: all of the catalogue")
    supply_distance: Metre = Field(description="cable from the source of the root feeds to this panel")


class Feed(Strict):
    """A supply conductor of one potential and one protection."""

    name: Identifier = Field(description="name by which circuits and other tables refer to it")
    label: Text = Field("", max_length=60, description="words for drawings and lists; none: the name")
    kind: FeedKind = Field(description="when it is live; only a permanent one is with the key out")
    rating: Rating = Field(description="of its protection: main fuse of a root feed, own fuse of a branch")
    source: Identifier | None = Field(None, description="feed it branches from; none: comes from the supply")
    fuse_format: FuseFormat | None = Field(None, description="own fuse, in a way that its source feeds")
    relay_class: RelayClass | None = Field(None, description="own relay, in a socket of the home panel")
    control: Identifier | None = Field(
        None, description="circuit that supplies the coil; none: own fuse, switched on the earth side"
    )
    home: Identifier | None = Field(
        None, description="panel of its own fuse and relay; needed where several are possible"
    )
    panels: tuple[Identifier, ...] = Field((), description="panels it reaches; none named: all")
    tail_fuse: Rating | None = Field(
        None, description="in-line fuse of each feed tail, where a tail is thinner than the feed"
    )
    main_fuse_distance: Metre | None = Field(
        None, description="of a root feed: from the source to its main fuse along the wire; none given: not known"
    )
    main_fuse_sheathed: YesNo = Field(
        False, description="whether that wire lies in a sheath or enclosure of its own all the way"
    )


class LoadCase(Strict):
    """A way in which the vehicle is used."""

    name: Identifier = Field(description="name by which circuits refer to it, such as night")
    engine_running: YesNo = Field(description="whether the charger works meanwhile, and at which voltage loads run")
    hours: Hour = Field(description="how long, for charge and drain sums")
