"""Plans side by side: as text, as lists, and on paper with layouts next to each other and what moved marked."""

from allocator.outputs.comparing.documents import COMPARE_FILES, draw_comparison
from allocator.outputs.comparing.lists import comparison_data
from allocator.outputs.comparing.side import Comparison, Side
from allocator.outputs.comparing.words import comparison_text

__all__ = ["COMPARE_FILES", "Comparison", "Side", "comparison_data", "comparison_text", "draw_comparison"]
