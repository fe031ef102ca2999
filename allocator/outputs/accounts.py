"""
The account of a plan, goal by goal: ``goals.csv`` and the lines of the summary.

Comes in as the Content of a plan; goes out as text. ``docs/explanations.md`` documents the columns.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from fractions import Fraction
from math import floor
from typing import Any

from allocator.explaining.accounts.account import Account, Share
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.goals import goal_name, proof_text, value_text
from allocator.outputs.lists import remarks_of
from allocator.outputs.records import csv_text, number_text
from allocator.plan.plan import GoalResult
from allocator.requirements.shown_goals import SHOWN

GOALS_FILE = "goals.csv"
COLUMNS = ("goal", "kind", "amount", "unit", "what", "why", "because_of")
WIDTH = 100
MOST_LINES = 12
"""Shares that the summary shows of one goal; goals.csv and the report have all."""
MOST_NAMES = 6


def goals_csv(content: Content) -> str:
    """Return goals.csv: for each goal its amount, then its shares, then the arguments why it is not less."""
    rows = [row for account, result in accounts_with_results(content) for row in _rows(content, account, result)]
    return csv_text(COLUMNS, rows, remarks_of(content))


def accounts_with_results(content: Content) -> Iterator[tuple[Account, GoalResult]]:
    """Yield the account of each goal with what the plan says of it."""
    yield from zip(content.accounts, content.plan.goals, strict=True)


def _rows(content: Content, account: Account, result: GoalResult) -> Iterator[tuple[object, ...]]:
    currency = content.sized.requirements.catalogue.currency
    unit = currency if account.goal == "price" else SHOWN[account.goal].plain_unit
    total, *amounts = (
        _number(account, text) for text in (total_text(content, account), *share_texts(content, account))
    )
    yield account.goal, "goal", total, unit, "", proof_text(result, currency), ""
    for share, amount in zip(account.shares, amounts, strict=True):
        yield account.goal, "share", amount, unit, share.what, share.why, "; ".join(share.needs)
    for argument in account.arguments:
        yield account.goal, "argument", "", "", "", argument, ""


def _number(account: Account, text: str) -> str:
    return text.split(" ")[0] if SHOWN[account.goal].decimals else number_text(Fraction(text))


def total_text(content: Content, account: Account) -> str:
    """Return the amount of a goal as a person reads it."""
    return value_text(account.goal, account.value, content.sized.requirements.catalogue.currency)


def share_texts(content: Content, account: Account) -> tuple[str, ...]:
    """Return the amounts of all shares as a person reads them, rounded so that they add up to the goal's as read."""
    amounts = [share.amount for share in account.shares]
    if SHOWN[account.goal].decimals:
        step = SHOWN[account.goal].step
        whole = [floor(amount / step) for amount in amounts]
        left = int(total_text(content, account).split(" ")[0].replace(".", "")) - sum(whole)
        largest = sorted(range(len(amounts)), key=lambda number: whole[number] - amounts[number] / step)
        amounts = [step * (number + (place in largest[:left])) for place, number in enumerate(whole)]
    currency = content.sized.requirements.catalogue.currency
    return tuple(value_text(account.goal, amount, currency) for amount in amounts)


def account_lines(content: Content) -> Iterator[str]:
    """Yield the lines of the summary."""
    yield "Goal by goal: where each amount comes from, and why it is not less"
    for account, result in accounts_with_results(content):
        currency = content.sized.requirements.catalogue.currency
        yield f"  {goal_name(account.goal)}: {total_text(content, account)}, {proof_text(result, currency)}"
        shown = account.shares if len(account.shares) <= MOST_LINES else account.shares[: MOST_LINES - 1]
        amounts = share_texts(content, account)[: len(shown)]
        width = max(map(len, amounts), default=0)
        for share, amount in zip(shown, amounts, strict=True):
            words = f"{amount.rjust(width)}  {clean(share.what)}: {clean(share.why)}{_names(share)}"
            yield from _wrapped(words, width + 2)
        if len(shown) < len(account.shares):
            yield f"    and {len(account.shares) - len(shown)} more, in {GOALS_FILE}"
        for argument in account.arguments:
            yield from _wrapped(f"- {clean(argument)}", 2)


def _wrapped(text: str, hang: int) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="    ", subsequent_indent=" " * (4 + hang), break_on_hyphens=False)


def _names(share: Share) -> str:
    """Name some of those that cause a share, where it is not called after the only one."""
    if not share.needs or share.needs == (share.what,):
        return ""
    more = f" and {len(share.needs) - MOST_NAMES} more" if len(share.needs) > MOST_NAMES else ""
    return f" ({', '.join(map(clean, share.needs[:MOST_NAMES]))}{more})"


def accounts_data(content: Content) -> list[dict[str, Any]]:
    """Return the account as plain data; exact numbers as text."""
    return [
        {
            "goal": account.goal,
            "value": str(account.value),
            "shares": [
                {"amount": str(share.amount), "what": share.what, "why": share.why, "because_of": list(share.needs)}
                for share in account.shares
            ],
            "arguments": list(account.arguments),
        }
        for account in content.accounts
    ]
