"""
A plan without one circuit made into a plan without another: the first takes the place of the second.

Comes from a checked plan; goes out as a checked plan, or None where the place does not do. Nothing is searched.
"""

from __future__ import annotations

from allocator.explaining.sketch import Case
from allocator.plan.plan import Plan
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
    ways = [way for way in plan.ways if way.kind == "circuit" and way.need == goes]
    sockets = [socket for socket in plan.sockets if socket.kind == "circuit" and socket.need == goes]
    if need is None or len(ways) != 1:
        return None
    placed = {way.need for way in plan.ways} | {socket.need for socket in plan.sockets}
    if placed - {goes} | {comes} != set(case.sized.need_by_id):
        return None  # one of the two switches others, which come or go with it
    option = _option(need, ways[0].at, ways[0].fuse, plan, sockets[0].relay if sockets else None)
    if option is None:
        return None
    way = ways[0].model_copy(update={"need": comes, "fuse": option.fuse, "wire": option.wire})
    moved = plan.model_copy(
        update={
            "ways": tuple(way if item is ways[0] else item for item in plan.ways),
            "sockets": tuple(
                item.model_copy(update={"need": comes, "relay": option.relay}) if item in sockets else item
                for item in plan.sockets
                if item not in sockets or need.takes_socket
            ),
        }
    )
    found, findings = case.checked(moved)
    return None if findings else found


def _option(need: Need, at: str, fuse: str | None, plan: Plan, relay: str | None) -> Option | None:
    catalogue = plan.requirements.catalogue
    formats = {item.id: item.fuse_format for item in catalogue.fuses}
    classes = {item.id: item.relay_class for item in catalogue.relays}
    wanted = at.split("/")[0], formats.get(fuse or ""), classes.get(relay or "") if need.takes_socket else None
    found = [item for item in need.options if (item.panel, item.fuse_format, item.relay_class) == wanted]
    return found[0] if found else None
