"""
The cutting model: pieces of given lengths out of stock lengths and offcuts, as flows along the material.

Comes in as demands and what there is to cut from; goes out as a CP-SAT model with its variables. A way through the
places 0, 1, 2, ... of a length is one cutting: an arc over a piece takes it, and a way ends where the leftover begins.
Pieces come longest first, which leaves few arcs and loses no cutting (Valério de Carvalho, "Exact solution of bin
packing problems using column generation and branch-and-bound", 1999). Nothing is lost at a cut: a saw that eats k
units is the same problem with pieces and stock longer by k.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ortools.sat.python.cp_model import CpModel, IntVar, LinearExpr, LinearExprT

Arc = tuple[int, int]
"""Place where a piece begins, and its length."""


@dataclass(frozen=True)
class CuttingModel:
    """The model with its variables; ``ends`` are by (place where the leftover begins, length that is cut)."""

    model: CpModel
    arcs: Mapping[Arc, IntVar]
    ends: Mapping[tuple[int, int], IntVar]
    lengths: LinearExprT
    """Stock lengths that are cut into."""
    scrap: LinearExprT
    """Material of leftovers that are too short to be of use."""
    leftovers: LinearExprT
    """Leftovers of any length."""


def build_cutting(demands: Mapping[int, int], stock: int, offcuts: Mapping[int, int], usable: int) -> CuttingModel:
    """
    Build the model.

    Parameters
    ----------
    demands
        Number of pieces by their length.
    stock
        Length of a stock length; there are as many as it takes.
    offcuts
        Number of offcuts on the shelf by their length; each is shorter than the stock.
    usable
        Length from which a leftover is of use.
    """
    model = CpModel()
    num_pieces = sum(demands.values())
    arcs = {arc: model.new_int_var(0, demands[arc[1]], f"piece {arc}") for arc in _arcs(demands, stock)}
    places = sorted({start + length for start, length in arcs})
    ends = {
        (place, of): model.new_int_var(0, min(most, num_pieces), f"end {place} of {of}")
        for of, most in (*sorted(offcuts.items()), (stock, num_pieces))
        for place in places
        if place <= of
    }
    flow: dict[int, list[LinearExprT]] = {place: [] for place in (0, *places)}
    taken: dict[int, list[IntVar]] = {length: [] for length in demands}
    for (start, length), variable in arcs.items():
        flow[start].append(-variable)
        flow[start + length].append(variable)
        taken[length].append(variable)
    for (place, _), variable in ends.items():
        flow[place].append(-variable)
    for place in places:
        model.add(LinearExpr.sum(flow[place]) == 0)
    for length, number in demands.items():
        model.add(LinearExpr.sum(taken[length]) == number)
    for of, most in offcuts.items():
        model.add(LinearExpr.sum([ends[end] for end in ends if end[1] == of]) <= most)
    return CuttingModel(
        model,
        arcs,
        ends,
        LinearExpr.sum([ends[end] for end in ends if end[1] == stock]),
        LinearExpr.sum([(of - place) * ends[place, of] for place, of in ends if of - place < usable]),
        LinearExpr.sum([ends[place, of] for place, of in ends if place < of]),
    )


def _arcs(demands: Mapping[int, int], capacity: int) -> list[Arc]:
    """Return the arcs that a cutting with its longest piece first can use."""
    reached = {0}
    found: dict[Arc, None] = {}
    for length in sorted(demands, reverse=True):
        for first in sorted(reached):
            for place in range(first, min(first + demands[length] * length, capacity - length + 1), length):
                found[place, length] = None
                reached.add(place + length)
    return sorted(found)
