"""
Long jumpers as counts see them: how many relays of a class can at most be in a module with a way of their format.

Comes from the tally model's choices and modules; goes back into it as its sum of long jumpers, a lower bound.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.choices import num_sockets
from allocator.model.variables import Sums


def long_jumpers_in_sum(x: Sums) -> None:
    """A relay is beside its fuse only in a module with a socket of its class and a way of its format."""
    relays: dict[tuple[str, str], dict[str, list[IntVar]]] = defaultdict(lambda: defaultdict(list))
    for index, members in enumerate(x.frame.classes):
        for number, choice in enumerate(members.choices):
            option = choice.option
            if members.takes_way and option.relay_class is not None and option.fuse_format is not None:
                relays[option.panel, option.relay_class][option.fuse_format].append(x.chosen[index, number])
    most = len(x.frame.sized.needs)
    beside: dict[tuple[str, str, str], list[IntVar]] = defaultdict(list)
    for panel, module, in_use in x.modules:
        ways: dict[str, int] = defaultdict(int)
        for row in x.frame.sized.module_by_id[module].rows:
            ways[row.fuse_format] += row.ways
        by_format: dict[str, list[IntVar]] = defaultdict(list)
        for group in x.frame.sized.module_by_id[module].sockets:
            here = []
            for fuse_format in sorted({*ways} & {*relays[panel, group.relay_class]}):
                both = x.model.new_int_var(0, most, f"beside {panel} {module} {group.relay_class} {fuse_format}")
                beside[panel, group.relay_class, fuse_format].append(both)
                by_format[fuse_format].append(both)
                here.append(both)
            x.model.add(LinearExpr.sum(here) <= num_sockets(x, module, group.relay_class) * in_use)
        for fuse_format, inside in by_format.items():
            x.model.add(LinearExpr.sum(inside) <= ways[fuse_format] * in_use)
    _apart(x, relays, beside)


def _apart(
    x: Sums,
    relays: Mapping[tuple[str, str], Mapping[str, list[IntVar]]],
    beside: Mapping[tuple[str, str, str], list[IntVar]],
) -> None:
    most = len(x.frame.sized.needs)
    x.long_jumpers = x.model.new_int_var(0, most, "long jumpers")
    apart: list[IntVar] = []
    for (panel, relay_class), by_fuse_format in relays.items():
        for fuse_format, chosen in by_fuse_format.items():
            left = x.model.new_int_var(0, most, f"long jumpers {panel} {relay_class} {fuse_format}")
            x.model.add(
                left >= LinearExpr.sum(chosen) - LinearExpr.sum(beside.get((panel, relay_class, fuse_format), []))
            )
            apart.append(left)
    x.model.add(x.long_jumpers == LinearExpr.sum(apart))
