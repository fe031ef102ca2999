"""
Values with units: text in ("55 W", "14 AWG", "12 ft"), plain numbers in one fixed unit out.

The unit of a number is the suffix of the name that holds it (``load_a``, ``length_m``). This is also the one place
where amperes become the model's whole milliamperes, and back, and metres whole millimetres. pint is imported late: it
is slow to load.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pint import UnitRegistry

_NUMBER = re.compile(
    r"\s*([+-]?(?:[0-9]{1,12}(?:\.[0-9]{0,30})?|\.[0-9]{1,30})(?:[eE][+-]?[0-9]{1,2})?)(?![0-9.,])\s*(.*?)\s*",
    re.DOTALL,
)
_DECIMAL_COMMA = re.compile(r"\s*([+-]?[0-9]{1,12}),([0-9]{1,30})(?![0-9,.])\s*(.*?)\s*", re.DOTALL)
_SPELLINGS = {"°C": "degC", "°F": "degF", "Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm", "%": "percent"}
_COMPOSED = {
    "1/K": "1/kelvin", "A2 s": "A**2*s", "A2s": "A**2*s", "A s^0.5/mm2": "A*s**0.5/mm**2", "mohm mm2/m": "mohm*mm**2/m",
}  # fmt: skip
"""Units of engineering figures, as their sources write them and as pint reads them."""
_MEANT = {
    "A": ("a", "amp", "amps", "ampere", "amperes"), "W": ("w", "watt", "watts"), "V": ("v", "volt", "volts"),
    "m": ("m", "mtr", "mtrs", "metre", "metres", "meter", "meters"), "mm": ("mm",), "mm**2": ("sqmm", "qmm"),
    "degC": ("c", "deg", "deg c", "celsius"), "hour": ("h", "hr", "hrs", "hour", "hours"),
    "A*h": ("ah", "ahr", "ahrs"), "percent": ("pct", "percent", "per cent"), "ohm": ("r", "ohm", "ohms"),
}  # fmt: skip
"""What people write, in small letters, by the unit that they mean. Some of it is another unit to pint ("amps":
attometres a picosecond), and must not be told as one."""
# Words joined by a sign, with at most a 2 behind one: pint works out what it is given, so a tower of powers must not
# reach it.
_UNIT = re.compile(r"[A-Za-zµμ]{1,12}(?:(?:\^|\*\*)?[2²])?(?: ?[*·/ ] ?[A-Za-zµμ]{1,12})?")
_SQUARE = re.compile(r"(?:\^|\*\*)?[2²]")
_GAUGE = re.compile(
    r"\s*(AWG|SAE|GA|GAUGE)?\s*(?:([1-4])/0|(0{1,4})|([1-9][0-9]?))\s*(AWG|SAE|GA|GAUGE)?\s*", re.IGNORECASE
)  # one of the two words is wanted: gauge_of sees to it
_MIL_MM = 0.0254
SAE_CIRCULAR_MILS = {
    18: 1537, 16: 2336, 14: 3702, 12: 5833, 10: 9343, 8: 14_810, 6: 24_538, 4: 37_360, 2: 62_450, 1: 77_790,
    0: 98_980, -1: 125_100, -2: 158_600, -3: 205_500,
}  # fmt: skip
"""Least area of SAE gauges by number, as for AWG; source: ``Figures.sae_area``."""
_THINNEST_GAUGE = 40
_SAME_SIZE = 1e-3
WireSystem = Literal["metric", "awg"]

AMPERES_TO_MODEL = 1000
"""The model counts whole milliamperes."""
MM_PER_M = 1000
"""Wire is counted in whole millimetres and priced by the metre."""


class BadValue(ValueError):  # noqa: N818 - it is what the user wrote, and never leaves the reading of files
    """
    Text that is not the value it should be.

    Attributes
    ----------
    rule
        Short id of what is wrong, for example ``bare-number``.
    problem
        What is wrong, as the end of a sentence that starts with the name of the value.
    expected
        What would have been right.
    hint
        The nearest name, where a name is wrong.
    """

    def __init__(self, rule: str, problem: str, expected: str, hint: str = "") -> None:
        self.rule, self.problem, self.expected, self.hint = rule, problem, expected, hint
        super().__init__(f"{problem}; expected {expected}")


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
    BadValue
        Not a number, a decimal comma, no unit, an unknown unit, or a unit of another kind.
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        comma = _DECIMAL_COMMA.fullmatch(text)
        if comma is not None:
            right = f"{comma[1]}.{comma[2]} {comma[3]}".strip()
            raise BadValue("decimal-comma", "has a decimal comma", f'a decimal point, such as "{right}"')
        raise BadValue("not-a-number", "is no number with a unit", f"a value such as {example(unit)}")
    if not match[2]:
        raise BadValue("bare-number", "is a bare number; a unit is needed", f"a value such as {example(unit)}")
    return _converted(match[1], match[2], unit)


@lru_cache(maxsize=4096)
def _converted(number: str, unit_text: str, unit: str) -> Decimal:
    import pint

    meant = unit_text.casefold() in _MEANT.get(unit, ())
    unknown = BadValue(
        "unknown-unit",
        f'has the unknown unit "{unit_text}"',
        f"a value such as {example(unit)}",
        f'did you mean "{shown_unit(unit)}"?' if meant else "",
    )
    spelled = _SPELLINGS.get(unit_text, unit_text)
    composed = _COMPOSED.get(unit_text)
    if not composed and (not _UNIT.fullmatch(spelled) or (unit == "percent" and spelled != "percent")):
        raise unknown
    with localcontext() as context:
        context.prec = 130  # wide enough to round the largest number that _NUMBER lets through to 12 places
        try:
            value = Decimal(
                _registry().Quantity(Decimal(number), composed or _SQUARE.sub("**2", spelled)).to(unit).magnitude
            )
            return round(value, 12)
        except pint.DimensionalityError:
            if meant:
                raise unknown from None
            raise BadValue(
                "wrong-unit", f'is in "{unit_text}", which measures something else', f"a value such as {example(unit)}"
            ) from None
        except Exception:  # pint raises many kinds for text that is no unit
            raise unknown from None


def shown_unit(unit: str) -> str:
    """Return a unit of pint's spelling as a user would write it."""
    spelled = {written: text for text, written in _COMPOSED.items()}
    return {"A*h": "Ah", "hour": "h", "percent": "%", "mm**2": "mm2"}.get(unit, spelled.get(unit, unit))


_EXAMPLES = {
    "A": '"12 A"', "W": '"55 W"', "V": '"24 V"', "m": '"3.2 m" or "12 ft"', "mm": '"25 mm"', "degC": '"40 degC"',
    "mm**2": '"2.5 mm2" or "14 AWG"', "A*h": '"100 Ah"', "hour": '"8 h"', "percent": '"3 %"', "ohm": '"80 ohm"',
    "s": '"0.5 s"', "1/kelvin": '"0.00393 1/K"', "mohm/m": '"7.98 mohm/m"', "mohm/ft": '"3.06 mohm/ft"',
    "mohm*mm**2/m": '"19.95 mohm mm2/m"', "A*s**0.5/mm**2": '"226 A s^0.5/mm2"', "A**2*s": '"520 A2s"',
}  # fmt: skip


def example(unit: str) -> str:
    """Return a value in ``unit`` as a user would write it, for messages."""
    return _EXAMPLES.get(unit, f'"5 {shown_unit(unit)}"')


@cache
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
    diameter_mm = 0.127 * math.pow(92, (36 - gauge) / 39)
    return math.pi * diameter_mm**2 / 4


def gauge_of(text: str, system: str = "AWG") -> int | None:
    """Return the number in "14 AWG", "14 ga", "AWG 14", "2/0 AWG" or "00 AWG" (both -1); None if it is none."""
    match = _GAUGE.fullmatch(text)
    words = () if match is None else tuple(word.upper() for word in (match[1], match[5]) if word)
    words = tuple("AWG" if word in ("GA", "GAUGE") else word for word in words)
    if match is None or not words or any(word != system for word in words):
        return None
    if match[2]:
        return 1 - int(match[2])
    return 1 - len(match[3]) if match[3] else int(match[4])


def gauge_text(gauge: int) -> str:
    """Return an AWG number as it is written: ``14 AWG``, ``2/0 AWG`` for -1."""
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"


def wire_system(area_mm2: float) -> WireSystem:
    """Return the system that a conductor area, mm2, is a size of; AWG and SAE gauges are one."""
    gauges = [awg_area_mm2(gauge) for gauge in range(-3, _THINNEST_GAUGE + 1)]
    gauges += [cmil_in_mm2(circular_mils) for circular_mils in SAE_CIRCULAR_MILS.values()]
    return "awg" if any(abs(gauge - area_mm2) <= _SAME_SIZE * gauge for gauge in gauges) else "metric"


def area_mm2(text: str) -> float:
    """Return the conductor area, mm2, of "2.5 mm2", "14 AWG" or "14 SAE"; raise BadValue otherwise."""
    gauge, sae = gauge_of(text), gauge_of(text, "SAE")
    if sae is not None:
        if sae not in SAE_CIRCULAR_MILS:
            raise BadValue("out-of-range", "is no SAE gauge", "18, 16, 14, 12, 10, 8, 6, 4, 2, 1 or 1/0 to 4/0 SAE")
        return round(cmil_in_mm2(SAE_CIRCULAR_MILS[sae]), 6)
    if gauge is None:
        return float(number_in(text, "mm**2"))
    if gauge > _THINNEST_GAUGE:
        raise BadValue("out-of-range", "is no wire gauge", f"a gauge from 4/0 AWG to {_THINNEST_GAUGE} AWG")
    return round(awg_area_mm2(gauge), 6)


def cmil_in_mm2(circular_mils: float) -> float:
    """Return an area in circular mils (a circle of one thousandth of an inch across) in mm2; exact by definition."""
    return circular_mils * math.pi / 4 * _MIL_MM**2


def to_model(current_a: float) -> int:
    """Return whole milliamperes, rounded up (a load is never made smaller); 1 uA of float noise is ignored."""
    return math.ceil(round(current_a * AMPERES_TO_MODEL, 3))


def limit_to_model(current_a: float) -> int:
    """Return whole milliamperes, rounded down (a limit is never made larger); 1 uA of float noise is ignored."""
    return math.floor(round(current_a * AMPERES_TO_MODEL, 3))


def from_model(current_ma: int | Fraction) -> float:
    """Return amperes from the model's milliamperes."""
    return float(current_ma) / AMPERES_TO_MODEL


def whole_mm(length_m: float) -> int:
    """Return whole millimetres, the nearest."""
    return round(length_m * MM_PER_M)
