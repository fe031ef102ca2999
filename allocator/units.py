"""
Values with units: text in ("55 W", "14 AWG", "12 ft"), plain numbers in one fixed unit out.

The unit of a number is the suffix of the name that holds it (``load_a``, ``length_m``). This is also the one place where
amperes become the model's whole milliamperes, and back. pint is imported late: it is slow to load.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pint import UnitRegistry

_NUMBER_AND_UNIT = re.compile(r"^\s*([+-]?(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})(?:[eE][+-]?\d{1,2})?)\s*([^\d\s].{0,15}?)?\s*$")
_UNIT_TEXT = re.compile(r"^[A-Za-zµμΩ°%²^*/0-9 ]+$")
_SPELLINGS = {"mm2": "mm**2", "mm²": "mm**2", "mm^2": "mm**2", "°C": "degC", "°F": "degF", "Ω": "ohm", "mΩ": "milliohm", "%": "percent"}
_AWG = re.compile(r"^\s*(?:([1-4])/0|(\d{1,2}))\s*AWG\s*$", re.IGNORECASE)

AMPERES_TO_MODEL = 1000
"""The model counts whole milliamperes."""


@cache
def _registry() -> UnitRegistry[Any]:
    from pint import UnitRegistry

    return UnitRegistry(non_int_type=Decimal, cache_folder=None)


def number_in(text: str, unit: str) -> Decimal:
    """
    Read "number unit" and return the number in ``unit``.

    Parameters
    ----------
    text
        For example ``"12 ft"``.
    unit
        The unit wanted, in pint's spelling, for example ``"m"``.

    Returns
    -------
    Decimal
        The value in ``unit``, exact for every unit that is defined by a decimal factor, rounded to 12 places.

    Raises
    ------
    ValueError
        With a sentence for the user: not a number, no unit, an unknown unit, or a unit of another kind.
    """
    import pint

    match = _NUMBER_AND_UNIT.match(text)
    if match is None:
        raise ValueError(f"expected a number with a unit, such as {example(unit)}")
    number, unit_text = match.group(1), (match.group(2) or "").strip()
    if not unit_text:
        raise ValueError(f"a bare number; a unit is needed, such as {example(unit)}")
    if not _UNIT_TEXT.match(unit_text):
        raise ValueError(f'unknown unit "{unit_text}"; expected a value such as {example(unit)}')
    try:
        value = _registry().Quantity(Decimal(number), _SPELLINGS.get(unit_text, unit_text)).to(unit).magnitude
    except pint.DimensionalityError:
        raise ValueError(f'"{unit_text}" measures something else; expected a value such as {example(unit)}') from None
    except Exception:  # pint raises many kinds for text that is no unit
        raise ValueError(f'unknown unit "{unit_text}"; expected a value such as {example(unit)}') from None
    return round(Decimal(value), 12)


_EXAMPLES = {
    "A": '"12 A"', "W": '"55 W"', "V": '"24 V"', "m": '"3.2 m" or "12 ft"', "mm": '"25 mm"', "degC": '"40 degC"',
    "mm**2": '"2.5 mm2" or "14 AWG"', "Ah": '"100 Ah"', "A*h": '"100 Ah"', "hour": '"8 h"', "percent": '"3 %"', "ohm": '"8 mohm"',
}  # fmt: skip


def example(unit: str) -> str:
    """Return a value in ``unit`` as a user would write it, for messages."""
    return _EXAMPLES.get(unit, f'"5 {unit}"')


def awg_area_mm2(gauge: int) -> float:
    """
    Return the conductor area of an AWG size.

    Parameters
    ----------
    gauge
        AWG number; 0, -1, -2, -3 stand for 1/0, 2/0, 3/0, 4/0.

    Returns
    -------
    float
        Area, mm2.

    Notes
    -----
    Source: ASTM B258, d = 0.127 mm x 92^((36 - n) / 39).
    """
    diameter_mm = 0.127 * 92 ** ((36 - gauge) / 39)
    return math.pi * diameter_mm**2 / 4


def gauge_of(text: str) -> int | None:
    """Return the AWG number in "14 AWG" or "2/0 AWG" (2/0 is -1), or None if the text is no gauge."""
    match = _AWG.match(text)
    if match is None:
        return None
    return 1 - int(match.group(1)) if match.group(1) else int(match.group(2))


def area_mm2(text: str) -> float:
    """Return the conductor area, mm2, of "2.5 mm2" or "14 AWG"; raise ValueError with a sentence otherwise."""
    gauge = gauge_of(text)
    return round(awg_area_mm2(gauge), 6) if gauge is not None else float(number_in(text, "mm**2"))


def to_model(current_a: float) -> int:
    """Return whole milliamperes, rounded up (a load is never made smaller); 1 uA of float noise is ignored."""
    return math.ceil(round(current_a * AMPERES_TO_MODEL, 3))


def limit_to_model(current_a: float) -> int:
    """Return whole milliamperes, rounded down (a limit is never made larger); 1 uA of float noise is ignored."""
    return math.floor(round(current_a * AMPERES_TO_MODEL, 3))


def from_model(current_ma: int) -> float:
    """Return amperes from the model's milliamperes."""
    return current_ma / AMPERES_TO_MODEL
