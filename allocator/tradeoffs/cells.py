"""
Cells: caps on every goal that together cover whatever no known plan beats. Whole numbers only, nothing is solved here.

A cell holds all plans with no more than its caps. At first there is one, the whole range; every plan that is found
splits the cells that hold it, because what is no better than that plan in any goal is of no interest. When every
cell is known to be empty, no plan is missing. (Klamroth, Lacour and Vanderpooten, "On the representation of the search
region in multi-objective optimization", European Journal of Operational Research 245, 2015: local upper bounds.)
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Steps = tuple[int, ...]
"""One number of steps for each goal."""
Caps = tuple[int | None, ...]
"""Most steps of each goal; None: no cap."""


def holds(caps: Caps, steps: Steps) -> bool:
    """Whether a plan lies in a cell."""
    return all(cap is None or step <= cap for cap, step in zip(caps, steps, strict=True))


def lies_in(inner: Caps, outer: Caps) -> bool:
    """Whether a cell is a part of another one."""
    return all(most is None or (cap is not None and cap <= most) for cap, most in zip(inner, outer, strict=True))


def lowered(steps: Steps, goal: int) -> Caps:
    """Return the cell of all plans that are no worse than a point, and better in one goal."""
    return (*steps[:goal], steps[goal] - 1, *steps[goal + 1 :])


def split(cells: Iterable[Caps], steps: Steps) -> list[Caps]:
    """Return the cells that are left when a plan is known: in each, some goal is better than in that plan."""
    left: list[Caps] = []
    parts: list[Caps] = []
    for caps in cells:
        if not holds(caps, steps):
            left.append(caps)
            continue
        for goal, step in enumerate(steps):
            parts.append((*caps[:goal], step - 1, *caps[goal + 1 :]))
    for number, part in enumerate(parts):
        others = [*left, *parts[:number], *(other for other in parts[number + 1 :] if other != part)]
        if not any(lies_in(part, other) for other in others):
            left.append(part)
    return left


def unbeaten(found: Sequence[Steps]) -> list[Steps]:
    """Return the points that no other one beats: no worse in all goals and better in one; each once, sorted."""
    distinct = sorted({*found})
    return [steps for steps in distinct if not any(other != steps and holds(steps, other) for other in distinct)]
