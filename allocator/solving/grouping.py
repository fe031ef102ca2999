"""
Fewer strip pieces at the same choices: feeds and rows in as many groups as can be filled, each for itself.

Comes from a tallied solution; goes back as values of its rows. In a group that shares no row with another, feeds lie
one after the other over its rows: feeds + rows - 1 pieces. So the most groups are the fewest pieces (bin packing with
item fragmentation). Small groups that fill their rows can be listed; searched row by row they take long.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, combinations_with_replacement, islice, repeat

from ortools.sat.python.cp_model import CpModel, IntVar, LinearExpr, LinearExprT

from allocator.model.tallies import Tallies
from allocator.solving.engine import Clock, Solved, Valued, solve
from allocator.solving.hints import hint_again
from allocator.solving.minimising import Step, minimise

MOST_FEEDS, MOST_ROWS = 4, 8
"""In a group that is listed; larger ones are left to one group that takes the rest."""
MOST_GROUPS = 1000
EFFORT = 1.0
Members = tuple[tuple[str, int], ...]
"""Module type and number of every supply group of a kind."""
Rows = tuple[int, ...]
"""Number of rows of each width."""


@dataclass(frozen=True, slots=True)
class Group:
    """Ways of each feed, and the rows over which they lie."""

    feeds: tuple[int, ...]
    rows: Rows


def grouped(feeds: Sequence[int], rows: Mapping[int, int], clock: Clock) -> list[Group] | None:
    """
    Divide feeds and rows into groups, so that the feeds take as few pieces as was found.

    Parameters
    ----------
    feeds
        Ways of each feed, at least 1.
    rows
        Number of rows by width; ``Group.rows`` has the same order.

    Returns
    -------
    list of Group or None
        Every feed is in one of them; None if the rows do not suffice, or nothing was found.
    """
    widths, number = list(rows), Counter(feeds)
    idle = sum(width * rows[width] for width in widths) - sum(feeds)
    if idle < 0:
        return None
    listed = sorted(
        islice(_groups(number, rows, idle), MOST_GROUPS),
        key=lambda group: (_idle(group, widths), group.feeds, group.rows),
    )
    model = CpModel()
    chosen = {group: model.new_int_var(0, len(feeds), "") for group in listed}
    rest = {ways: model.new_int_var(0, count, "") for ways, count in number.items()}
    rest_rows = [model.new_int_var(0, rows[width], "") for width in widths]
    is_rest = model.new_bool_var("")
    for ways, count in number.items():
        inside = [group.feeds.count(ways) * variable for group, variable in chosen.items() if ways in group.feeds]
        model.add(LinearExpr.sum([*inside, rest[ways]]) == count)
    for place, width in enumerate(widths):
        inside = [group.rows[place] * variable for group, variable in chosen.items() if group.rows[place]]
        model.add(LinearExpr.sum([*inside, rest_rows[place]]) <= rows[width])
    wanted = LinearExpr.weighted_sum(list(rest.values()), list(rest))
    model.add(wanted <= LinearExpr.weighted_sum(rest_rows, widths))
    model.add(LinearExpr.sum(list(rest.values())) >= is_rest)
    model.minimize(
        LinearExpr.sum(
            [
                *((len(group.feeds) + sum(group.rows) - 1) * variable for group, variable in chosen.items()),
                *rest.values(),
                *rest_rows,
                -is_rest,
            ]
        )
    )
    solved = solve(model, clock, effort=EFFORT)
    if not solved.has_solution:
        return None
    found = [group for group, variable in chosen.items() for _ in range(solved.value(variable))]
    left = tuple(ways for ways, variable in rest.items() for _ in range(solved.value(variable)))
    return [*found, Group(left, tuple(map(solved.value, rest_rows)))] if left else found


def _groups(feeds: Mapping[int, int], rows: Mapping[int, int], idle: int) -> Iterator[Group]:
    """Yield small groups that leave no more ways idle than there are; those that leave few idle come first."""
    widths = list(rows)
    fillings: dict[tuple[int, int], list[Rows]] = defaultdict(list)
    for number in range(1, MOST_ROWS + 1):
        for some in combinations_with_replacement(range(len(widths)), number):
            counts = tuple(map(some.count, range(len(widths))))
            if all(count <= rows[width] for count, width in zip(counts, widths, strict=True)):
                total = sum(widths[place] for place in some)
                for left in range(min(idle, min(widths[place] for place in some) - 1, total - 1) + 1):
                    fillings[left, total - left].append(counts)
    for left in range(min(idle, max(widths) - 1) + 1):
        for number in range(1, MOST_FEEDS + 1):
            for some in combinations_with_replacement(sorted(feeds), number):
                if all(some.count(ways) <= feeds[ways] for ways in set(some)):
                    for counts in fillings.get((left, sum(some)), ()):
                        yield Group(some, counts)


def _idle(group: Group, widths: Sequence[int]) -> int:
    return sum(width * count for width, count in zip(widths, group.rows, strict=True)) - sum(group.feeds)


def fewest_pieces(
    x: Tallies,
    pieces: LinearExprT,
    clock: Clock,
    steps: Sequence[Step],
    known: int,
    meanwhile: Callable[[], None],
) -> Solved:
    """Minimise the strip pieces of a tally model, of which a bound is known: the first step, groups, further steps."""
    solved = minimise(x.model, pieces, clock, steps[:1], known)
    is_open = solved.objective is not None and solved.objective > (solved.bound or 0)
    if solved.status != "feasible" or not is_open or not steps[1:] or clock.left_s <= 0:
        return solved
    model = x.model.clone()
    for variable, value in regrouped(x, solved, clock):
        model.add(variable == value)
    better = solve(model, clock, effort=EFFORT)
    best = solved
    if better.has_solution and better.objective is not None and better.objective < (solved.objective or 0):
        best = replace(better, bound=solved.bound, status="optimal" if better.objective == solved.bound else "feasible")
        hint_again(x.model, best)
        x.model.add(pieces <= better.objective)
    if best.status == "optimal" or clock.left_s <= 0:
        return best
    meanwhile()
    further = minimise(x.model, pieces, clock, steps[1:], solved.bound)
    return further if further.has_solution else replace(best, bound=further.bound)


def regrouped(x: Tallies, solved: Valued, clock: Clock) -> list[tuple[IntVar, int]]:
    """Return values for the rows of a tallied solution, grouped anew; nothing where that was not found."""
    modules = {(panel, module): solved.value(number) for panel, module, number in x.modules}
    families: dict[tuple[str, object], dict[Members, tuple[int, int]]] = defaultdict(dict)
    for kind in (whole.kind for whole in x.whole if whole.kind.bus == "strip"):
        number = sum(modules[kind.panel, name] for name, _ in kind.members)
        families[kind.panel, kind.family][kind.members] = kind.width, number
    values: list[tuple[IntVar, int]] = []
    for (panel, _), kinds in families.items():
        found = _family(x, solved, panel, kinds, clock)
        if found is None:
            return []
        values += found
    return values


def _family(
    x: Tallies, solved: Valued, panel: str, kinds: Mapping[Members, tuple[int, int]], clock: Clock
) -> list[tuple[IntVar, int]] | None:
    """Group the feeds of one family of rows, given the width and the number of rows of each of its kinds."""
    whole = [some for some in x.whole if some.kind.panel == panel and some.kind.members in kinds]
    shared = [s for s in x.shared if s.is_of[0][0].panel == panel and s.is_of[0][0].members in kinds]
    ways: Counter[str] = Counter()
    for some in whole:
        ways[some.feed] += solved.value(some.ways[0])
    for feed, part in chain.from_iterable(other.ways_by_feed.items() for other in shared):
        ways[feed] += solved.value(part)
    rows: dict[int, list[Members]] = defaultdict(list)
    for kind, (width, number) in kinds.items():
        rows[width] += [kind] * number
    groups = grouped([number for number in ways.values() if number], {width: len(rows[width]) for width in rows}, clock)
    if groups is None:
        return None
    feeds: dict[int, list[str]] = defaultdict(list)
    for feed, number in ways.items():
        feeds[number].append(feed)
    alone: dict[tuple[Members, str], list[int]] = defaultdict(list)
    together: list[tuple[Members, Mapping[str, int]]] = []
    for group in groups:
        order = [(feeds[number].pop(), number) for number in group.feeds]
        for width, parts in _laid(
            order, [width for width, n in zip(list(rows), group.rows, strict=True) for _ in range(n)]
        ):
            kind = rows[width].pop()
            if len(parts) > 1:
                together.append((kind, parts))
            else:
                alone[kind, next(iter(parts))] += parts.values()
    if len(together) > len(shared):
        return None
    values = [(some.ways[0], sum(alone[some.kind.members, some.feed])) for some in whole]
    values += [(w.number, len(alone[w.kind.members, w.feed])) for w in whole if w.number is not None]
    nothing: tuple[Members, Mapping[str, int]] = ((), {})
    for one, (kind, laid) in zip(shared, chain(together, repeat(nothing)), strict=False):
        values += [(is_of, int(of.members == kind)) for of, is_of in one.is_of]
        values += [(part, laid.get(feed, 0)) for feed, part in one.ways_by_feed.items()]
    return values


def _laid(feeds: Sequence[tuple[str, int]], widths: Sequence[int]) -> Iterator[tuple[int, Mapping[str, int]]]:
    """Lay feeds over rows, one after the other; yield the ways of each feed by row."""
    left = list(feeds)
    for width in widths:
        room, parts = width, dict[str, int]()
        while left and room:
            feed, number = left.pop(0)
            parts[feed] = min(number, room)
            room -= parts[feed]
            if number > parts[feed]:
                left.insert(0, (feed, number - parts[feed]))
        if parts:
            yield width, parts
