"""The change sheet of a revision: what to remove, move, change and add, as text, as a list and on paper with marks."""

from allocator.outputs.changes.documents import CHANGE_FILES, draw_changes
from allocator.outputs.changes.needs import needs_data
from allocator.outputs.changes.text import changes_text
from allocator.outputs.changes.words import ChangeSheet

__all__ = ["CHANGE_FILES", "ChangeSheet", "changes_text", "draw_changes", "needs_data"]
