"""
What the paper of a plan says and shows beside the plan: its revision, and the colours of the wires.

Comes in as the tables ``[document]`` and ``[[wire_colours]]`` of ``scenario.toml``; goes out to title blocks and lists.
Neither changes a place, a size or a part of the panel.
"""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from allocator.requirements.catalogue import Identifier, Strict, Text
from allocator.units import BadValue

Colour = Literal["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR"]
"""Letter code of IEC 60757, in the order of its table."""
COLOURS: tuple[Colour, ...] = get_args(Colour)

FeedKind = Literal["permanent", "ignition", "accessory", "switched"]
WireFunction = Literal["supply", "jumper", "load", "return", "control", "earth"]
"""
What a wire does: ``supply`` brings a feed to where it enters, ``jumper`` leads from a way to its relay, ``load`` to the
load, ``return`` back from it; ``control`` is the plus side of a relay's coil (86), ``earth`` its other side (85, 31).
"""


_DAY = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")
"""Without the weeks and the plain digits that Python reads as well."""


class _Day:
    """A day as ISO 8601 writes it, kept as text; a date of a TOML file is one too."""

    def read(self, value: object) -> str:
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value.isoformat()
        try:
            if isinstance(value, str) and _DAY.fullmatch(value):
                return datetime.date.fromisoformat(value).isoformat()
        except ValueError:
            pass
        raise BadValue("bad-date", "is no date", "a day such as 2025-03-31")

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


Day = Annotated[str, _Day()]


class Issue(Strict):
    """What every sheet says of itself, besides the number of the plan; nothing of it comes from a clock."""

    revision: Text = Field("", max_length=12, description="revision of the paper, such as B")
    date: Day | None = Field(None, description="day of the revision, such as 2025-03-31")
    supersedes: Text = Field("", max_length=60, description="what it replaces, such as: revision A of 2025-02-10")


class WireColour(Strict):
    """
    One row of the table of wire colours; the first row that fits a wire counts.

    A selector that names nothing fits all wires.
    """

    functions: tuple[WireFunction, ...] = Field((), description="what the wires do; none named: all")
    kinds: tuple[FeedKind, ...] = Field((), description="kinds of feed they are on; none named: all")
    feeds: tuple[Identifier, ...] = Field((), description="feeds they are on; none named: all")
    circuits: tuple[Identifier, ...] = Field((), description="circuits they belong to; none named: all")
    colour: Colour = Field(description="letter code of IEC 60757: " + " ".join(COLOURS))
    tracer: Colour | None = Field(None, description="colour of the stripe; none: one plain colour")
