"""
The greedy's modules laid out as a plan: carriers, bays, ways, sockets, strip pieces and measured goals.

Comes in as the sizing table; goes out as a plan that the checker must pass.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import permutations

from allocator.address import Place, SocketPlace, StudPlace, parse_place
from allocator.plan.measures import measure
from allocator.plan.plan import GoalResult, Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Carrier
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.sized import Need, Sized
from tests.oracles.greedy import Filled, fill
from tests.oracles.greedy_feeds import Stuck
from tests.oracles.greedy_modules import OpenModule, OpenPiece
from tests.plan.tails import with_tail_fuses


def greedy_plan(sized: Sized) -> Plan:
    """Return the baseline's plan; raise Stuck where it finds none."""
    filled = fill(sized)
    carriers: list[PlacedCarrier] = []
    at: dict[int, Place] = {}
    for site in sized.requirements.scenario.panels:
        modules = [module for module in filled.modules if module.panel == site.name]
        chosen, bays = _carriers(sized, site, modules)
        first = 1
        for carrier in chosen:
            carriers.append(PlacedCarrier(panel=site.name, carrier=carrier.id, first_bay=first))
            first += carrier.bays
        at |= {id(module): Place(site.name, bay) for module, bay in zip(modules, bays, strict=True)}
    laid = [_lay_out(filled, module, at[id(module)]) for module in filled.modules]
    plan = Plan(
        allocator_version="greedy",
        solver_version="none",
        depends_on_time=False,
        requirements=sized.requirements,
        carriers=tuple(carriers),
        modules=tuple(PlacedModule(at=str(at[id(module)]), module=module.module.id) for module in filled.modules),
        ways=tuple(way for ways, _ in laid for way in ways),
        sockets=tuple(_sockets(filled, at)),
        pieces=(*(piece for _, pieces in laid for piece in pieces), *_direct(sized, filled, at)),
        goals=(),
    )
    plan = with_tail_fuses(sized, plan)
    values = measure(sized, plan)
    goals = tuple(
        GoalResult(goal=goal, value=values[goal], bound=Fraction(0), outcome="best so far", closed_by="not closed")
        for goal in sized.requirements.scenario.rules.goals
    )
    return plan.model_copy(update={"goals": goals})


def _carriers(sized: Sized, site: PanelSite, modules: Sequence[OpenModule]) -> tuple[tuple[Carrier, ...], list[int]]:
    """Return the carriers of fewest bays that hold the modules, and the first bay of each module."""
    allowed = [c for c in sized.requirements.catalogue.carriers if not site.carriers or c.id in site.carriers]

    def grow(left: int, chosen: tuple[Carrier, ...]) -> Iterator[tuple[Carrier, ...]]:
        if left == 0:
            yield chosen
        for carrier in allowed:
            if carrier.bays <= left and (not chosen or carrier.bays <= chosen[-1].bays):
                yield from grow(left - carrier.bays, (*chosen, carrier))

    for bays in range(sum(module.module.bays for module in modules), site.max_bays + 1):
        for chosen in sorted(grow(bays, ()), key=lambda chosen: (len(chosen), [carrier.id for carrier in chosen])):
            places = _stand({}, list(modules), _starts(chosen), bays - sum(module.module.bays for module in modules))
            if places is not None:
                return chosen, [places[id(module)] for module in modules]
    raise Stuck(f"no carriers hold the modules of {site.name}")


def _starts(chosen: Sequence[Carrier]) -> list[int]:
    """Return for each bay how many bays are left in its carrier, itself included."""
    return [left for carrier in chosen for left in range(carrier.bays, 0, -1)]


def _stand(
    done: dict[int, int], left: list[OpenModule], room: list[int], empty: int, bay: int = 1
) -> dict[int, int] | None:
    if not left:
        return done
    if bay > len(room):
        return None
    pinned = [module for module in left if module.bay == bay]
    tried: set[tuple[int, int | None]] = set()
    for module in pinned or [module for module in left if module.bay is None]:
        if module.module.bays <= room[bay - 1] and (module.module.bays, module.bay) not in tried:
            tried.add((module.module.bays, module.bay))
            rest = [other for other in left if other is not module]
            found = _stand(done | {id(module): bay}, rest, room, empty, bay + module.module.bays)
            if found is not None:
                return found
    return _stand(done, left, room, empty - 1, bay + 1) if empty and not pinned else None


def _lay_out(filled: Filled, module: OpenModule, at: Place) -> tuple[list[UsedWay], list[Piece]]:
    ways: list[UsedWay] = []
    pieces: list[Piece] = []
    for row, shape in enumerate(module.module.rows):
        here = [
            (piece, [need for need in piece.needs if module.row_of[need.id] == row]) for piece in module.pieces[row]
        ]
        for piece, spots in _order([(piece, needs) for piece, needs in here if needs], shape.ways):
            first, last = min(spots), max(spots)
            if shape.bus == "strip":
                pieces.append(_piece(str(Place(at.panel, at.bay, row, first, last)), "strip", piece))
            elif shape.bus == "single":
                pieces.append(_piece(str(Place(at.panel, at.bay, row, first)), "single", piece))
            for way, need in spots.items():
                ways.append(_way(filled, need, str(Place(at.panel, at.bay, row, way)), piece.feed))
    studs = [
        piece for row, shape in enumerate(module.module.rows) if shape.bus == "stud" for piece in module.pieces[row]
    ]
    if studs:
        pieces.append(_piece(str(StudPlace(at.panel, at.bay or 0)), "stud", studs[0]))
    return ways, pieces


def _order(here: Sequence[tuple[OpenPiece, list[Need]]], num_ways: int) -> list[tuple[OpenPiece, dict[int, Need]]]:
    """Return ways for the needs of each piece, side by side, every pinned need where its pin says."""
    pinned = any(_pinned_way(need) for _, needs in here for need in needs)
    gaps = num_ways - sum(len(needs) for _, needs in here)
    blanks: list[tuple[OpenPiece | None, list[Need]]] = [(None, [])] * (gaps if pinned else 0)
    for order in permutations([*here, *blanks]) if pinned else [tuple(here)]:
        first, laid = 1, []
        for piece, needs in order:
            spots = range(first, first + len(needs))
            fixed = {_pinned_way(need): need for need in needs if _pinned_way(need)}
            if not set(fixed) <= set(spots):
                break
            free = iter([need for need in needs if not _pinned_way(need)])
            if piece is not None:
                laid.append((piece, {way: fixed[way] if way in fixed else next(free) for way in spots}))
            first += len(needs) or 1
        else:
            return laid
    raise Stuck("pins of one row do not go together")


def _pinned_way(need: Need) -> int:
    return (parse_place(need.pin).first or 0) if need.pin else 0


def _piece(at: str, kind: str, piece: OpenPiece) -> Piece:
    return Piece.model_validate({"at": at, "kind": kind, "feed": piece.feed})


def _way(filled: Filled, need: Need, at: str, feed: str) -> UsedWay:
    option = filled.option_by_need[need.id]
    return UsedWay(at=at, kind=need.kind, need=need.id, feed=feed, fuse=option.fuse, wire=option.wire)


def _sockets(filled: Filled, at: dict[int, Place]) -> Iterator[UsedSocket]:
    for module in filled.modules:
        first = 1
        for sockets in module.module.sockets:
            for number, need in enumerate(module.relays.get(sockets.relay_class, []), first):
                place = SocketPlace(module.panel, at[id(module)].bay or 0, number)
                relay = str(filled.option_by_need[need.id].relay)
                yield UsedSocket.model_validate({"at": str(place), "kind": need.kind, "need": need.id, "relay": relay})
            first += sockets.count


def _direct(sized: Sized, filled: Filled, at: dict[int, Place]) -> Iterator[Piece]:
    for socket in _sockets(filled, at):
        need = sized.need_by_id[socket.need]
        if not need.takes_way:
            yield Piece(at=socket.at, kind="socket", feed=filled.feed_by_need[need.id])
