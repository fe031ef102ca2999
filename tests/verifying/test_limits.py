"""What rows, modules and feed entries of the hand-built panel may carry by the checker's reading, worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from allocator.requirements.catalogue import DeratingStep
from allocator.requirements.own_figures import OwnFigures
from allocator.sizing.sized import Sized
from allocator.verifying.limits import (
    derated_ma,
    entry_limit_ma,
    inlet_limit_ma,
    misfit,
    module_limit_ma,
    row_limit_ma,
    tail_limit_ma,
    tail_of,
    terminal_of,
)
from allocator.verifying.records import EntryRecord
from allocator.verifying.view import View
from tests.verifying.hand_built import good
from tests.verifying.other_tables import with_entry, with_part, with_rules, with_sized_feed


def _entry(view: View, at: str) -> EntryRecord:
    return next(entry for entry in view.entries if entry.at == at)


def _inlets(sized: Sized) -> dict[str, float | None]:
    """Return what the inlet of each feed entry carries, A."""
    view = View(sized, good()[1])
    limits = {entry.at: inlet_limit_ma(view, entry) for entry in view.entries}
    return {at: None if limit is None else float(limit / 1000) for at, limit in limits.items()}


# Tail: 75 % of a fuse of 60 A at 35 degC, 73 % at 50 degC; 4 and 10 mm2 of 105 degC carry 45 A and 80 A at 30 degC.
# Inlet: the terminal's 50 A or 90 A, the strip's 70 A, the stud's 100 A; strip and stud 80 % at 50 degC.
MAY_CARRY: dict[str, tuple[float, float | None, float]] = {
    "cabin/1/A/1-2": (45, 70, 45),
    "cabin/3/A/1-2": (45, 70, 45),
    "cabin/3/B/1-1": (43.2, 50, 43.2),
    "cabin/4/A/1-3": (76.8, 70, 70),
    "cabin/4/B/1-2": (76.8, 70, 70),
    "cabin/5/stud": (45, 90, 45),
    "aft/1/A/1": (38.25, 50, 38.25),
    "aft/1/S1": (43.8, None, 43.8),
    "aft/2/stud": (43.8, 80, 43.8),
    "aft/3/A/1-2": (38.25, 50, 38.25),
    "aft/3/B/1-2": (37.5, 56, 37.5),
}
CABIN_STRIPS = {"cabin/1/A/1-2", "cabin/3/A/1-2", "cabin/3/B/1-1", "cabin/4/A/1-3", "cabin/4/B/1-2"}
AFT_STRIPS = {"aft/3/A/1-2", "aft/3/B/1-2"}


def test_what_each_feed_entry_may_carry() -> None:
    sized, plan = good()
    bare = View(replace(sized, entries={key: replace(e, limit_ma=10**6) for key, e in sized.entries.items()}), plan)
    found = {
        entry.at: [limit(bare, entry) for limit in (tail_limit_ma, inlet_limit_ma, entry_limit_ma)]
        for entry in bare.entries
    }
    in_a = {at: tuple(None if ma is None else float(ma / 1000) for ma in limits) for at, limits in found.items()}
    assert in_a == MAY_CARRY


@pytest.mark.parametrize(
    ("table", "name", "field", "carried"),
    [
        ("terminals", "inlet-12-6", "limit", dict.fromkeys(["cabin/3/B/1-1", "aft/3/A/1-2"], 10)),
        ("terminals", "ring-M6-16", "limit", dict.fromkeys(["cabin/5/stud", "aft/2/stud"], 10)),
        ("terminals", "tab-6.3-6", "limit", {"aft/1/A/1": 10}),
        ("strips", "bridge-c", "limit", dict.fromkeys(CABIN_STRIPS, 10) | dict.fromkeys(AFT_STRIPS, 8)),
        ("modules", "bus", "stud_limit", {"cabin/5/stud": 10, "aft/2/stud": 8}),
        ("modules", "twin", "stud_limit", {}),  # no stud is used there
    ],
)
def test_the_weakest_part_of_an_inlet_binds(table: str, name: str, field: str, carried: dict[str, float]) -> None:
    """A part for 10 A; strip and stud are derated at 50 degC, a terminal is not."""
    assert _inlets(with_part(good()[0], table, name, **{field: 10.0})) == _inlets(good()[0]) | carried


def test_a_strip_has_a_say_only_where_it_is_fitted() -> None:
    """A row whose ways are fed singly has none in use, whatever the catalogue names for it."""
    sized, _ = good()
    (row,) = next(module.rows for module in sized.requirements.catalogue.modules if module.id == "solo")
    named = with_part(sized, "modules", "solo", rows=(row.model_copy(update={"strip": "bridge-c"}),))
    assert _inlets(with_part(named, "strips", "bridge-c", limit=10.0))["aft/1/A/1"] == 50


def test_each_row_has_the_strip_that_is_fitted_to_it() -> None:
    """Without a strip on its second row a module has only the terminal's limit there."""
    sized, _ = good()
    first, second = next(module.rows for module in sized.requirements.catalogue.modules if module.id == "twin")
    bare = with_part(sized, "modules", "twin", rows=(first, second.model_copy(update={"strip": None})))
    assert _inlets(bare) == _inlets(sized) | {"cabin/4/B/1-2": 90, "aft/3/B/1-2": 90}


def test_what_is_not_known_of_a_feed_entry_sets_no_limit() -> None:
    sized, plan = good()
    view = View(sized, plan)
    known = _entry(view, "aft/1/A/1")
    assert tail_of(view, known) is not None and terminal_of(view, known) is not None
    for missing in ({"panel": None}, {"module": None}):
        entry = replace(known, **missing)
        told = [terminal_of(view, entry), tail_of(view, entry), tail_limit_ma(view, entry), inlet_limit_ma(view, entry)]
        assert told == [None] * 4
    no_group = replace(known, group=None)
    assert (terminal_of(view, no_group), inlet_limit_ma(view, no_group)) == (None, None)
    assert entry_limit_ma(view, replace(known, panel=None)) is None
    for panel in ("", "shore"):
        assert (
            tail_limit_ma(view, replace(known, panel=panel)),
            inlet_limit_ma(view, replace(known, panel=panel)),
        ) == (
            None,
            None,
        )
    no_feed = View(replace(sized, feeds={}), plan)
    assert (tail_of(no_feed, known), tail_limit_ma(no_feed, known), misfit(no_feed, known)) == (None, None, "")
    no_wire = View(with_sized_feed(sized, "hold", tail_wire="string"), plan)
    assert tail_limit_ma(no_wire, known) is None


def test_a_tail_by_the_vehicle_s_own_figures() -> None:
    """4 mm2 for 20 A, 85 % of it in an engine space; half of a fuse's rating at its ambient."""
    sized, plan = good()
    own = OwnFigures.model_validate(
        {"ampacity": {"4 mm2": {"105 degC": "20 A"}}, "fuse_share": {"E": {"65 degC": "50 %"}}}
    )
    view = View(with_rules(sized, figures=own), plan)
    assert tail_limit_ma(view, _entry(view, "aft/1/A/1")) == 17_000
    assert tail_limit_ma(view, _entry(view, "aft/3/B/1-2")) == 25_000
    loaded = View(with_rules(sized, loading_factor=40.0), plan)
    assert tail_limit_ma(loaded, _entry(loaded, "aft/3/B/1-2")) == 20_000


def test_the_lower_of_catalogue_and_sizing_table_binds() -> None:
    """45 A and 60 A in the catalogue, 80 % of them aft; whatever the table says of another row or module."""
    sized, plan = good()
    twin = sized.module_by_id["twin"]
    for row_ma, module_ma in ((1000, 2000), (10**6, 10**6), (None, None)):
        limits = {"row_limit_ma": {("aft", "twin", 1): row_ma}, "module_limit_ma": {("aft", "twin"): module_ma}}
        view = View(replace(sized, **limits), plan)
        assert row_limit_ma(view, "aft", twin, 1) == min(row_ma or 36_000, 36_000)
        assert module_limit_ma(view, "aft", twin) == min(module_ma or 48_000, 48_000)
        assert (row_limit_ma(view, "aft", twin, 0), row_limit_ma(view, "cabin", twin, 1)) == (36_000, 45_000)
        assert module_limit_ma(view, "cabin", twin) == 60_000
        assert (row_limit_ma(view, "shore", twin, 1), module_limit_ma(view, "shore", twin)) == (None, None)


def test_the_sizing_table_s_limit_of_an_entry_binds_there_alone() -> None:
    """Not at the socket of the same module and feed."""
    sized, plan = good()
    low = sized
    for feed in ("hold", "battery"):
        key = ("aft", "solo", 0, feed)
        low = with_entry(low, key, replace(sized.entries[key], limit_ma=1000))
    view = View(low, plan)
    limits = {entry.at: float((entry_limit_ma(view, entry) or 0) / 1000) for entry in view.entries}
    assert limits == {at: limit for at, (_, _, limit) in MAY_CARRY.items()} | {"aft/1/A/1": 1}


@pytest.mark.parametrize(("factor", "limit_ma"), [(80, 8000), (100, 10_000), (150, 10_000)])
def test_heat_never_allows_more(factor: float, limit_ma: int) -> None:
    """A factor above 100 % is refused when it is read; the checker would not believe it either."""
    steps = [DeratingStep.model_construct(ambient=60.0, factor=factor)]
    assert derated_ma(10, 40, steps, 50) == limit_ma
