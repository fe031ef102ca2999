"""
A comparison in words: tables of what differs, the same for the terminal and for paper, and the text of the terminal.

Comes in as a ``Comparison``; goes out as titled tables of text, and as one text.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from fractions import Fraction

from allocator.outputs.cautions import CAUTIONS
from allocator.outputs.comparing.side import Comparison
from allocator.outputs.fonts import clean
from allocator.outputs.goals import goal_name, proof_text, value_text
from allocator.outputs.summary import WIDTH, caution_lines, columns
from allocator.outputs.tables import Table
from allocator.plan.comparison import NeedRow, PartRow
from allocator.units import MM_PER_M

MOST_INPUTS = 24
"""Input fields that the terminal shows; all are in the list and on paper."""
_CELL = 44
NONE = "none"
SAME = "Nothing differs: the plans are the same in every circuit, part, load and input."


def comparison_text(comparison: Comparison) -> str:
    """Return the text of the terminal: lines of at most 100 columns where the words allow it."""
    blocks = [_names(comparison)]
    for table in tables(comparison):
        blocks.append(_block(comparison, table))
    if not differs(comparison):
        blocks.append([SAME])
    blocks.append(list(caution_lines(CAUTIONS)))
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def differs(comparison: Comparison) -> bool:
    """Return whether anything at all is other than in the first plan."""
    return any((inputs_table(comparison).rows, parts_table(comparison).rows, spare_table(comparison).rows,
                needs_table(comparison).rows, feeds_table(comparison).rows,
                any(values != comparison.values[0] for values in comparison.values)))  # fmt: skip


def _names(comparison: Comparison) -> list[str]:
    lines = ["Compared, each with A"] if len(comparison.sides) > 2 else ["Compared"]
    for letter, side in zip(comparison.letters, comparison.sides, strict=True):
        text = f"{letter}  {clean(side.name)}: {clean(side.content.vehicle)}, plan {side.content.number}"
        lines += textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="     ", break_on_hyphens=False)
    return lines


def _block(comparison: Comparison, table: Table) -> list[str]:
    if not table.rows:
        return [f"{table.title}: no difference"]
    shown = table.rows
    if table.title == inputs_table(comparison).title and len(shown) > MOST_INPUTS:
        shown = shown[:MOST_INPUTS]
    right = tuple(number for number, name in enumerate(table.columns) if name in table.right)
    cells = [(*map(_short, row[:-1]), clean(row[-1])) for row in (table.columns, *shown)]
    more = len(table.rows) - len(shown)
    last = [f"  and {more} more: compare.csv, with --out, has all"] if more else []
    return [table.title, *columns(cells, right=right), *last]


def _short(cell: str) -> str:
    text = clean(cell)
    return text if len(text) <= _CELL else f"{text[: _CELL - 1]}…"


def tables(comparison: Comparison) -> Iterator[Table]:
    """Yield every table, in the order of interest."""
    yield goals_table(comparison)
    yield inputs_table(comparison)
    yield spare_table(comparison)
    yield feeds_table(comparison)
    yield parts_table(comparison)
    yield needs_table(comparison)


def goals_table(comparison: Comparison) -> Table:
    """Return value and proof of every goal in each plan, and how much more than A each has."""
    heads = [head for letter in comparison.letters for head in (letter, f"proof of {letter}")]
    more = [f"{letter} - A" for letter in comparison.letters[1:]]
    rows = []
    for goal in comparison.goals:
        cells: list[str] = []
        for number, (results, values) in enumerate(zip(comparison.results, comparison.values, strict=True)):
            currency = comparison.currency(number)
            proof = proof_text(results[goal], currency) if goal in results else "no goal of this plan"
            cells += [value_text(goal, values[goal], currency), proof]
        base = comparison.values[0][goal]
        cells += [
            _signed(values[goal] - base, value_text(goal, abs(values[goal] - base), comparison.currency(number)))
            for number, values in enumerate(comparison.values[1:], 1)
        ]
        rows.append((goal_name(goal), *cells))
    return Table("Goals", ("goal", *heads, *more), tuple(rows), right=(*comparison.letters, *more))


def _signed(amount: Fraction | int, text: str) -> str:
    return f"+{text}" if amount > 0 else f"-{text}" if amount < 0 else "="


def inputs_table(comparison: Comparison) -> Table:
    """Return every field of the requirements that is not the same in all."""
    rows = tuple(
        (" ".join(filter(None, (row.table, row.name))), row.field or "entry", *(value or NONE for value in row.values))
        for row in comparison.inputs
    )
    return Table("What was asked for", ("where", "field", *comparison.letters), rows)


def spare_table(comparison: Comparison) -> Table:
    """Return what is left free where that is not the same."""
    rows = tuple((row.kind, row.name, *map(str, row.counts)) for row in comparison.spare if len(set(row.counts)) > 1)
    return Table("Left free", ("what", "of", *comparison.letters), rows, right=comparison.letters)


def feeds_table(comparison: Comparison) -> Table:
    """Return the largest load of every feed, of what it is allowed, where that is not the same."""
    rows = tuple(
        (row.feed, *("no such feed" if share is None else value_text("peak-utilisation", share, "")
                     for share in row.shares))
        for row in comparison.feeds
        if len(set(row.shares)) > 1
    )  # fmt: skip
    return Table(
        "Largest load of feeds, of what is allowed", ("feed", *comparison.letters), rows, right=comparison.letters
    )


def parts_table(comparison: Comparison) -> Table:
    """Return every part of which a plan has more or less than A, or pays another price for."""
    more = [f"{letter} - A" for letter in comparison.letters[1:]]
    prices = [f"price {letter} - A" for letter in comparison.letters[1:]]
    rows = []
    for row in comparison.parts:
        if len(set(row.amounts)) > 1 or len(set(row.cents)) > 1:
            steps = [
                _signed(amount - row.amounts[0], amount_text(row, abs(amount - row.amounts[0])))
                for amount in row.amounts[1:]
            ]
            costs = [
                _signed(
                    cents - row.cents[0], value_text("price", abs(cents - row.cents[0]), comparison.currency(number))
                )
                for number, cents in enumerate(row.cents[1:], 1)
            ]
            rows.append((row.part, *(amount_text(row, amount) for amount in row.amounts), *steps, *costs))
    heads = (*comparison.letters, *more, *prices)
    return Table("Parts", ("part", *heads), tuple(rows), right=heads)


def amount_text(row: PartRow, amount: int) -> str:
    """Return an amount of a part with its unit; pieces without."""
    if row.unit == "mm":
        return f"{amount / MM_PER_M:.2f} m"
    return f"{amount} ways" if row.unit == "way" else str(amount)


def needs_table(comparison: Comparison) -> Table:
    """Return every circuit, branch and spare way that a plan has otherwise than A, with its number on the drawing."""
    rows = []
    for other, letter in enumerate(comparison.letters[1:], 1):
        for number, row in comparison.numbered(other):
            name = f"feed {row.need}" if row.kind == "feed" else row.need
            rows.append((letter, str(number), name, fate_text(row, other), "; ".join(changes_of(row, other))))
    title = "Circuits, branches and spare ways that are not as in A"
    return Table(title, ("plan", "no.", "circuit", "fate", "from A to there"), tuple(rows), right=("no.",))


def fate_text(row: NeedRow, other: int) -> str:
    """Return what became of a need in a plan, against A."""
    return {"only there": "only in A", "only here": "not in A"}.get(row.fate(other), row.fate(other))


def changes_of(row: NeedRow, other: int) -> Iterator[str]:
    """Yield each field that changed, from what to what; of a need that A or the other lacks where it is."""
    first, here = row.standings[0], row.standings[other]
    for field in row.fields(other):
        if first is not None and here is not None and not (field == "panel" and "way" in row.fields(other)):
            yield f"{field} {first[field] or NONE} -> {here[field] or NONE}"
    alone = here if first is None else first if here is None else None
    if alone is not None:
        yield f"at {alone['way'] or alone['socket']}"
