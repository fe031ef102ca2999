"""
From a set of demands that clashes to one of which every part is needed; and the cheapest choice that hits all sets.

Sets of names and a test come in, a smaller set goes out. Nothing here knows what the names stand for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import CpModel, CpSolver, LinearExpr

from allocator.solving.engine import INCLUSION_WORK

Names = frozenset[str]


def shrink(names: Names, groups: Sequence[Names], clashes: Callable[[Names], bool]) -> Names:
    """
    Drop groups of names while the rest still clashes.

    Parameters
    ----------
    names
        A set that clashes.
    groups
        What is dropped together, in the order in which it is tried. Runs of groups are tried at once: long ones as long
        as that goes well.
    clashes
        Whether a set clashes; a set that holds one that clashes does as well.

    Returns
    -------
    frozenset of str
        A set that clashes, and does not without any one of the groups left in it (as far as ``clashes`` can tell).
    """
    return _walk(names, groups, lambda kept, some: kept - some, clashes)


def grow(names: Names, groups: Sequence[Names], may_hold: Callable[[Names], bool]) -> Names:
    """Add groups of names while the whole may still hold together; the counterpart of ``shrink``."""
    return _walk(names, groups, lambda kept, some: kept | some, may_hold)


def _walk(
    names: Names, groups: Sequence[Names], changed: Callable[[Names, Names], Names], is_right: Callable[[Names], bool]
) -> Names:
    """Change a set by group after group while it stays right; runs double while that goes well, and are halved else."""
    kept, waiting, size = names, list(groups), len(groups)
    while waiting := [group for group in waiting if changed(kept, group) != kept]:
        size = max(1, min(size, len(waiting)))
        tried = changed(kept, frozenset().union(*waiting[:size]))
        if is_right(tried):
            kept, waiting, size = tried, waiting[size:], 2 * size
        elif size == 1:
            waiting = waiting[1:]
        else:
            size = (size + 1) // 2
    return kept


def cheapest_hit(
    sets: Collection[Names],
    weights: Mapping[str, int],
    *,
    presupposed: Callable[[str], Names] = lambda name: frozenset(),
    but_not: Collection[Names] = (),
) -> Names | None:
    """
    Return the least weight of names that takes one from every set.

    Parameters
    ----------
    presupposed
        Names that must be taken with a name.
    but_not
        Sets that the choice must not hold as a whole.

    Returns
    -------
    frozenset of str or None
        Of equal weight the one with the first names in order; None where there is none.
    """
    model = CpModel()
    names = sorted({name for members in sets for name in members})
    names += sorted({other for name in names for other in presupposed(name)} - set(names))
    taken = {name: model.new_bool_var(name) for name in names}
    for members in sets:
        model.add_bool_or([taken[name] for name in sorted(members)])
    for name in names:
        for other in sorted(presupposed(name)):
            model.add_implication(taken[name], taken[other])
    for members in but_not:
        if all(name in taken for name in members):
            model.add_bool_or([~taken[name] for name in sorted(members)])
    order = {name: place for place, name in enumerate(names)}
    scale = 1 + sum(order.values())
    model.minimize(LinearExpr.sum([(weights[name] * scale + order[name]) * taken[name] for name in names]))
    solver = CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False
    solver.parameters.presolve_inclusion_work_limit = INCLUSION_WORK
    solver.parameters.max_deterministic_time = 5.0
    if solver.solve(model) != cp_model.OPTIMAL:
        return None
    return frozenset(name for name in names if solver.value(taken[name]))
