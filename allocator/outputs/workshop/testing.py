"""
The test document: how to test, what to expect, and boxes for what is found, with a place to sign.

Comes in as the Content of a plan; goes out as Tables and as finished Sheets.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.sheet import A4_MM, Sheet
from allocator.outputs.tables import Table
from allocator.outputs.titleblock import BENCH_FOOT
from allocator.outputs.workshop.cavities import place_text
from allocator.outputs.workshop.expectations import Expected, as_fitted, expectations, has_a_fuse_or_relay
from allocator.plan.quiescent import SMALLEST_STEP_MV

HOW = (
    (
        "look",
        "Compare what is built with the wiring side of the layout, cavity by cavity; pull gently at every terminal.",
    ),
    (
        "continuity",
        "Every battery disconnected, no fuse and no relay in, the fuses in in-line holders out as well. Measure "
        "between the points named; a wire with an in-line holder from each end to its side of the holder, and across "
        "the holder nothing may conduct. Between each feed entry and every other feed, and to 31, nothing may conduct.",
    ),
    (
        "feeds",
        "Every battery disconnected, no fuse in any way and no relay in: fit the fuses in in-line holders. Then fit "
        "one main fuse after the other, every battery disconnected each time, and connect again: nominal voltage at "
        "the entries of its feed, none at those of a feed whose main fuse is still out; then it works.",
    ),
    (
        "circuits",
        "Every battery disconnected: fit the relays. Connect again, every switch off. Then fit fuses one by one in the "
        "order of the table below, and switch each circuit on by itself before the next fuse goes in. A branch feed: "
        "voltage at its entries while its relay is on, none while it is off.",
    ),
    (
        "drop",
        "With the circuit on and the engine or charger running: volts from the output of its fuse to the load, and "
        "from the load back. More than expected points to a bad crimp, not to a bad wire. From the supply more is "
        "lost, most in the load case named; OVER: more than the limit, as the cautions tell.",
    ),
    (
        "quiescent",
        "Everything off, doors closed, control units asleep. Do not pull a fuse, that wakes them: measure millivolts "
        "over it, current = millivolts / cold resistance.",
    ),
)
"""The tests in their order, which is that of the building steps: common practice, no source."""
SIGN_OFF = ("tested by", "on", "meter, calibrated until", "remarks", "released by", "on the")
NONE = "–"


def testing_sheets(content: Content) -> tuple[Sheet, ...]:
    """Return the sheets for the tester."""
    book = Book(content, A4_MM, "tests", BENCH_FOOT)
    expected = tuple(expectations(content))
    for table in (
        how_table(), continuity_table(content, expected), power_table(content, expected),
        quiescent_table(content, expected), sign_off_table(),
    ):  # fmt: skip
        book.add(table)
    return book.finish()


def how_table() -> Table:
    """Return how to test, in order."""
    return Table("How to test, in this order", ("test", "how"), HOW)


def continuity_table(content: Content, expected: Iterable[Expected]) -> Table:
    """Return the points that are connected, for every supply, entry, circuit and branch."""
    columns = ("place", "circuit or feed", "label", "connected are", "found", "ok")
    rows = [
        (_place(content, item), legible(item.id), legible(item.label), legible("; ".join(item.points)), "", "")
        for item in expected
        if item.points
    ]
    return Table("Continuity, no fuse and no relay in, no in-line fuse either", columns, tuple(rows), blank=columns[4:])


def power_table(content: Content, expected: Iterable[Expected]) -> Table:
    """
    Return the fuse, relay and drop of everything that has one of these, in the order in which fuses are fitted.

    Spare ways must hold no fuse.
    """
    columns = (
        "no.", "place", "circuit or feed", "fuse", "fitted", "relay", "works", "load, A", "drop, V", "found, V",
        "from the supply, V",
    )  # fmt: skip
    rows = [
        (
            str(number), _place(content, item), legible(item.id), _fuse_text(item),
            NONE if item.kind == "spare" else "",
            _relay_text(content, item), "" if item.relay or item.kind == "supply" else NONE,
            f"{item.load_a:.3g}" if item.load_a else "",
            _volts(item.run_drop_v), NONE if item.run_drop_v is None else "", _supply_text(item),
        )
        for number, item in enumerate(filter(has_a_fuse_or_relay, as_fitted(content, expected)), 1)
    ]  # fmt: skip
    blank, right = ("fitted", "works", "found, V"), ("load, A", "drop, V")
    title = "Fuses, relays and drop under load, in the order in which fuses are fitted"
    return Table(title, columns, tuple(rows), right=right, blank=blank)


def quiescent_table(content: Content, expected: Sequence[Expected]) -> Table:
    """Return what a meter should show over each fuse with everything off."""
    step = f"mA per {SMALLEST_STEP_MV:g} mV"
    columns = ("place", "circuit", "at most, mA", "cold, mohm", "of", "at most, mV", step, "found, mV", "ok")
    rows = [
        (
            _place(content, item), legible(item.id), _quiescent_text(item), *_cold_cells(item), "", "",
        )
        for item in expected
        if item.kind == "circuit" and item.fuse
    ]  # fmt: skip
    total_ma = sum(item.quiescent_ma or 0.0 for item in expected)
    is_whole = all(item.quiescent_ma is not None for item in expected if item.kind == "circuit")
    which = "all of them" if is_whole else "all that state it"
    rows.append(("battery", which, f"{total_ma:.4g}", "", "by clamp at its negative lead", "", "", NONE, ""))
    right = ("at most, mA", "cold, mohm", "at most, mV", step)
    return Table("Quiescent current over the fuse", columns, tuple(rows), right=right, blank=columns[7:])


def _quiescent_text(item: Expected) -> str:
    return "not stated" if item.quiescent_ma is None else f"{item.quiescent_ma:.4g}"


def sign_off_table() -> Table:
    """Return what is signed when all is done."""
    return Table("Sign-off", SIGN_OFF, (("",) * len(SIGN_OFF),) * 2, blank=SIGN_OFF)


def _place(content: Content, item: Expected) -> str:
    return place_text(content, item.place) if item.place else "supply"


def _fuse_text(item: Expected) -> str:
    if item.kind == "spare":
        return "none, a spare way"
    return f"{item.fuse_a:g} A, {legible(item.fuse)}" if item.fuse_a is not None else ""


def _relay_text(content: Content, item: Expected) -> str:
    return f"{legible(item.relay)} in {content.place_name(item.relay_place)}" if item.relay else ""


def _volts(value: float | None) -> str:
    """Return volts to the millivolt, the same figure as in tests.csv."""
    return "" if value is None else f"{value:.3f}"


def _supply_text(item: Expected) -> str:
    """Say what may be lost from the supply on, and in which load case; an amount over the limit says so."""
    if item.total_drop_v is None or item.limit_v is None:
        return ""
    over = " OVER" if item.total_drop_v > item.limit_v else ""
    return f"{_volts(item.total_drop_v)} of {item.limit_v:.2f}{over}, {legible(item.load_case)}"


def _cold_cells(item: Expected) -> tuple[str, str, str, str]:
    """Return resistance, where it comes from, what a meter shows, and what its last digit stands for."""
    if item.cold is None:
        return "", "see its data sheet", "", ""
    source = "catalogue" if item.cold.source == "catalogue" else "published"
    shown = "" if item.quiescent_mv is None else f"{item.quiescent_mv:.2f}"
    return f"{item.cold.mohm:.4g}", source, shown, f"{item.cold.ma_per_step:.3g}"
