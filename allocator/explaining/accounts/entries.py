"""
Where the feed entries of a plan come from: each with its ways, and of each feed how many it must have.

A way lies in a row of its fuse format, and a strip piece in one row: so a feed needs at least an entry for each format
among what can be on no other feed, more where these are more than the widest row, or draw more than an entry may carry.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from allocator.explaining.accounts.account import Account, Share, counted, listed, names_of
from allocator.plan.index import EntryAt, PlanIndex
from allocator.plan.measures import entry_load_ma, need_loads
from allocator.sizing.sized import Need, Sized, supply_groups
from allocator.units import from_model

Formats = frozenset[str]
"""Fuse formats that one entry can supply together: several only on a stud."""


def strip_pieces(index: PlanIndex) -> Account:
    """Return a share for each feed entry."""
    by_need = need_loads(index)
    shares = tuple(_share(index, entry, by_need) for entry in index.entries)
    floors = [floor_of_feed(index.sized, feed) for feed in index.sized.feeds]
    arguments = [floor.text for floor in floors if floor.entries]
    least = sum(floor.entries for floor in floors)
    if len(arguments) > 1:
        arguments.append(f"together at least {counted(least, 'entry')} by these sums alone")
    return Account("strip-pieces", shares, tuple(arguments))


_WORDS = {"strip": "strip piece", "single": "way fed singly", "stud": "stud", "socket": "relay socket fed directly"}


def _share(index: PlanIndex, entry: EntryAt, by_need: Mapping[str, tuple[int, ...]]) -> Share:
    needs = [item.need for item in index.needs_of(entry)]
    loads = entry_load_ma(index, entry, by_need)
    most = max(loads, default=0)
    said = [f"feed {entry.piece.feed}", _WORDS[entry.piece.kind]]
    if entry.row is not None:
        said.append(f"{counted(len(entry.ways), 'way')} of type {entry.at.module.rows[entry.row].fuse_format}")
    if most:
        case = index.sized.requirements.scenario.load_cases[loads.index(most)].name
        limit_ma = index.limit_ma(entry)
        of = "" if limit_ma is None else f" of {from_model(limit_ma):.2f} A"
        said.append(f"{from_model(most):.2f} A{of} in {case}")
    return Share(Fraction(1), entry.piece.at, ", ".join(said), names_of(needs))


@dataclass(frozen=True)
class Floor:
    """Entries that a feed has in every plan, and why."""

    entries: int
    text: str


def floor_of_feed(sized: Sized, feed: str) -> Floor:
    """Return how many entries a feed has at least, by what can be on no other feed."""
    needs = [need for need in sized.needs if need.feeds == (feed,)]
    direct = [need for need in needs if not need.takes_way]
    parts: list[tuple[int, str]] = [(len(direct), f"{counted(len(direct), 'relay socket')} fed directly")]
    by_formats: dict[Formats, list[Need]] = defaultdict(list)
    joined = _joined(sized)
    for need in needs:
        choices = {joined[option.fuse_format] for option in need.options if option.fuse_format in joined}
        if need.takes_way and len(choices) == 1:
            by_formats[choices.pop()].append(need)
    for formats, members in by_formats.items():
        parts.append(_by_formats(sized, feed, formats, members))
    told = [(number, text) for number, text in parts if number]
    total = sum(number for number, _ in told)
    why = told[0][1] if len(told) == 1 else listed(f"{number} for {text}" for number, text in told)
    return Floor(total, f"feed {feed}: at least {counted(total, 'entry')}{' for' if len(told) == 1 else ':'} {why}")


def _joined(sized: Sized) -> Mapping[str | None, Formats]:
    """Return by format all formats that one entry may supply together with it."""
    joined: dict[str | None, Formats] = {}
    for module in sized.requirements.catalogue.modules:
        for group in supply_groups(module):
            formats: Formats = frozenset(str(module.rows[row].fuse_format) for row in group)
            formats = formats.union(*(joined.get(letter, frozenset()) for letter in formats))
            joined |= dict.fromkeys(formats, formats)
    return joined


def _by_formats(sized: Sized, feed: str, formats: Formats, needs: list[Need]) -> tuple[int, str]:
    widest, limit_ma = _largest(sized, feed, formats)
    loads = [_least_ma(sized, need, case) for case in range(_num_cases(sized)) for need in needs]
    loads_ma = [sum(loads[case * len(needs) : (case + 1) * len(needs)]) for case in range(_num_cases(sized))]
    by_ways = -(-len(needs) // widest) if widest else 1
    by_current = -(-max(loads_ma, default=0) // limit_ma) if limit_ma else 0
    what = f"{counted(len(needs), 'way')} of type {listed(sorted(formats))}"
    if by_current > by_ways:
        what += f" with {from_model(max(loads_ma)):.2f} A, an entry carrying {from_model(limit_ma):.2f} A at most"
    elif by_ways > 1:
        what += f", {widest} at most on one entry"
    number = max(by_ways, by_current)
    return number, what


def _num_cases(sized: Sized) -> int:
    return len(sized.requirements.scenario.load_cases)


def _largest(sized: Sized, feed: str, formats: Formats) -> tuple[int, int]:
    """Return the most ways of some formats and the most current, mA, of an entry of a feed on offer."""
    widths, limits_ma = [0], [0]
    for panel, module_id, number, name in sized.entries:
        module = sized.module_by_id[module_id]
        rows = [module.rows[row] for row in supply_groups(module)[number]]
        ways = sum(row.ways for row in rows if row.fuse_format in formats)
        if name == feed and ways:
            widths.append(1 if rows[0].bus == "single" else ways)
            limits_ma.append(sized.entry_limit_ma(panel, module_id, number, name) or 0)
    return max(widths), max(limits_ma)


def _least_ma(sized: Sized, need: Need, case: int) -> int:
    """Return what flows at least through a way in a load case, mA: of a branch, what can be on no other feed."""
    below = [item for item in sized.needs if need.supplies is not None and item.feeds == (need.supplies,)]
    return need.load_ma_by_case[case] + sum(_least_ma(sized, item, case) for item in below)
