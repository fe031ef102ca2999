"""Where the price of a plan, its length of wire and its copper come from: part by part, the largest line first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from allocator.explaining.accounts.account import Account, Share, counted, name_of
from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.requirements.catalogue import parts_by_id
from allocator.units import MM_PER_M


def price(index: PlanIndex) -> Account:
    """Return a share for each catalogue part, cents."""
    return Account("price", _largest_first(_price_shares(index)))


def _price_shares(index: PlanIndex) -> Iterator[Share]:
    bill, prices = bill_of_index(index), index.sized.price_by_part
    labels, needs = _labels(index), _needs_by_part(index)
    for part, number in bill.parts.items():
        why = f"{counted(number, 'piece')} of {part}"
        yield Share(number * prices[part], labels[part], why, needs.get(part, ()))
    for part, number in bill.strip_ways.items():
        yield Share(number * prices[part], labels[part], f"{counted(number, 'way')} of {part}")
    for part, mm in bill.wire_mm.items():
        yield Share(mm * prices[part] / MM_PER_M, labels[part], f"{_metres(mm)} of {part}", needs.get(part, ()))


def wire_length(index: PlanIndex) -> Account:
    """Return a share for each wire of the catalogue, mm."""
    labels, needs = _labels(index), _needs_by_part(index)
    shares = (
        Share(Fraction(mm), labels[wire], f"{_metres(mm)} of {wire}", needs.get(wire, ()))
        for wire, mm in bill_of_index(index).wire_mm.items()
    )
    return Account("wire-length", _largest_first(shares))


def copper(index: PlanIndex) -> Account:
    """Return a share for each wire of the catalogue, mm3."""
    labels, needs, areas = _labels(index), _needs_by_part(index), index.sized.area_mm2_by_wire
    shares = (
        Share(mm * areas[wire], labels[wire], f"{_metres(mm)} of {wire}", needs.get(wire, ()))
        for wire, mm in bill_of_index(index).wire_mm.items()
    )
    return Account("copper", _largest_first(shares))


def _largest_first(shares: Iterable[Share]) -> tuple[Share, ...]:
    return tuple(sorted(shares, key=lambda share: -share.amount))


def _metres(mm: int) -> str:
    return f"{mm / MM_PER_M:.2f} m"


def _labels(index: PlanIndex) -> Mapping[str, str]:
    return {name: part.label for name, part in parts_by_id(index.sized.requirements.catalogue).items()}


def _needs_by_part(index: PlanIndex) -> Mapping[str, tuple[str, ...]]:
    """Return who brings each part along: circuits, branches and spare ways whose option names it."""
    found: dict[str, list[str]] = defaultdict(list)
    for item in index.needs:
        wires = [cut.wire for cut in item.option.wires if cut.length_mm]
        wires += [item.option.jumper_wire] if item.jumper and item.option.jumper_wire else []
        for part in dict.fromkeys([*item.option.parts, *wires]):
            found[part].append(name_of(item.need))
    return {part: tuple(names) for part, names in found.items()}
