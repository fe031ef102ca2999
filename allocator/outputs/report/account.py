"""
The account of a plan as tables of the report page, one for each goal, folded away until they are asked for.

Comes in as the Content of a plan; goes out as blocks of the chapter on goals.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.explaining.accounts.account import Account
from allocator.outputs.accounts import share_texts
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.goals import goal_name
from allocator.outputs.report.blocks import Block, Cell, Column, Grid, Line, Prose

COLUMNS = (
    Column("amount", right=True), Column("of"), Column("what it is for"), Column("because of", wide=True)
)  # fmt: skip


def account_blocks(content: Content) -> Iterator[Block]:
    """Yield a table for each goal, and below it why it is not less."""
    for account in content.accounts:
        if account.shares:
            yield _grid(content, account)
        if account.arguments:
            yield Prose(tuple(f"{text[0].upper()}{clean(text[1:])}." for text in account.arguments))


def _grid(content: Content, account: Account) -> Grid:
    lines = tuple(
        Line(
            "",
            (
                Cell(amount, float(share.amount)),
                Cell(clean(share.what), number),
                Cell(clean(share.why)),
                Cell(clean(", ".join(share.needs))),
            ),
        )
        for number, (share, amount) in enumerate(zip(account.shares, share_texts(content, account), strict=True))
    )
    title = f"{goal_name(account.goal).capitalize()}, share by share"
    return Grid(f"goal-{account.goal}", title, COLUMNS, lines, folded=True)
