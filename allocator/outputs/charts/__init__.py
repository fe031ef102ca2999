"""Charts of a plan: feed loads, fuse gates with the start of their loads, drops; on sheets or into axes."""

from allocator.outputs.charts.drops import plot_drops
from allocator.outputs.charts.feeds import plot_feed
from allocator.outputs.charts.gates import GateChart, plot_gates
from allocator.outputs.charts.pages import chart_listings, chart_sheets, chart_slices

__all__ = [
    "GateChart",
    "chart_listings",
    "chart_sheets",
    "chart_slices",
    "plot_drops",
    "plot_feed",
    "plot_gates",
]
