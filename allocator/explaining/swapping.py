"""
A plan without a demand of one circuit made into a plan without that of another: the two trade place, way or relay.

Comes from a checked plan; goes out as a checked plan without cautions, or None where the trade does not do. Nothing is
searched.
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
    if need is None or len(ways) != 1 or ways[0].feed not in need.feeds:
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
    return _checked(plan.model_copy(update={"ways": tuple(moved), "sockets": tuple(sockets)}), case)


def with_relay_of(plan: Plan, case: Case, comes: str, goes: str) -> Plan | None:
    """Give the socket of circuit ``goes``, which needs no relay here, to circuit ``comes``, which has none."""
    held = {socket.need for socket in plan.sockets if socket.kind == "circuit"}
    if comes in held or goes not in held:
        return None
    sockets = [
        socket.model_copy(update={"need": comes}) if (socket.kind, socket.need) == ("circuit", goes) else socket
        for socket in plan.sockets
    ]
    return _checked(plan.model_copy(update={"sockets": tuple(sockets)}), case)


def with_way_of(plan: Plan, case: Case, comes: str, goes: str) -> Plan | None:
    """Let two circuits trade their ways, where the feed of the way suits ``comes``."""
    ways = {way.need: way for way in plan.ways if way.kind == "circuit"}
    if not {comes, goes} <= {*ways} or ways[goes].feed not in case.sized.need_by_id[comes].feeds:
        return None
    other = {comes: goes, goes: comes}
    moved = [
        way.model_copy(update={"need": other[way.need]}) if way.kind == "circuit" and way.need in other else way
        for way in plan.ways
    ]
    return _checked(plan.model_copy(update={"ways": tuple(moved)}), case)


def _checked(plan: Plan, case: Case) -> Plan | None:
    fitted = _fitted(plan, case)
    if fitted is None:
        return None
    found, findings = case.judged(fitted)
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
