"""Annotated types for values with units: text of the user's file in, a number in the unit of the field's name out."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.lamps import lamp_names, lamp_voltages, lamp_watts
from allocator.requirements.places import did_you_mean
from allocator.units import BadValue, area_mm2, example, number_in, shown_unit


class Written:
    """How pydantic reads what the user wrote and writes it again: text in a JSON file."""

    __slots__ = ()

    def read(self, value: object) -> Any:
        """Return the value in what the user wrote; raise BadValue with what is wrong otherwise."""
        raise NotImplementedError

    def write(self, value: Any) -> str:
        """Return a value as the user could have written it."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(
            self.write, return_schema=core_schema.str_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(self.read, serialization=writer)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class Quantity(Written):
    """How numbers of one unit are read and written, from ``low`` to ``high``."""

    unit: str
    low: str
    high: str
    decimals: int = 12

    def read(self, value: object) -> float:
        """Return the number in the unit."""
        number = number_in(_text(value, self.unit), self.unit)
        if abs(number) <= Decimal(self.high):  # far larger numbers have more digits than can be rounded
            number = round(number, self.decimals)
        if not Decimal(self.low) <= number <= Decimal(self.high):
            raise BadValue(
                "out-of-range", "is out of range", f"a value from {self.low} to {self.high} {self._shown_unit}"
            )
        return float(number) + 0.0  # never -0.0, which would not be written as it was read

    def write(self, value: float) -> str:
        """Return the number with its unit."""
        return f"{value!r} {self._shown_unit}"

    @property
    def _shown_unit(self) -> str:
        return shown_unit(self.unit)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "description": f"number with a unit, such as {example(self.unit)}"}


class WireArea(Quantity):
    """A conductor area, in mm2 or as a wire gauge."""

    def read(self, value: object) -> float:
        """Return the area, mm2."""
        area = area_mm2(_text(value, self.unit))
        if not float(self.low) <= area <= float(self.high):
            raise BadValue("out-of-range", "is out of range", f"an area from {self.low} to {self.high} mm2")
        return area


def _text(value: object, unit: str) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        raise BadValue("bare-number", "is a bare number; a unit is needed", f"a value such as {example(unit)}")
    raise BadValue("not-a-number", "is no number with a unit", f"a value such as {example(unit)}")


Volt = Annotated[float, Quantity("V", "0.1", "1000")]
FuseDrop = Annotated[float, Quantity("mV", "1", "5000")]
Ampere = Annotated[float, Quantity("A", "0", "100000")]
Rating = Annotated[float, Quantity("A", "0.01", "100000")]
"""A current that others are divided by or compared with, hence above zero."""
AmpereHour = Annotated[float, Quantity("A*h", "0", "100000")]
Hour = Annotated[float, Quantity("hour", "0", "10000")]
Metre = Annotated[float, Quantity("m", "0", "1000")]
CutLength = Annotated[float, Quantity("m", "0", "1000", decimals=3)]
"""A wire that is cut to a length of the catalogue: whole millimetres, as lists and prices count it."""
Millimetre = Annotated[float, Quantity("mm", "0.1", "100000")]
Celsius = Annotated[float, Quantity("degC", "-60", "250")]
Share = Annotated[float, Quantity("percent", "0.1", "100")]
"""A part of a whole, above zero."""
Reserve = Annotated[float, Quantity("percent", "0", "90")]
"""A part of a whole that is kept back, never all of it."""
Duty = Annotated[float, Quantity("percent", "0", "100")]
Ohm = Annotated[float, Quantity("ohm", "0.001", "1000000")]
ColdOhm = Annotated[float, Quantity("ohm", "0.00001", "1000")]
"""Resistance of a fuse that no current warms."""
Area = Annotated[float, WireArea("mm**2", "0.01", "1000")]


class _Price:
    """A price with at most two decimals in the file, whole cents here."""

    _FORM = re.compile(r"[0-9]{1,7}(\.[0-9]{1,2})?")

    def read(self, value: object) -> int:
        right = (
            isinstance(value, int | Decimal | str) and not isinstance(value, bool) and self._FORM.fullmatch(str(value))
        )
        if not right:
            raise BadValue("bad-price", "is no price", "a price such as 4.35: not below zero, at most two decimals")
        return int(Decimal(str(value)) * 100)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(
            lambda cents: f"{cents // 100}.{cents % 100:02d}", return_schema=core_schema.str_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(self.read, serialization=writer)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "pattern": f"^{self._FORM.pattern}$", "description": "a price, such as 4.35"}


Cents = Annotated[int, _Price()]
"""A price in the catalogue's currency; 4.35 in the file, 435 here."""


def price_cents(value: object) -> int:
    """Return a price in cents; raise BadValue if it is none."""
    return _Price().read(value)


class Load:
    """
    What a circuit draws: "55 W", "12 A", or a sum such as "2 x 21 W + 5 W" (one unit kind a sum); lamps also by name.

    Attributes
    ----------
    text
        As the user wrote it, blanks tidied.
    unit
        ``"W"`` or ``"A"``.
    parts
        Number and size of the loads in the order written, in ``unit``; the size of a lamp is its category's name.
    """

    __slots__ = ("parts", "text", "unit")
    _LAMP = re.compile(r"(?=[^0-9]*[0-9])[A-Za-z][A-Za-z0-9/]{0,9}(?:\s+[a-z]{1,9})?")
    _PART = re.compile(r"\s*(?:([0-9]{1,3})\s*[x×*]\s*)?(\S.*?)\s*", re.DOTALL)
    _LONGEST, _LARGEST = 200, 100_000
    _EXPECTED = 'a load such as "55 W", "12 A" or "2 x 21 W + 5 W"'

    def __init__(self, text: str) -> None:
        if len(text) > self._LONGEST:
            raise BadValue("out-of-range", "is too long", f"at most {self._LONGEST} characters")
        self.text = " ".join(text.split())
        read = [self._part(piece) for piece in text.split("+")]
        if len({unit for unit, _, _ in read}) != 1:
            raise BadValue("mixed-units", "adds watts and amperes, which cannot be added", "one kind of unit")
        self.unit: str = read[0][0]
        self.parts: tuple[tuple[int, float | str], ...] = tuple((count, size) for _, count, size in read)
        if sum(count * size for count, size in self.parts if not isinstance(size, str)) > self._LARGEST:
            raise BadValue("out-of-range", "is out of range", f"at most {self._LARGEST} {self.unit}")

    @classmethod
    def _part(cls, piece: str) -> tuple[str, int, float | str]:
        match = cls._PART.fullmatch(piece)
        if match is None:
            raise BadValue("not-a-number", "is no load", cls._EXPECTED)
        unit, size = cls._size(match[2])
        count = int(match[1] or 1)
        if count == 0 or (not isinstance(size, str) and size <= 0):
            raise BadValue("out-of-range", "is out of range", "a load above zero")
        return unit, count, size

    @classmethod
    def _size(cls, text: str) -> tuple[str, float | str]:
        if cls._LAMP.fullmatch(text):
            text = " ".join(text.split())
            if text in lamp_names():
                return "W", text
            expected = f"one of {', '.join(lamp_names())}, or watts"
            raise BadValue(
                "unknown-lamp", f'names the unknown lamp "{text}"', expected, did_you_mean(text, lamp_names())
            )
        try:
            return "W", float(number_in(text, "W"))
        except BadValue as bad:
            if bad.rule != "wrong-unit":
                raise BadValue(
                    bad.rule, bad.problem, bad.expected if bad.rule == "decimal-comma" else cls._EXPECTED, bad.hint
                ) from None
        try:
            return "A", float(number_in(text, "A"))
        except BadValue as bad:
            raise BadValue(bad.rule, bad.problem, cls._EXPECTED, bad.hint) from None

    @property
    def lamps(self) -> tuple[str, ...]:
        """Categories of the lamps that are given by name, each once, in the order written."""
        return tuple(dict.fromkeys(size for _, size in self.parts if isinstance(size, str)))

    def num_of(self, names: Collection[str]) -> int:
        """Return how many of its lamps go by one of some names."""
        return sum(count for count, size in self.parts if size in names)

    def sizes(self, nominal_v: float, figures: Figures = PUBLISHED) -> tuple[tuple[int, float], ...]:
        """
        Return number and size of the loads in a net, in ``unit``.

        Raises
        ------
        BadValue
            If a lamp is not known for the nominal voltage, V; requirements that were read have none.
        """
        return tuple(
            (count, float(self._watts(size, nominal_v, figures)) if isinstance(size, str) else size)
            for count, size in self.parts
        )

    def total(self, nominal_v: float, figures: Figures = PUBLISHED) -> float:
        """Return the sum of all parts in a net of a nominal voltage, V, in ``unit``."""
        return sum(count * size for count, size in self.sizes(nominal_v, figures))

    @staticmethod
    def _watts(name: str, nominal_v: float, figures: Figures) -> float:
        watts = lamp_watts(name, nominal_v, figures)
        if watts is None:
            known = " and ".join(f"{volts:g} V" for volts in lamp_voltages(name, figures))
            raise BadValue("lamp-for-other-net", f"names lamp {name} in a net of {nominal_v:g} V", f"{known}, or watts")
        return watts

    @classmethod
    def read(cls, value: object) -> Load:
        """Read the text of a load; raise BadValue with what is wrong otherwise."""
        if isinstance(value, cls):
            return value
        if isinstance(value, str):
            return cls(value)
        raise BadValue("bare-number", "is a bare number; a unit is needed", cls._EXPECTED)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(
            lambda load: load.text, return_schema=core_schema.str_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(cls.read, serialization=writer)

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "description": cls._EXPECTED}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Load) and (self.unit, self.parts) == (other.unit, other.parts)

    def __hash__(self) -> int:
        return hash((self.unit, self.parts))

    def __repr__(self) -> str:
        return f"Load({self.text!r})"
