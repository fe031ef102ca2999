"""
The exact split of one row's ways on one feed into strip pieces, each within its limit in every load case.

Comes from ``extracting.py`` with the loads of a row; goes back as groups, or None where there is no such split.
"""

from __future__ import annotations

from collections.abc import Sequence


def split(loads_ma: Sequence[Sequence[int]], limit_ma: int, num_pieces: int) -> list[list[int]] | None:
    """
    Divide ways into pieces.

    Parameters
    ----------
    loads_ma
        Load of each way in each load case, mA, shape (n_ways, n_cases).
    limit_ma
        Limit of one piece, mA.
    num_pieces
        Pieces to make; each holds at least one way.

    Returns
    -------
    list of list of int or None
        Indices of the ways of each piece; None if no division keeps the limit.

    Notes
    -----
    Depth-first over ways in falling order of load; a row has few ways. Equal partial pieces are tried once.
    """
    if num_pieces > len(loads_ma):
        return None
    order = sorted(range(len(loads_ma)), key=lambda way: (-max(loads_ma[way], default=0), way))
    num_cases = len(loads_ma[0]) if loads_ma else 0
    pieces: list[list[int]] = [[] for _ in range(num_pieces)]
    sums = [[0] * num_cases for _ in range(num_pieces)]

    def place(depth: int) -> bool:
        if depth == len(order):
            return True
        way = order[depth]
        empty = sum(not piece for piece in pieces)
        tried: set[tuple[int, ...]] = set()
        for number in range(num_pieces):
            if pieces[number] and empty == len(order) - depth:
                continue  # every way left is wanted for a piece that is still empty
            key = (bool(pieces[number]), *sums[number])
            if key in tried:
                continue
            tried.add(key)
            grown = [total + load for total, load in zip(sums[number], loads_ma[way], strict=True)]
            if all(total <= limit_ma for total in grown):
                before, sums[number] = sums[number], grown
                pieces[number].append(way)
                if place(depth + 1):
                    return True
                pieces[number].pop()
                sums[number] = before
        return False

    return [sorted(piece) for piece in pieces] if place(0) else None
