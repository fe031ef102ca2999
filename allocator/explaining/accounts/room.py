"""Where the spare ways of a plan are, and why there are no more of them."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import floor

from allocator.address import ROW_LETTERS
from allocator.explaining.accounts.account import Account, Share, counted
from allocator.plan.index import ModuleAt, NeedAt, PlanIndex


def spare_ways(index: PlanIndex) -> Account:
    """Return a share for each row with spare ways, those that were asked for apart from those that are left over."""
    return Account("spare-ways", tuple(_shares(index)), tuple(_arguments(index)))


def _shares(index: PlanIndex) -> Iterator[Share]:
    for item in index.modules:
        for number, row in enumerate(item.module.rows):
            here = [at for at in index.needs if _is_in(at, item, number)]
            asked = [at.need.id for at in here if at.need.kind == "spare"]
            where, of_type = f"{item.panel}/{item.bay}/{ROW_LETTERS[number]}", f"type {row.fuse_format}"
            if asked:
                yield Share(Fraction(len(asked)), where, f"asked for and fed, {of_type}", tuple(asked))
            if row.ways > len(here):
                fed = "on the stud" if row.bus == "stud" else "not fed yet"
                yield Share(Fraction(row.ways - len(here)), where, f"left over, {of_type}, {fed}")


def _is_in(at: NeedAt, item: ModuleAt, row: int) -> bool:
    return at.way is not None and (at.way.panel, at.way.bay, at.way.row) == (item.panel, item.bay, row)


def _arguments(index: PlanIndex) -> Iterator[str]:
    """Say how many ways modules on offer could bring into the bays of the plan."""
    bays = sum(item.carrier.bays for item in index.carriers)
    modules = index.sized.requirements.catalogue.modules
    densest = max(modules, key=lambda module: Fraction(sum(row.ways for row in module.rows), module.bays))
    ways = sum(row.ways for row in densest.rows)
    taken = sum(at.way is not None and at.need.kind != "spare" for at in index.needs)
    most = floor(Fraction(ways, densest.bays) * bays)
    yield (
        f"no module on offer has more ways for its bays than {densest.label} with {counted(ways, 'way')}: "
        f"{counted(bays, 'bay')} hold {most} at most, and circuits and feeds take {taken} of them"
    )
