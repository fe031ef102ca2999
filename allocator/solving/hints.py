"""
What one model's solution says about another model of the same needs: as a hint, or fixed.

Variables are matched by their meaning, never by their index: frames differ in how many copies they hold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator

from ortools.sat.python.cp_model import CpModel, IntVar

from allocator.model.tallies import Tallies
from allocator.model.variables import Places
from allocator.solving.engine import Solved, Valued
from allocator.solving.levels import Said
from allocator.solving.spreading import instances_in_use, spread

CHOSEN = ("chosen",)
COUNTED = ("used", "carriers", "chosen", "ways", "entries", "enters")
ROWS = ("used", "entries", "enters")
"""Which feeds are in which rows; who is where, and on which of its feeds, is left open."""
LIKE = (COUNTED, ROWS, CHOSEN)
"""How much of a counted solution a placement keeps: all, else its rows, else its choices of option and feed."""
IN_MODULE = "in module"
"""Needs of a class in a module, whatever the row: no variable of its own."""
FILLED = ("chosen", IN_MODULE)
PLACED = ("at", "relay_at")


def _decided(x: Places, names: Collection[str]) -> Iterator[tuple[tuple[str, object], IntVar]]:
    for name in names:
        if name == IN_MODULE:
            continue
        for key, variable in getattr(x.counts if name in COUNTED else x, name).items():
            yield (name, key), variable


def said_by_places(x: Places, solved: Solved) -> Said:
    """Return what a solution of the count or placing model says."""
    return {key: solved.value(variable) for key, variable in _decided(x, (*COUNTED, *PLACED))}


def said_by_tallies(x: Tallies, solved: Valued) -> Said:
    """Return what a solution of the tally model says, its rows spread over the first copies of every module type."""
    said: dict[tuple[str, object], int] = {("chosen", key): solved.value(v) for key, v in x.chosen.items()}
    said |= {("carriers", key): solved.value(v) for key, v in x.carriers.items()}
    said |= {("used", instance): 1 for instance in instances_in_use(x, solved)}
    said |= spread(x, solved)
    return said


def hint_like(x: Places, said: Said) -> None:
    """Hint every variable that a solution speaks of (old hints are cleared: two on one variable are an error)."""
    x.counts.model.clear_hints()
    hinted: set[int] = set()
    for key, variable in _decided(x, (*COUNTED, *PLACED)):
        if key in said and variable.index not in hinted:  # a row's only entry is one variable under two names
            hinted.add(variable.index)
            x.counts.model.add_hint(variable, said[key])


def hint_tallies(x: Tallies, said: Said) -> None:
    """Hint the choices, modules and carriers of a solution; the solver finds the rows that go with them."""
    x.model.clear_hints()
    for key, variable in x.chosen.items():
        x.model.add_hint(variable, said.get(("chosen", key), 0))
    for carrier, number in x.carriers.items():
        x.model.add_hint(number, said.get(("carriers", carrier), 0))
    used = Counter((i.panel, i.module) for i in x.frame.instances if said.get(("used", i), 0))
    for panel, module, number in x.modules:
        x.model.add_hint(number, used[panel, module])


def hint_again(model: CpModel, solved: Solved) -> None:
    """Hint the whole last solution of the same model; variables that came later have none."""
    hint_whole(model, solved.all_values)


def hint_whole(model: CpModel, values: Iterable[int]) -> None:
    """Hint the values of variables by their index."""
    model.clear_hints()
    for index, value in enumerate(values):
        model.add_hint(model.get_int_var_from_proto_index(index), value)


def fix_like(x: Places, said: Said, names: Collection[str]) -> None:
    """Fix the named variables to a solution; what it does not speak of is nothing."""
    for key, variable in _decided(x, names):
        x.counts.model.add(variable == said.get(key, 0))
    if IN_MODULE in names:
        for index, instance in dict.fromkeys((index, slot.instance) for index, slot, _ in x.at):
            x.counts.model.add(x.in_module(index, instance) == said.get((IN_MODULE, (index, instance)), 0))
