"""The change sheet of a revision: what to remove, move, change and add, as text, as a list and on paper with marks."""

from allocator.outputs.changes.documents import CHANGE_FILES, draw_changes
from allocator.outputs.changes.words import ChangeSheet, changes_text

__all__ = ["CHANGE_FILES", "ChangeSheet", "changes_text", "draw_changes"]
