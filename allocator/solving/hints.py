"""
What one model's solution says about another model of the same needs: as a hint, or fixed.

Variables are matched by their meaning, never by their index: frames differ in how many copies they hold.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ortools.sat.python.cp_model import IntVar

from allocator.model.variables import Places
from allocator.solving.engine import Solved

COUNTED = ("used", "carriers", "chosen", "ways", "entries", "enters")
PLACED = ("at", "relay_at")


def _decided(x: Places, names: Collection[str]) -> Iterator[tuple[tuple[str, object], IntVar]]:
    for name in names:
        for key, variable in getattr(x.counts if name in COUNTED else x, name).items():
            yield (name, key), variable


def hint_like(x: Places, other: Places, solved: Solved) -> None:
    """Hint every variable that both models have (old hints are cleared: two on one variable make a model invalid)."""
    x.counts.model.clear_hints()
    known = dict(_decided(other, (*COUNTED, *PLACED)))
    hinted: set[int] = set()
    for key, variable in _decided(x, (*COUNTED, *PLACED)):
        if key in known and variable.index not in hinted:  # a row's only entry is one variable under two names
            hinted.add(variable.index)
            x.counts.model.add_hint(variable, solved.value(known[key]))


def fix_like(x: Places, other: Places, solved: Solved, names: Collection[str] = COUNTED) -> None:
    """Fix the named variables to another solution; what the other model does not have is nothing."""
    known = dict(_decided(other, names))
    for key, variable in _decided(x, names):
        x.counts.model.add(variable == (solved.value(known[key]) if key in known else 0))
