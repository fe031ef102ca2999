"""The rule on what a revision keeps of the panel as built: it is where it was, and of the same kind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from allocator.plan.plan import PlacedCarrier, Plan
from allocator.verifying.exact import number
from allocator.verifying.findings import Finding
from allocator.verifying.records import SocketRecord, WayRecord, quoted, read_module_place
from allocator.verifying.view import View


def built_stays(view: View) -> Iterator[Finding]:
    """Report carriers, modules, ways, sockets and feed entries that are kept and are gone or other."""
    stays = view.plan.stays
    if stays is None:
        return
    yield from carriers_gone(stays.carriers, view.plan)
    for placed in stays.modules:
        key = read_module_place(placed.at)
        module = None if key is None else view.placed.get(key)
        if module is None or module.id != placed.module:
            now = "nothing" if module is None else f'"{module.id}"'
            text = f'module "{placed.module}" is built there and stays; the plan has {now}'
            yield Finding("built-stays", placed.at, text)
    yield from _moved("way", stays.ways, view.ways)
    yield from _moved("socket", stays.sockets, view.sockets)
    entries = {(entry.piece.kind, entry.at, entry.piece.feed) for entry in view.entries}
    for piece in stays.pieces:
        if (piece.kind, piece.at, piece.feed) not in entries:
            text = f'the {piece.kind} entry of feed "{piece.feed}" is built there and stays; the plan has none like it'
            yield Finding("built-stays", piece.at, text)


def carriers_gone(built: Iterable[PlacedCarrier], plan: Plan) -> Iterator[Finding]:
    """
    Report carriers of a panel as built that a plan has not got where they are.

    Parameters
    ----------
    built
        The carriers as built: all of them stay in any revision.
    plan
        The new plan.
    """
    for carrier in built:
        if carrier not in plan.carriers:
            spot = (carrier.panel, carrier.first_bay)
            now = [other.carrier for other in plan.carriers if (other.panel, other.first_bay) == spot]
            text = f'carrier "{carrier.carrier}" is built there and stays; the plan has {quoted(now) or "nothing"}'
            yield Finding("built-stays", f"{carrier.panel}/{number(carrier.first_bay)}", text)


def _moved(
    what: str, kept: Mapping[str, str], placed: Iterable[WayRecord] | Iterable[SocketRecord]
) -> Iterator[Finding]:
    at_by_need = {record.used.need: record.at for record in placed}
    for need, at in kept.items():
        if at_by_need.get(need) != at:
            now = f"is at {at_by_need[need]}" if need in at_by_need else "is nowhere"
            yield Finding("built-stays", f"{at} ({need})", f"its {what} is built there and stays; in the plan it {now}")
