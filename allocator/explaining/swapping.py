"""
A plan without one circuit made into a plan without another: the first takes the place of the second.

Comes from a checked plan; goes out as a checked plan, or None where the place does not do. Nothing is searched.
"""

from __future__ import annotations

from allocator.explaining.sketch import Case
from allocator.plan.plan import Plan, UsedWay
from allocator.sizing.sized import Need, Option


def swapped(plan: Plan, case: Case, comes: str, goes: str) -> Plan | None:
    """
    Put one circuit where another is.

    Parameters
    ----------
    plan
        A plan in which circuit ``goes`` is and ``comes`` is not.
    case
        The requirements with ``comes`` and without ``goes``.
    """
    need = case.sized.need_by_id.get(comes)
    mine = ("circuit", goes)
    ways = [way for way in plan.ways if (way.kind, way.need) == mine]
    if need is None or len(ways) != 1:
        return None
    placed = {way.need for way in plan.ways} | {socket.need for socket in plan.sockets}
    if placed - {goes} | {comes} != set(case.sized.need_by_id):
        return None  # one of the two switches others, which come or go with it
    sockets = [
        item.model_copy(update={"need": comes}) if (item.kind, item.need) == mine else item
        for item in plan.sockets
        if (item.kind, item.need) != mine or need.takes_socket
    ]
    moved = [way.model_copy(update={"need": comes}) if way is ways[0] else way for way in plan.ways]
    fitted = _fitted(plan.model_copy(update={"ways": tuple(moved), "sockets": tuple(sockets)}), case)
    if fitted is None:
        return None
    found, findings = case.checked(fitted)
    return None if findings else found


def _fitted(plan: Plan, case: Case) -> Plan | None:
    """Give every need the fuse, wire and relay that it has in a case: who carries whose coils may be other there."""
    relays = {socket.need: socket for socket in plan.sockets}
    classes = {item.id: item.relay_class for item in plan.requirements.catalogue.relays}
    formats = {item.id: item.fuse_format for item in plan.requirements.catalogue.fuses}
    ways: list[UsedWay] = []
    sockets = list(plan.sockets)
    for way in plan.ways:
        if way.fuse is None:
            ways.append(way)
            continue
        need, socket = case.sized.need_by_id[way.need], relays.get(way.need)
        wanted = formats[way.fuse], classes[socket.relay] if socket and need.takes_socket else None
        option = _option(need, way.at.split("/")[0], *wanted)
        if option is None:
            return None
        ways.append(way.model_copy(update={"fuse": option.fuse, "wire": option.wire}))
        if socket is not None:
            sockets[sockets.index(socket)] = socket.model_copy(update={"relay": option.relay})
    return plan.model_copy(update={"ways": tuple(ways), "sockets": tuple(sockets)})


def _option(need: Need, panel: str, fuse_format: str, relay_class: str | None) -> Option | None:
    wanted = panel, fuse_format, relay_class
    found = [item for item in need.options if (item.panel, item.fuse_format, item.relay_class) == wanted]
    return found[0] if found else None
