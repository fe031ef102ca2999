"""Annotated types for values with units: text of the user's file in, a number in the unit of the field's name out."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainSerializer

from allocator.units import area_mm2, number_in


def _reader(unit: str, low: str, high: str) -> Callable[[Any], float]:
    lowest, highest = Decimal(low), Decimal(high)

    def read(value: Any) -> float:
        if not isinstance(value, str):
            raise ValueError("a bare number; a unit is needed" if isinstance(value, int | float | Decimal) else "expected text with a unit")
        number = number_in(value, unit)
        if not lowest <= number <= highest:
            raise ValueError(f"expected a value from {low} to {high} {unit}")
        return float(number)

    return read


def _writer(unit: str) -> PlainSerializer:
    return PlainSerializer(lambda number: f"{number!r} {unit}", return_type=str, when_used="json")


def _quantity(unit: str, low: str, high: str) -> Any:
    return Annotated[float, BeforeValidator(_reader(unit, low, high)), _writer(unit)]


def _read_area(value: Any) -> float:
    if not isinstance(value, str):
        raise ValueError('a bare number; a unit is needed, such as "2.5 mm2" or "14 AWG"')
    area = area_mm2(value)
    if not 0 < area <= 1000:
        raise ValueError("expected an area above 0 and up to 1000 mm2")
    return area


Volt = _quantity("V", "0.1", "1000")
Ampere = _quantity("A", "0", "100000")
AmpereHour = _quantity("A*h", "0", "100000")
Hour = _quantity("hour", "0", "10000")
Metre = _quantity("m", "0", "1000")
Millimetre = _quantity("mm", "0", "100000")
Celsius = _quantity("degC", "-60", "250")
Percent = _quantity("percent", "0", "1000")
Ohm = _quantity("ohm", "0", "1000000")
Area = Annotated[float, BeforeValidator(_read_area), PlainSerializer(lambda n: f"{n!r} mm2", return_type=str, when_used="json")]


def _read_price(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal | str):
        raise ValueError("expected a price such as 4.35")
    text = str(value)
    if not re.fullmatch(r"\d{1,7}(\.\d{1,2})?", text):
        raise ValueError("expected a price such as 4.35: not below zero, at most two decimals")
    return int(Decimal(text) * 100)


Cents = Annotated[int, BeforeValidator(_read_price), PlainSerializer(lambda n: f"{n // 100}.{n % 100:02d}", return_type=str, when_used="json")]
"""A price in the catalogue's currency; 4.35 in the file, 435 here."""


class Load:
    """
    What a circuit draws: "55 W", "12 A", or a sum such as "2 x 21 W + 5 W" (one unit kind a sum).

    Attributes
    ----------
    unit
        ``"W"`` or ``"A"``.
    parts
        Number and size of the loads in the order written, in ``unit``.
    """

    __slots__ = ("parts", "text", "unit")
    _PART = re.compile(r"^\s*(?:(\d{1,3})\s*[x×*]\s*)?(\S.*?)\s*$")

    def __init__(self, text: str) -> None:
        self.text = " ".join(text.split())
        parts: list[tuple[int, float]] = []
        units: set[str] = set()
        for piece in text.split("+"):
            match = self._PART.match(piece)
            if match is None:
                raise ValueError('expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"')
            unit, size = self._size(match.group(2))
            if size <= 0:
                raise ValueError("expected a load above zero")
            if size > 100_000:
                raise ValueError(f"expected a load of at most 100000 {unit}")
            units.add(unit)
            parts.append((int(match.group(1) or 1), float(size)))
        if len(units) != 1:
            raise ValueError("watts and amperes cannot be added; write one kind")
        self.unit: str = units.pop()
        self.parts: tuple[tuple[int, float], ...] = tuple(parts)

    @staticmethod
    def _size(text: str) -> tuple[str, Decimal]:
        try:
            return "W", number_in(text, "W")
        except ValueError as not_watts:
            if "something else" not in str(not_watts):
                raise ValueError(str(not_watts).replace('"55 W"', '"55 W" or "12 A"')) from None
        try:
            return "A", number_in(text, "A")
        except ValueError:
            raise ValueError('expected watts or amperes, such as "55 W" or "12 A"') from None

    @property
    def total(self) -> float:
        """Sum of all parts, in ``unit``."""
        return sum(count * size for count, size in self.parts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Load) and (self.unit, self.parts) == (other.unit, other.parts)

    def __hash__(self) -> int:
        return hash((self.unit, self.parts))

    def __repr__(self) -> str:
        return f"Load({self.text!r})"
