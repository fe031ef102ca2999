"""
Goals as people read them: what each is called, in which unit and with how many decimals it is shown, and its column.

A table that every output takes; goals themselves are amounts in their own unit (docs/definitions.md), and how a user
writes one stands in ``amounts.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from allocator.requirements.amounts import MM3_PER_G
from allocator.requirements.scenario import Goal


@dataclass(frozen=True, slots=True)
class Shown:
    """
    How one goal is shown.

    Attributes
    ----------
    name
        What it is called on paper.
    column
        Head of its column in a table of many vehicles.
    unit
        Unit on paper; empty for a count, and for the price, which has the catalogue's currency.
    plain_unit
        The same as files spell it.
    factor
        What one of the goal's own unit (a count, cent, mm2, mm, mm3 or whole share) is in the unit shown.
    decimals
        How many are shown.
    """

    name: str
    column: str
    unit: str = ""
    plain_unit: str = ""
    factor: Fraction = Fraction(1)
    decimals: int = 0

    @property
    def step(self) -> Fraction:
        """The least that two amounts shown can differ by, in the goal's own unit."""
        return 1 / self.factor / Fraction(10**self.decimals)


SHOWN: Mapping[Goal, Shown] = {
    "bays": Shown("bays", "bays"),
    "module-types": Shown("module types", "module_types"),
    "strip-pieces": Shown("feed entries", "feed_entries"),
    "peak-utilisation": Shown("peak feed load", "peak_feed_load_percent", "%", "%", Fraction(100), 1),
    "long-jumpers": Shown("long jumpers", "long_jumpers"),
    "price": Shown("price of parts", "price", factor=Fraction(1, 100), decimals=2),
    "carriers": Shown("carriers", "carriers"),
    "footprint": Shown("footprint", "footprint_cm2", "cm²", "cm2", Fraction(1, 100), 1),
    "panels": Shown("panels", "panels"),
    "wire-length": Shown("wire length", "wire_length_m", "m", "m", Fraction(1, 1000), 2),
    "copper": Shown("copper in wires", "copper_kg", "kg", "kg", 1 / (1000 * MM3_PER_G), 3),
    "spare-ways": Shown("spare ways", "spare_ways"),
}
