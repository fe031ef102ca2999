"""
Plans in which one thing is wrong everywhere: what is told of them, and that no rule stumbles over what another tells.

The hand-built plan has 19 ways, 17 of them with fuse and wire, 5 sockets, 11 feed entries, 7 modules and 4 carriers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import count
from typing import Any

import pytest

from allocator.plan.plan import Plan
from allocator.verifying import verify
from tests.verifying.edits import lines_of, with_lines
from tests.verifying.hand_built import good

Edit = Callable[[Plan], Plan]


def every(table: str, **fields: Any) -> Edit:
    """Return the edit that gives every line of a table these fields, or what a function makes of the line."""

    def edit(plan: Plan) -> Plan:
        lines = (
            line.model_copy(update={k: v(line) if callable(v) else v for k, v in fields.items()})
            for line in lines_of(plan, table)
        )
        return with_lines(plan, table, tuple(lines))

    return edit


def without(*tables: str) -> Edit:
    return lambda plan: plan.model_copy(update=dict.fromkeys(tables, ()))


def nowhere() -> Callable[[Any], str]:
    """Return what gives each line a place of its own that cannot be read."""
    number = count(1)
    return lambda _: f"//{next(number)}"


def ashore(plan: Plan) -> Plan:
    """Return the plan at two panels that the scenario has not."""
    for table in ("modules", "ways", "sockets", "pieces"):
        plan = every(table, at=lambda line: f"shore-{line.at}")(plan)
    return every("carriers", panel=lambda line: f"shore-{line.panel}")(plan)


OTHER_KIND = {"circuit": "feed", "feed": "spare", "spare": "circuit"}
NO_MODULES = {"way-exists": 19, "socket-exists": 5, "piece-exists": 11, "as-sized": 20, "way-is-fed": 19}
NO_WAYS_FED = {"way-is-fed": 20}

WRONG: dict[str, tuple[Edit, dict[str, int]]] = {
    "panels": (
        ashore,
        {"carrier-allowed": 2, "module-in-carrier": 7, "panel-accepted": 21, "feed-reaches-panel": 29}
        | {"as-sized": 21, "spare-ways": 1, "pin": 1},
    ),
    "carriers": (every("carriers", carrier="crate"), {"carrier-allowed": 2, "module-in-carrier": 7}),
    "no modules": (without("modules"), NO_MODULES),
    "types of modules": (every("modules", module="cellar"), NO_MODULES | {"module-in-carrier": 7}),
    "places of modules": (every("modules", at=nowhere()), NO_MODULES | {"module-in-carrier": 7}),
    "no ways": (
        without("ways"),
        {"every-need-placed": 19, "as-sized": 4, "way-is-fed": 10, "spare-ways": 2},
    ),
    "places of ways": (
        every("ways", at=nowhere()),
        {"way-exists": 19, "as-sized": 19, "way-is-fed": 29, "relay-beside-fuse": 1},
    ),
    "numbers of ways": (
        every("ways", at=lambda way: f"{way.at}9"),
        {"way-exists": 19, "as-sized": 19, "way-is-fed": 29},
    ),
    "fuses": (every("ways", fuse="nail"), {"format-matches": 17, "as-sized": 19, "spare-ways": 2}),
    "no fuses": (every("ways", fuse=None), {"format-matches": 17, "as-sized": 17}),
    "wires": (
        every("ways", wire="string"),
        {"fuse-protects-wire": 17, "wires-as-stated": 18, "as-sized": 19, "spare-ways": 2},
    ),
    "needs of ways": (
        every("ways", need=lambda way: f"no-{way.need}"),
        {"every-need-placed": 38, "as-sized": 4, "spare-ways": 2},
    ),
    "kinds of ways": (
        every("ways", kind=lambda way: OTHER_KIND[way.kind]),
        {"every-need-placed": 38, "format-matches": 2, "as-sized": 4, "spare-ways": 2},
    ),
    "feeds of ways": (
        every("ways", feed="shore"),
        {"feed-accepted": 17, "feed-reaches-panel": 19, "one-feed-per-piece": 10, "spare-ways": 2, "apart-feed": 1},
    ),
    "no sockets": (without("sockets"), {"relay-present": 5, "as-sized": 4, "piece-exists": 1}),
    "places of sockets": (
        every("sockets", at=nowhere()),
        {"socket-exists": 5, "as-sized": 5, "piece-exists": 1, "relay-beside-fuse": 1},
    ),
    "numbers of sockets": (
        every("sockets", at=lambda socket: f"{socket.at}9"),
        {"socket-exists": 5, "as-sized": 5, "piece-exists": 1, "way-is-fed": 1},
    ),
    "relays": (every("sockets", relay="lever"), {"relay-present": 5, "as-sized": 5}),
    "needs of sockets": (
        every("sockets", need=lambda socket: f"no-{socket.need}"),
        {"relay-present": 10, "as-sized": 4, "piece-exists": 1},
    ),
    "kinds of sockets": (
        every("sockets", kind=lambda socket: {"circuit": "feed", "feed": "circuit"}[socket.kind]),
        {"relay-present": 10, "as-sized": 4, "piece-exists": 1},
    ),
    "no feed entries": (without("pieces"), NO_WAYS_FED),
    "places of feed entries": (every("pieces", at=nowhere()), NO_WAYS_FED | {"piece-exists": 11}),
    "kinds of feed entries": (
        every("pieces", kind=lambda piece: "stud" if piece.kind == "strip" else "strip"),
        NO_WAYS_FED | {"piece-exists": 11},
    ),
    "feeds of feed entries": (
        every("pieces", feed="shore"),
        {"feed-reaches-panel": 11, "one-feed-per-piece": 11},
    ),
    "tail fuses": (
        every("pieces", tail_fuse="nail"),
        {"inline-fuse": 5, "fuse-protects-wire": 3, "terminal-fits": 2, "stud-fits": 5, "as-sized": 11}
        | {"inlet-protected": 5},
    ),
    "nothing": (
        without("carriers", "modules", "ways", "sockets", "pieces"),
        {"every-need-placed": 19, "relay-present": 5, "spare-ways": 2},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_throughout_is_told_by_the_rules_about_it(name: str) -> None:
    """The values of goals are others too, and are left out here."""
    edit, expected = WRONG[name]
    sized, plan = good()
    findings = verify(sized, edit(plan))
    assert all(finding.where and finding.detail for finding in findings)
    told = Counter(finding.rule for finding in findings)
    del told["goal-value"]
    assert told == expected
