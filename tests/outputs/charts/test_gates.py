"""Fuse gates with the start of their loads: gates as published and nothing between them, and what they show."""

from __future__ import annotations

import itertools

import pytest
from matplotlib.figure import Figure

from allocator.outputs.charts.gate_cells import GateCells
from allocator.outputs.charts.gates import LEAST_S, MOST_S, GateChart, plot_gates
from allocator.outputs.charts.shapes import Block, Scale, Stroke
from allocator.outputs.fonts import NO_BREAK
from allocator.sizing.inrush import Inrush
from tests.outputs.conftest import charts_of, content_of

# ISO 8820-3 gates of type C as quoted in data sheets, for 10 A: current, earliest, latest.
GATES_OF_10_A = [
    (11, 360_000, MOST_S), (13.5, 0.75, 600), (16, 0.25, 50), (20, 0.15, 5), (35, 0.08, 0.5), (60, LEAST_S, 0.15),
]  # fmt: skip
PUMP = GateChart("C", 10, Inrush(6, 36, 0.5, 30))


def test_gates_are_drawn_as_published_and_nothing_lies_between_them() -> None:
    bars = [shape for shape in PUMP.shapes() if isinstance(shape, Block)]
    found = [((bar.left * bar.right) ** 0.5, bar.low, bar.high) for bar in bars]
    assert found == [pytest.approx(gate) for gate in GATES_OF_10_A]
    assert all(one.right < other.left for one, other in itertools.pairwise(bars))


def test_an_end_that_nobody_published_is_open() -> None:
    bars = [shape for shape in PUMP.shapes() if isinstance(shape, Block)]
    assert [bar.look.dashed for bar in bars] == [True, False, False, False, False, True]
    caps = [shape for shape in PUMP.shapes() if isinstance(shape, Stroke) and shape.look.weight == 1.1]
    assert len(caps) == 2 * len(bars) - 2


def test_the_load_steps_from_its_start_to_its_steady_current() -> None:
    stair, stall = [shape for shape in PUMP.shapes() if isinstance(shape, Stroke)][-2:]
    assert stair.points == ((36, LEAST_S), (36, 0.5), (6, 0.5), (6, MOST_S))
    assert stall.points == ((30, LEAST_S), (30, MOST_S)) and stall.look.dashed


@pytest.mark.parametrize(
    ("chart", "verdict", "stall"),
    [
        (PUMP, "opens during the start: take a larger one", "held fast at 30 A: opens within 5 s"),
        (GateChart("C", 10, Inrush(6, 34, 0.5)), "not shown to stay whole: try it", ""),
        (GateChart("C", 10, Inrush(6, 13, 0.5)), "stays whole: opens after 0.75 s at the earliest", ""),
        (GateChart("C", 20, Inrush(20, 200, 0.005)), "stays whole: 200 A²s of the 520 A²s that melt it", ""),
        (GateChart("N", 10, Inrush(6, 9, 0.5)), "stays whole: the start is within its rating", ""),
        (GateChart("N", 10, Inrush(6, 36, 0.5, 30)), "not shown to stay whole: try it",
         "held fast at 30 A: opens within no published time"),
    ],
)  # fmt: skip
def test_what_the_chart_says(chart: GateChart, verdict: str, stall: str) -> None:
    assert chart.verdict().replace(NO_BREAK, " ") == verdict
    assert chart.stall_verdict().replace(NO_BREAK, " ") == stall


def test_the_scale_holds_the_whole_load() -> None:
    """A stall of twenty times the rating, and a load of a twentieth of it."""
    least, most = GateChart("E", 40, Inrush(2, 800, 0.5, 800)).span_a
    assert least < 2 and most > 800
    scale = Scale(least, most, 10.0, 60.0, logarithmic=True)
    assert 10 < scale.at(2) < scale.at(40) < scale.at(800) < 60
    assert scale.at(0.001) == 10 and scale.at(1e9) == 60


@pytest.mark.parametrize("sample", ["small", "large", "creek-workboat"])
def test_every_lamp_and_motor_has_a_cell_and_nothing_else(sample: str) -> None:
    content = content_of(sample)
    kinds = {circuit.id: circuit.load_type for circuit in content.plan.requirements.circuits}
    wanted = [name for name, kind in kinds.items() if kind in ("filament-lamp", "motor")]
    cells = GateCells(content).cells
    assert sorted(cell.item.need.id for cell in cells) == sorted(wanted)
    texts = [text.wanted for page in charts_of(sample)["fuses"] for text in page.texts]
    for cell in cells:
        assert content.label(cell.item.need) in texts
        assert cell.chart.verdict() in texts
        assert (cell.chart.rating_a, cell.chart.fuse_format) == (
            cell.item.option.fuse_rating_a, cell.item.option.fuse_format,
        )  # fmt: skip


def test_gates_drawn_into_axes() -> None:
    ax = Figure().add_subplot()
    plot_gates(ax, PUMP)
    assert (ax.get_xscale(), ax.get_yscale()) == ("log", "log")
    assert len(ax.patches) == len(GATES_OF_10_A)
    assert ax.get_xlim()[0] < 6 and ax.get_xlim()[1] > 60
