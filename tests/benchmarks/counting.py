"""
What plain counting says of a panel: no plan has fewer bays, types or pieces, because ways, sockets and amperes run out.

Comes in as a ``Sized`` of one panel; goes out as one bound for each goal. Written apart from the package's own bounds:
a small covering programme for modules, solved by HiGHS, and arithmetic for the pieces.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Need, Sized
from tests.benchmarks.linear import Linear, Terms, by_highs, lexicographic

LIMIT_S = 60.0


def counting_bounds(sized: Sized) -> dict[Goal, int]:
    """Return the counting bounds on bays, on module types within them, and on strip pieces."""
    covering = Covering(sized)
    goals: dict[Goal, Terms] = {"bays": covering.bays, "module-types": covering.types}
    answers = lexicographic(covering.linear, goals, by_highs, limit_s=LIMIT_S, threads=1)
    assert len(answers) == len(goals) and all(answer.proven for _, answer in answers), "the covering is small"
    bays, types = (answer.value or 0 for _, answer in answers)
    return {"bays": max(bays, _modules_by_load(sized)), "module-types": types, "strip-pieces": _pieces(sized)}


def most_copies(sized: Sized, bays: int, types: int | None = None) -> dict[str, int]:
    """Return how many modules of each type can stand in a plan within so many bays and types, by counting."""
    covering = Covering(sized)
    covering.linear.add(covering.bays, high=bays)
    if types is not None:
        covering.linear.add(covering.types, high=types)
    most: dict[str, int] = {}
    for name, column in covering.number.items():
        answer = by_highs(covering.linear, {column: -1}, {}, LIMIT_S, 1)
        assert answer.proven or answer.infeasible, "the covering is small"
        most[name] = -(answer.value or 0)
    return most


class Covering:
    """Modules, ways, sockets and amperes as counts: what every plan of a panel must at least hold."""

    def __init__(self, sized: Sized) -> None:
        self.sized, self.linear = sized, Linear()
        self.site, *_ = sized.requirements.scenario.panels
        catalogue = sized.requirements.catalogue
        add = self.linear.column
        self.number = {module.id: add(self.site.max_bays // module.bays) for module in catalogue.modules}
        self.bays = {add(self.site.max_bays // carrier.bays): carrier.bays for carrier in catalogue.carriers}
        used = {module.id: add() for module in catalogue.modules}
        self.types: Terms = dict.fromkeys(used.values(), 1)
        self.linear.add(self.bays, high=self.site.max_bays)
        self.linear.add(self.bays | {self.number[m.id]: -m.bays for m in catalogue.modules}, low=0)
        for name, column in used.items():
            self.linear.add({column: self.site.max_bays, self.number[name]: -1}, low=0)
        self._ways_and_sockets()
        self._amperes()

    def _ways_and_sockets(self) -> None:
        taken: dict[tuple[str, str | None], dict[int, int]] = defaultdict(dict)
        for options, count in Counter(_options(need) for need in self.sized.needs).items():
            columns = {option: self.linear.column(count) for option in options}
            self.linear.add(dict.fromkeys(columns.values(), 1), low=count, high=count)
            for (letter, relay_class), column in columns.items():
                taken["way", letter][column] = -1
                taken["socket", relay_class][column] = -1
        for module in self.sized.requirements.catalogue.modules:
            column = self.number[module.id]
            for row in module.rows:
                terms = taken["way", row.fuse_format]
                terms[column] = terms.get(column, 0) + row.ways
            for group in module.sockets:
                taken["socket", group.relay_class][column] = group.count
        for (_, name), terms in taken.items():
            if name is not None:
                self.linear.add(terms, low=0)

    def _amperes(self) -> None:
        modules = [module for module in self.sized.requirements.catalogue.modules if module.rows]
        limits = {module.id: self.sized.module_limit_ma[self.site.name, module.id] for module in modules}
        if all(limit is not None for limit in limits.values()):
            terms = {self.number[name]: limit or 0 for name, limit in limits.items()}
            self.linear.add(terms, low=_most_load_ma(self.sized.needs))


def _options(need: Need) -> tuple[tuple[str | None, str | None], ...]:
    """Return the format and the relay class of every option."""
    found = {(option.fuse_format if need.takes_way else None, option.relay_class) for option in need.options}
    return tuple(sorted(found, key=str))


def _modules_by_load(sized: Sized) -> int:
    """Return how many modules the loads need at least, each within the largest limit; a module takes a bay or more."""
    limits = [sized.module_limit_ma[key] for key in sorted(sized.module_limit_ma)]
    largest = max((limit for limit in limits if limit is not None), default=0)
    return 0 if None in limits else holders(sized.needs, largest)


def holders(needs: Sequence[Need], limit_ma: int) -> int:
    """
    Return how many things with a limit the needs take at least, in their worst case.

    Martello and Toth's L2: loads over half of the limit share with none of their like, and what is too large for the
    room beside them takes more ("Knapsack Problems", 1990, chapter 8).
    """
    return max((_l2([n.load_ma_by_case[case] for n in needs], limit_ma) for case in _cases(needs)), default=0)


def _cases(needs: Sequence[Need]) -> range:
    return range(len(needs[0].load_ma_by_case) if needs else 0)


def _l2(loads: Sequence[int], limit: int) -> int:
    best = 0
    for small in sorted({0, *(load for load in loads if 2 * load <= limit)}):
        alone = [load for load in loads if load > limit - small]
        large = [load for load in loads if limit < 2 * load and load <= limit - small]
        light = sum(load for load in loads if small <= load and 2 * load <= limit)
        room = sum(limit - load for load in large)
        best = max(best, len(alone) + len(large) + max(0, -(-(light - room) // limit)))
    return best


def _most_load_ma(needs: Sequence[Need]) -> int:
    """Return the largest load of all needs together in one case."""
    return max((sum(need.load_ma_by_case[case] for need in needs) for case in _cases(needs)), default=0)


def _pieces(sized: Sized) -> int:
    """Return the largest of what ways by the widest row, amperes by the largest entry and single feeds ask for."""
    widest: dict[str, int] = {}
    for module in sized.requirements.catalogue.modules:
        for row in module.rows:
            widest[row.fuse_format] = max(row.ways, widest.get(row.fuse_format, 0))
    largest_ma = max(entry.limit_ma for entry in sized.entries.values())
    by_ways = sum(-(-len(needs) // widest[letter]) for letter, needs in _by_format(sized.needs))
    by_feeds = 0
    for feed in sized.feeds:
        of_feed = [need for need in sized.needs if need.feeds == (feed,) and need.takes_way]
        ways = sum(-(-len(needs) // widest[letter]) for letter, needs in _by_format(of_feed))
        by_feeds += max(ways, holders(of_feed, largest_ma), int(bool(of_feed)))
    return max(by_ways, by_feeds, holders(sized.needs, largest_ma), _modules_by_load(sized))


def _by_format(needs: Sequence[Need]) -> Iterator[tuple[str, list[Need]]]:
    """Yield the needs that have just one format, by format."""
    found: dict[str, list[Need]] = defaultdict(list)
    for need in needs:
        letters = {option.fuse_format for option in need.options}
        if need.takes_way and len(letters) == 1:
            found[str(next(iter(letters)))].append(need)
    yield from sorted(found.items())
