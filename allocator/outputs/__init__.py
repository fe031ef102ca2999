"""Drawings, charts and lists of a plan."""

from allocator.outputs.cautions import CAUTIONS
from allocator.outputs.drawing import draw
from allocator.outputs.summary import summary_text

__all__ = ["CAUTIONS", "draw", "summary_text"]
