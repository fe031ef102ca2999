"""Trade-offs on paper and screen: table, steps in words, proof, and the plot of every pair of goals."""

from allocator.outputs.tradeoffs.plot import save_plot
from allocator.outputs.tradeoffs.table import front_csv, front_data, front_text

__all__ = ["front_csv", "front_data", "front_text", "save_plot"]
