"""Drops of a plan: each part of the way worked out again here, the bar as long as their sum, the limit beside it."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from matplotlib.figure import Figure

from allocator.outputs.charts.drops import PARTS, drop_shapes, plot_drops
from allocator.outputs.charts.shapes import Block, Stroke
from allocator.outputs.fonts import NO_BREAK
from allocator.plan.drops import Drop, drops
from allocator.plan.index import PlanIndex
from allocator.plan.measures import feed_loads
from tests.outputs.conftest import charts_of, content_of

LAMP = Drop("lamp", "battery", "cabin", "night", 0.12, 0.06, 0.24, 0.18, 0.36)


def test_the_bar_adds_up_and_the_limit_is_marked() -> None:
    *bars, edge, limit = drop_shapes(LAMP, 12.0)
    assert isinstance(edge, Stroke) and edge.points == limit.points and edge.look.weight > limit.look.weight
    assert all(isinstance(bar, Block) for bar in bars) and isinstance(limit, Stroke)
    assert [bar.right - bar.left for bar in bars] == pytest.approx([1.0, 0.5, 2.0, 1.5])
    assert [bar.left for bar in bars[1:]] == pytest.approx([bar.right for bar in bars[:-1]])
    assert [x for x, _ in limit.points] == pytest.approx([3.0, 3.0])
    assert LAMP.total_v == pytest.approx(0.60) and LAMP.is_over


@pytest.mark.parametrize("sample", ["small", "wide", "creek-workboat"])
def test_every_circuit_has_a_row_with_its_sum(sample: str) -> None:
    content = content_of(sample)
    texts = [text.wanted.replace(NO_BREAK, " ") for page in charts_of(sample)["drops"] for text in page.texts]
    found = drops(content.index)
    assert sorted(drop.circuit for drop in found) == sorted(item.id for item in content.plan.requirements.circuits)
    for drop in found:
        assert any(f" {drop.total_v:.2f} V in {drop.case}" in text for text in texts)
    assert sum(text.startswith("too much: ") for text in texts) == sum(drop.is_over for drop in found)


def test_every_part_is_written_as_it_is_and_a_sum_that_rounding_puts_off_is_no_equation() -> None:
    """Each is rounded alone, so that it is what the test sheets say to two places."""
    signs = set()
    for sample in ("small", "starter-camper", "library-bus"):
        texts = {text.wanted for page in charts_of(sample)["drops"] for text in page.texts}
        for drop in drops(content_of(sample).index):
            parts = [f"{getattr(drop, name):.2f}" for name in PARTS if getattr(drop, name)]
            is_equal = sum(map(Fraction, parts)) == Fraction(f"{drop.total_v:.2f}")
            start = f"{' + '.join(parts)} {'=' if is_equal else '≈'} {drop.total_v:.2f}{NO_BREAK}V in "
            assert any(text.startswith(start) for text in texts)
            signs.add(is_equal)
    assert signs == {True, False}


def test_drops_drawn_into_axes() -> None:
    ax = Figure().add_subplot()
    plot_drops(ax, [LAMP, LAMP], 12.0)
    assert len(ax.patches) == 2 * len(PARTS) and len(ax.lines) == 2 * 2
    assert ax.get_xlim()[1] > 5
    assert [label.get_text() for label in ax.get_yticklabels()] == ["lamp", "lamp"]


def lost_v(amps: float, metres: float, area: float, bundle: float) -> float:
    """IEC 60228 class 5 at 20 degC, IEC 60028; 33 CFR 183.425 Table 5 at 105 degC, 0.93 of it at 40 degC."""
    ohm = {1: 0.0195, 10: 0.00191, 25: 0.00078}[area]
    carries = {1: 20, 10: 80, 25: 160}[area] * 0.93 * bundle
    hot = 40 + (105 - 40) * math.sqrt(amps / carries)
    return amps * metres * ohm * (1 + 0.00393 * (hot - 20))


def test_one_circuit_worked_out_by_hand() -> None:
    """Circuit 6 of the small sample: 1 A over 3 m of 1 mm2, on a strip and cable that carry 7 A while it runs."""
    content = content_of("small")
    (drop,) = [item for item in drops(content.index) if item.circuit == "circuit-06"]
    feed = content.sized.feeds["battery"]
    sizes = {wire.id: wire.area for wire in content.plan.requirements.catalogue.wires}
    assert (sizes[feed.cable_wire], sizes[feed.tail_wire]) == (25, 10)
    assert (drop.feed, drop.case) == ("battery", "parked")
    assert drop.run_v == pytest.approx(lost_v(1, 3, 1, 0.70))
    assert drop.cables_v == pytest.approx(lost_v(3 + 1 + 3, 2, 25, 1))
    assert drop.panel_v == pytest.approx(lost_v(3 + 1 + 3, 0.45, 10, 1))
    assert (drop.return_v, drop.limit_v) == (0, pytest.approx(1.2))
    assert not drop.is_over


def test_a_branch_loses_what_its_source_loses_as_well() -> None:
    """Behind a feed that branches, more is lost than by a circuit that stands on its source, in the same load case."""
    content = content_of("creek-workboat")
    sources = {feed.name: feed.source for feed in content.plan.requirements.scenario.feeds}
    found = drops(content.index)
    pairs = [
        (drop.cables_v, other.cables_v)
        for drop in found
        for other in found
        if other.feed == sources[drop.feed]
        and other.case == drop.case
        and other.panel == content.index.need_by_id[drop.feed].panel
    ]
    assert pairs
    assert all(behind > before > 0 for behind, before in pairs)


def test_what_comes_back_by_wire_is_lost_twice() -> None:
    """The wide sample returns by wire, as long as the run; the small one by the chassis."""
    assert all(drop.return_v == pytest.approx(drop.run_v) for drop in drops(content_of("wide").index))
    assert all(drop.return_v == 0 for drop in drops(content_of("small").index))


def test_a_lead_before_the_main_fuse_carries_the_whole_feed() -> None:
    """One metre more of lead, out and back by wire: the load of the feed in that case through two metres of cable."""
    content = content_of("creek-workboat")
    feed = content.sized.feeds["service"]
    assert feed.main is not None
    longer = replace(feed, main=replace(feed.main, lead_mm=feed.main.lead_mm + 1000))
    sized = replace(content.sized, feeds={**content.sized.feeds, "service": longer})
    before = {drop.circuit: drop for drop in drops(content.index)}
    loads = {load.feed: load.load_ma_by_case for load in feed_loads(content.index)}
    cases = [case.name for case in content.plan.requirements.scenario.load_cases]
    area = next(wire.area for wire in content.plan.requirements.catalogue.wires if wire.id == feed.cable_wire)
    more = 0
    for drop in drops(PlanIndex(sized, content.plan)):
        if drop.feed != "service":
            assert drop.cables_v >= before[drop.circuit].cables_v
        elif drop.case == before[drop.circuit].case:
            load_a = loads["service"][cases.index(drop.case)] / 1000
            cold_v = load_a * 2 * {16: 0.00121}[area]
            assert cold_v < drop.cables_v - before[drop.circuit].cables_v < 1.4 * cold_v  # between 20 and 105 degC
            more += 1
    assert more > 5
