"""Where bays, module types, carriers, footprint and panels of a plan come from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from allocator.address import Place, SocketPlace
from allocator.explaining.accounts.account import Account, Share, counted, listed, names_of
from allocator.explaining.accounts.counting import Counting, bays_in_carriers, counting_of, kinds_in
from allocator.model.frame import Frame
from allocator.plan.index import ModuleAt, PlanIndex
from allocator.sizing.sized import Need


def bays(index: PlanIndex) -> Account:
    """Return a share for each module and for the empty bays of each carrier."""
    return Account("bays", tuple(_bay_shares(index)), tuple(_bay_arguments(index)))


def _bay_shares(index: PlanIndex) -> Iterator[Share]:
    for carrier in index.carriers:
        empty = set(carrier.bays)
        for item in index.modules:
            taken = empty & set(range(item.bay, item.bay + item.module.bays)) if item.panel == carrier.panel else set()
            if taken:
                empty -= taken
                yield Share(Fraction(len(taken)), _at(item), _use(index, item), names_of(_needs_in(index, item)))
        if empty:
            why = f"no module: carrier {carrier.carrier.label} has {counted(carrier.carrier.bays, 'bay')}"
            yield Share(Fraction(len(empty)), f"{carrier.panel}/{'+'.join(map(str, sorted(empty)))}", why)


def _at(item: ModuleAt) -> str:
    return f"{item.panel}/{item.bay}"


def _is_in(place: Place | SocketPlace | None, item: ModuleAt) -> bool:
    return place is not None and (place.panel, place.bay) == (item.panel, item.bay)


def _needs_in(index: PlanIndex, item: ModuleAt) -> list[Need]:
    return [at.need for at in index.needs if _is_in(at.way, item) or _is_in(at.socket, item)]


def _use(index: PlanIndex, item: ModuleAt) -> str:
    ways, sockets = sum(row.ways for row in item.module.rows), len(item.sockets)
    used = sum(_is_in(place, item) for place in index.way_by_place)
    relays = sum(_is_in(place, item) for place in index.socket_by_place)
    said = [f"{used} of {counted(ways, 'way')}"] if ways else []
    said += [f"{relays} of {counted(sockets, 'socket')}"] if sockets else []
    return f"{item.module.label}: {' and '.join(said)} used"


def _bay_arguments(index: PlanIndex) -> Iterator[str]:
    """Say how many bays the ways and sockets ask for, all together, and of each panel what can only be there."""
    frame = Frame(index.sized)
    names = [site.name for site in frame.panels]
    of_panels = 0
    if len(names) > 1:
        for site in frame.panels:
            counting = counting_of(frame, [site.name])
            if counting is not None:
                least = bays_in_carriers(frame, site, ceil(counting.total))
                of_panels += least
                yield _argument(counting, f'what can only be at panel "{site.name}"', least)
    counting = counting_of(frame, names)
    if counting is None:
        return
    least = bays_in_carriers(frame, frame.panels[0], ceil(counting.total)) if len(names) == 1 else ceil(counting.total)
    if least > max(1, of_panels):
        yield _argument(counting, "everything", least)
    first = index.plan.goals[0] if index.plan.goals else None
    if first is not None and first.goal == "bays" and first.bound > max(least, of_panels):
        yield f"modules cannot be cut: whole ones that hold everything take {first.bound} bays ({first.closed_by})"


def _argument(counting: Counting, what: str, least: int) -> str:
    shares = listed(f"{share} for a {_one_text(kind)}" for kind, share in counting.share_by_kind.items())
    limits = [
        f"{module} by {share} (at most {most} of it, which is taken off)"
        for module, (share, most) in counting.beyond_by_module.items()
    ]
    beat = f", but for {listed(limits)}" if limits else ""
    are = f"there {'is' if least == 1 else 'are'} at least {counted(least, 'bay')}"
    housed = " of the carriers allowed" if least > ceil(counting.total) else ""
    return (
        f"in parts of a bay, count {shares}: no module on offer holds more than its bays{beat}; {what} comes to "
        f"{float(counting.total):.2f}, so {are}{housed}"
    )


def module_types(index: PlanIndex) -> Account:
    """Return a share for each type of module in use: what nothing else in the panel has, or has enough of."""
    types = dict.fromkeys(item.module.id for item in index.modules)
    return Account("module-types", tuple(_type_share(index, module) for module in types))


def _type_share(index: PlanIndex, module_id: str) -> Share:
    module = index.sized.module_by_id[module_id]
    own = [item for item in index.modules if item.module.id == module_id]
    others = [item for item in index.modules if item.module.id != module_id]
    free = Counter[str]()
    for item in others:
        free.update(kinds_in(item.module))
        free.subtract(_kinds_used(index, item))
    held = Counter[str]()
    for item in own:
        held.update(_kinds_used(index, item))
    lacking = {kind: number - max(0, free[kind]) for kind, number in held.items() if number > max(0, free[kind])}
    nowhere = [kind for kind in lacking if not any(kind in kinds_in(item.module) for item in others)]
    needs = [need for item in own for need in _needs_in(index, item)]
    if nowhere:
        why = f"nothing else in the panel has {listed(map(_kind_text, nowhere))}"
        needs = [need for item in own for need in _needs_in(index, item) if _takes(index, need, item, nowhere)]
    elif lacking:
        why = f"without it {listed(_number_text(number, kind) for kind, number in lacking.items())} would lack"
    else:
        why = "by number the others would do: what decides are rows, feeds and amperes"
    return Share(Fraction(1), module.label, why, names_of({need.id: need for need in needs}.values()))


def _kinds_used(index: PlanIndex, item: ModuleAt) -> Counter[str]:
    """Return how many ways and sockets of each kind are in use in a module."""
    used = Counter[str]()
    for place in index.way_by_place:
        if _is_in(place, item):
            used[f"type {item.module.rows[place.row or 0].fuse_format}"] += 1
    for at in index.socket_by_place:
        if _is_in(at, item):
            used[item.sockets[at.socket - 1]] += 1
    return used


def _takes(index: PlanIndex, need: Need, item: ModuleAt, kinds: list[str]) -> bool:
    """Whether a need takes a way or socket of some kinds in a module."""
    at = index.need_by_id[need.id]
    found = [f"type {at.option.fuse_format}"] if _is_in(at.way, item) else []
    found += [str(at.option.relay_class)] if _is_in(at.socket, item) else []
    return any(kind in kinds for kind in found)


def _one_text(kind: str) -> str:
    return f"way of {kind}" if kind.startswith("type ") else f"{kind} socket"


def _number_text(number: int, kind: str) -> str:
    return f"{number} {_one_text(kind) if number == 1 else _kind_text(kind)}"


def _kind_text(kind: str) -> str:
    return f"ways of {kind}" if kind.startswith("type ") else f"{kind} sockets"


def carriers(index: PlanIndex) -> Account:
    """Return a share for each carrier."""
    shares = (
        Share(Fraction(1), f"{item.panel}/{item.first_bay}", f"{item.carrier.label}: {counted(len(item.bays), 'bay')}")
        for item in index.carriers
    )
    return Account("carriers", tuple(shares))


def footprint(index: PlanIndex) -> Account:
    """Return a share for each carrier, mm2."""
    shares = (
        Share(
            Fraction(repr(item.carrier.width)) * Fraction(repr(item.carrier.height)),
            f"{item.panel}/{item.first_bay}",
            f"{item.carrier.label}: {item.carrier.width:g} mm x {item.carrier.height:g} mm",
        )
        for item in index.carriers
    )
    return Account("footprint", tuple(shares))


def panels(index: PlanIndex) -> Account:
    """Return a share for each panel in use, caused by what can be at no other."""
    shares = []
    for panel in dict.fromkeys(item.panel for item in index.carriers):
        only = [need for need in index.sized.needs if {option.panel for option in need.options} == {panel}]
        why = f"{counted(len(only), 'need')} can only be here" if only else "nothing must be here: room decides"
        shares.append(Share(Fraction(1), panel, why, names_of(only)))
    return Account("panels", tuple(shares))
