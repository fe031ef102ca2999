"""
The failure view of the report page: what goes dark with each feed, fuse and relay, and who shares a fate.

Comes in as the failures of a plan; goes out as a Chapter. Failures that take one circuit alone stand in a table of
their own, so that those that take more are seen.
"""

from __future__ import annotations

from collections.abc import Sequence

from allocator.outputs.failures import failure_name
from allocator.outputs.fonts import clean
from allocator.outputs.report.blocks import Block, Cell, Chapter, Column, Grid, Line, Prose
from allocator.outputs.report.facts import Facts
from allocator.plan.failures import Failure, shared_fates

WARNING = "⚠"


def fates(found: Sequence[Failure], facts: Facts) -> Chapter:
    """Return the failure view."""
    numbered = list(enumerate(found))
    many = [(number, item) for number, item in numbered if item.kind in ("feed", "main fuse") or _num_lost(item) > 1]
    one = [(number, item) for number, item in numbered if (number, item) not in many]
    blocks: list[Block] = [
        Prose(
            (
                "One thing fails at a time: a feed, its main fuse, a fuse or relay in the panel, or the in-line fuse "
                "of a feed tail or of the lead to a coil. Counted are the circuits that run in a load case and go "
                "dark; failures.csv has the number for every load case.",
            )
        ),
        _grid("failures", "What takes more than one circuit", many, facts),
        _grid("single-failures", "What takes one circuit or none", one, facts, folded=True),
    ]
    pairs = shared_fates(found)
    if pairs:
        said = f"{WARNING} Critical pairs: both circuits are critical, and one failure takes both in one load case."
        blocks += [Prose((said,)), _pairs_grid(found, facts)]
    return Chapter("failures", "What goes dark with what", tuple(blocks))


def _num_lost(failure: Failure) -> int:
    return len({name for effect in failure.effect_by_case for name in (*effect.dark, *effect.falls_back)})


def _grid(name: str, title: str, found: Sequence[tuple[int, Failure]], facts: Facts, *, folded: bool = False) -> Grid:
    columns = (
        Column("what fails"), Column("of"), Column("critical pairs", right=True),
        Column("most at once"), Column("circuits", wide=True),
    )  # fmt: skip
    lines = tuple(Line(f"failure:{number}", _cells(item, number, facts)) for number, item in found)
    return Grid(name, title, columns, lines, folded=folded)


def _cells(failure: Failure, number: int, facts: Facts) -> tuple[Cell, ...]:
    pairs = len(failure.critical_pairs)
    is_feed = failure.name in facts.feed_labels
    counts = [len(effect.dark) for effect in failure.effect_by_case]
    most = max(counts)
    return (
        Cell(clean(failure_name(failure)), number),
        Cell(facts.failing(failure), feed=failure.name if is_feed else ""),
        Cell(f"{WARNING} {pairs}" if pairs else "none", pairs),
        Cell(f"{most} in {facts.cases[counts.index(most)]}" if most else "none", most),
        Cell(_lost(failure, facts)),
    )


def _lost(failure: Failure, facts: Facts) -> str:
    """Name what is lost, circuits of the same load cases together."""
    cases_of: dict[str, tuple[str, ...]] = {}
    for case, effect in zip(facts.cases, failure.effect_by_case, strict=True):
        for name in effect.dark:
            cases_of[clean(name)] = (*cases_of.get(clean(name), ()), case)
        for name in effect.falls_back:
            back = f"{clean(name)} (falls back)"
            cases_of[back] = (*cases_of.get(back, ()), case)
    groups: dict[tuple[str, ...], list[str]] = {}
    for name, cases in cases_of.items():
        groups.setdefault(cases, []).append(name)
    return "; ".join(
        f"{'all cases' if cases == facts.cases else ', '.join(cases)}: {', '.join(names)}"
        for cases, names in groups.items()
    )


def _pairs_grid(found: Sequence[Failure], facts: Facts) -> Grid:
    lines = tuple(
        Line(
            "", (Cell(facts.named(first)), Cell(facts.named(second)), Cell(", ".join(map(_named, shared)), len(shared)))
        )
        for (first, second), shared in shared_fates(found).items()
    )
    return Grid("pairs", "Critical pairs", (Column("circuit"), Column("circuit"), Column("share")), lines, folded=True)


def _named(failure: Failure) -> str:
    return clean(failure_name(failure))
