"""
The kinds of value that stand in plan.json: each is read as strictly as the schema says it.

Text of a file comes in, or a value of our own; the same goes out, or a sentence that says what was expected. Lengths
are bounded so that no number takes for ever and no word bursts a drawing.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator, Field, PlainSerializer

from allocator.requirements.catalogue import Text, Whole
from allocator.units import BadValue

_MOST_DIGITS = 100
"""Far more than any sum of a vehicle needs, and far less than Python's limit on digits."""
_EXACT = rf"-?[0-9]{{1,{_MOST_DIGITS}}}(/[1-9][0-9]{{0,{_MOST_DIGITS - 1}}})?"


def _exact(value: object) -> object:
    """Return an exact number; text is read as the schema has it, and nothing else is taken for a number."""
    if isinstance(value, Fraction):
        return value
    if isinstance(value, str) and re.fullmatch(_EXACT, value):
        return Fraction(value)
    expected = f'a number or fraction in quotes, such as "3" or "49/80", of at most {_MOST_DIGITS} digits'
    raise BadValue("not-exact", "is no exact number", expected)


Exact = Annotated[
    Fraction,
    BeforeValidator(_exact),
    PlainSerializer(str, return_type=str, when_used="json"),
    Field(json_schema_extra={"type": "string", "pattern": f"^{_EXACT}$"}),
]
"""An exact number, "49/80" in the file."""

Name = Annotated[Text, Field(max_length=200)]
"""A name, an address or a version; the longest address has the 60 letters of its panel and some figures."""

Sentence = Annotated[Text, Field(max_length=400_000)]
"""Free words; a caution may name every circuit of the largest table of circuits that is read."""

Bay = Annotated[Whole, Field(ge=1, le=999)]
"""Number of a bay, of as many digits as an address may have."""

Count = Annotated[Whole, Field(ge=0, le=1_000_000)]
