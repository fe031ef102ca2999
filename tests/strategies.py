"""
Random panels for property tests: tiny ones of every feature (some without a plan), and mid-size ones that have a plan.

Comes in from hypothesis; goes out as keyword arguments of ``build_sized``, so that a test may change one of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from tests.specs import A, F, M, P

Arguments = dict[str, Any]
_ROWS = ("3F", "4F", "5F", "2C", "3C", "4F single", "2C single", "4F stud", "4F strip 14")


@st.composite
def tiny_panels(draw: st.DrawFn, most_circuits: int = 5) -> Arguments:
    """Arguments of a panel small enough for brute force; any feature may appear, and not every one has a plan."""
    panels = {"p": P(draw(st.integers(2, 3)))} | ({"q": P(draw(st.integers(1, 2)))} if draw(_one_in(4)) else {})
    cases = ("day", "night")[: draw(st.integers(1, 2))]
    feeds = draw(_feeds(tuple(panels)))
    circuits = {
        f"c{number}": draw(_circuit(tuple(feeds), tuple(panels), cases))
        for number in range(draw(st.integers(2, most_circuits)))
    }
    modules = {f"m{number}": draw(_module()) for number in range(draw(st.integers(1, 2)))}
    if not (draw(_one_in(3)) and any(module.sockets for module in modules.values())):
        modules["base"] = draw(st.sampled_from(_BASES))
    arguments: Arguments = {
        "feeds": feeds,
        "circuits": circuits,
        "modules": modules | _what_a_branch_needs(feeds),
        "panels": panels,
        "cases": cases,
        "strip_limit_a": draw(st.sampled_from((15, 22, 30, 1000))),
        "feed_loading": draw(st.sampled_from((100, 80))),
        "coil_ma": draw(st.sampled_from(({}, {"micro": 150, "standard": 400, "heavy": 700}))),
        "one_piece_per_feed_and_row": draw(_one_in(3)),
        "use_stock": draw(_one_in(4)),
        "prices": draw(st.sampled_from(({}, _PRICES))),
        "goals": draw(st.sampled_from(_OBJECTIVES)),
    }
    return arguments | draw(_wishes(circuits, tuple(modules), tuple(feeds), tuple(panels)))


_BASES = (
    M(("3F", "2C"), {"micro": 1}, price=800),
    M(("4F", "2C"), {"micro": 2}, price=900),
    M(("2F", "2C"), {"micro": 1, "standard": 1}, price=650),
)
_PRICES = {
    "carrier-1": 300, "carrier-2": 550, "carrier-3": 800, "inlet": 40, "tab": 7, "ring": 30, "strip": 500, "wire": 90,
    "relay-micro": 250, "relay-standard": 310, "fuse-F": 20, "fuse-C": 25, "stud": 400,
}  # fmt: skip
_OBJECTIVES = (
    ("bays", "module-types", "strip-pieces", "peak-utilisation", "long-jumpers", "price"),
    ("bays", "module-types", "strip-pieces", "peak-utilisation", "long-jumpers", "price"),
    ("carriers", "bays", "strip-pieces", "price"),
    ("bays", "peak-utilisation", "strip-pieces", "module-types"),
    ("price", "bays"),
    ("panels", "footprint", "long-jumpers", "strip-pieces", "wire-length", "copper"),
    ({"goal": "bays", "tolerance": 1}, {"goal": "price", "tolerance": "5 %"}, "strip-pieces"),
    ("bays", {"goal": "strip-pieces", "tolerance": 1, "cap": 4}, "peak-utilisation"),
    ("bays", "spare-ways", "price"),
    ({"goal": "spare-ways", "tolerance": 1, "at_least": 1}, "bays", "strip-pieces"),
    ("bays", {"goal": "peak-utilisation", "cap": "60 %"}, {"goal": "price", "cap": "25.00"}),
)


def _one_in(number: int) -> st.SearchStrategy[bool]:
    return st.integers(1, number).map(lambda value: value == number)


@st.composite
def _feeds(draw: st.DrawFn, panels: tuple[str, ...]) -> dict[str, F]:
    ratings = st.sampled_from((20, 45, 70))
    feeds = {f"f{number}": F(draw(ratings)) for number in range(draw(st.integers(1, 2)))}
    if len(panels) == 2 and len(feeds) == 2 and draw(_one_in(2)):
        feeds["f1"] = F(draw(ratings), panels=panels[:1])
    if draw(_one_in(3)):
        fuse, relay = draw(st.sampled_from((("E", "heavy"), ("E", None), (None, "heavy"))))
        feeds["branch"] = F(draw(ratings), source="f0", fuse=fuse, relay=relay, home=panels[0], kind="ignition")
    return feeds


def _what_a_branch_needs(feeds: Mapping[str, F]) -> dict[str, M]:
    branch = feeds.get("branch")
    if branch is None:
        return {}
    return {"b": M(("1E", "3F") if branch.fuse else ("3F",), {"heavy": 1} if branch.relay else {}, price=700)}


@st.composite
def _circuit(draw: st.DrawFn, feeds: tuple[str, ...], panels: tuple[str, ...], cases: tuple[str, ...]) -> A:
    accepted = draw(st.lists(st.sampled_from(feeds), min_size=1, unique=True))
    return A(
        load_a=draw(st.sampled_from((2, 3.5, 5, 7, 9, 12))),
        feeds=tuple(feed for feed in feeds if feed in accepted),
        formats=draw(st.sampled_from((("F",), ("F",), ("F", "C"), ("C",)))),
        panels=(draw(st.sampled_from(panels)),) if len(panels) > 1 and draw(_one_in(3)) else (),
        relays=draw(st.sampled_from(((), (), (), ("micro",), ("micro", "standard")))),
        cases=(draw(st.sampled_from(cases)),) if draw(_one_in(2)) else (),
        key_out=draw(_one_in(8)),
    )


@st.composite
def _module(draw: st.DrawFn) -> M:
    rows = tuple(draw(st.lists(st.sampled_from(_ROWS), min_size=0, max_size=2)))
    sockets = draw(st.sampled_from(({}, {}, {"micro": 1}, {"micro": 2}, {"standard": 1, "micro": 1})))
    return M(
        rows=rows or ("4F",),
        sockets=sockets,
        bays=draw(st.sampled_from((1, 1, 1, 2))),
        limit_a=draw(st.sampled_from((None, None, 25))),
        stud_limit_a=draw(st.sampled_from((15, 40))),
        price=draw(st.sampled_from((400, 500, 900))),
        stock=draw(st.sampled_from((None, 1))),
    )


@st.composite
def _wishes(
    draw: st.DrawFn,
    circuits: Mapping[str, A],
    modules: tuple[str, ...],
    feeds: tuple[str, ...],
    panels: tuple[str, ...],
) -> Arguments:
    pair = draw(st.permutations(sorted(circuits)))[:2]
    levels = ("feed", "row", "module") + (("panel",) if len(panels) > 1 else ())
    bonds = [(tuple(sorted(pair)), draw(st.sampled_from(levels)))]
    wishes: Arguments = {}
    kind = draw(st.sampled_from(("", "", "apart", "together", "spare", "most", "pin", "hot", "beside")))
    if kind in ("apart", "together"):
        wishes[kind] = bonds
    elif kind == "spare":
        spare = {
            "fuse_format": draw(st.sampled_from("FC")),
            "count": 1,
            "reserve": draw(st.sampled_from(("0 A", "3 A"))),
        }
        wishes["spares"] = [spare | ({"feed": draw(st.sampled_from(feeds))} if draw(_one_in(2)) else {})]
    elif kind == "hot":
        wishes |= {"hot_share": "0.1 %", "hot_from": draw(st.sampled_from(("3 A", "5 A", "7 A")))}
    elif kind == "beside":
        wishes["relay_beside_fuse_from"] = "1 A"
    elif kind == "most":
        wishes["most"] = {draw(st.sampled_from(modules)): draw(st.integers(0, 1))}
    elif kind == "pin":
        name, place = pair[0], draw(st.sampled_from(("p/1", "p/2", "p/1/A", "p/1/A/2", "p/1/B/1")))
        pinned = {field: getattr(circuits[name], field) for field in A.__dataclass_fields__} | {"pin": place}
        wishes["circuits"] = dict(circuits) | {name: A(**(pinned | {"panels": ()}))}
    return wishes


@st.composite
def mid_size_panels(draw: st.DrawFn) -> Arguments:
    """
    Arguments of a panel that has a plan: modules are filled first, then the circuits are read off them.

    Every strip piece gets circuits of one feed within its limit; feeds and modules get limits that hold what was put
    there; then circuits are allowed more feeds than the one they came from.
    """
    feeds = tuple(f"f{number}" for number in range(draw(st.integers(2, 3))))
    types = draw(st.lists(st.sampled_from(_MID_ROWS), min_size=2, max_size=3, unique=True))
    placed = draw(st.lists(st.sampled_from(types), min_size=2, max_size=3))
    circuits: dict[str, A] = {}
    load_by_feed = dict.fromkeys(feeds, 0.0)
    most_in_module = 0.0
    for rows, sockets in placed:
        in_module, free = 0.0, sockets
        for row in rows:
            room_a = dict.fromkeys(feeds, 30.0)
            for _ in range(int(row[:-1])):
                feed = draw(st.sampled_from(feeds))
                load_a = draw(st.sampled_from((3.0, 5.0, 7.5, 10.0)))
                if load_a > room_a[feed] or draw(_one_in(6)):
                    continue  # an empty way
                relay = free > 0 and draw(_one_in(2))
                free -= relay
                others = draw(st.sampled_from(((), feeds[:1], feeds)))
                accepted = tuple(name for name in feeds if name == feed or name in others)
                circuits[f"c{len(circuits):02d}"] = A(
                    load_a, feeds=accepted, formats=(row[-1],), relays=("micro",) if relay else ()
                )
                room_a[feed] -= load_a
                load_by_feed[feed] += load_a
                in_module += load_a
        most_in_module = max(most_in_module, in_module)
    circuits = circuits or {"c00": A(3.0, formats=(placed[0][0][0][-1],))}
    return {
        "feeds": {feed: F(max(5.0, load + draw(st.sampled_from((0.0, 5.0))))) for feed, load in load_by_feed.items()},
        "circuits": circuits,
        "modules": {
            f"m{number}": M(rows, {"micro": sockets} if sockets else {}, limit_a=max(most_in_module, 10.0))
            for number, (rows, sockets) in enumerate(types)
        },
        "panels": {"panel": P(len(placed))},
        "strip_limit_a": 30,
        "one_piece_per_feed_and_row": True,
        "goals": ("bays", "module-types", "strip-pieces", "peak-utilisation"),
    }


_MID_ROWS = ((("4F", "4F"), 0), (("6F",), 1), (("3C", "4F"), 0), (("5C",), 2), (("7F",), 0))
