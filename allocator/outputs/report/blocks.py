"""
What a chapter of the report page is made of: paragraphs, tables, drawings, panels.

Plain data, all text as it was written; the templates make it into HTML and escape it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class Column:
    """Head of a column; numbers stand on the right, and much text gets a wide one."""

    head: str
    right: bool = False
    wide: bool = False

    @property
    def style(self) -> str:
        """Class in the style sheet."""
        return "right" if self.right else "wide" if self.wide else ""


@dataclass(frozen=True, slots=True)
class Cell:
    """
    A cell: its text, what it is sorted by where that is not its text, and the feed whose mark stands before it.

    ``by_case`` holds a text for each load case, shown in its place while the reader looks at that case alone.
    """

    text: str
    order: float | None = None
    feed: str = ""
    by_case: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """A row; ``key`` names the item that it stands for (``items.py``), empty where it stands for none."""

    key: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table that a reader can sort; ``folded``: closed until it is asked for."""

    id: str
    title: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    folded: bool = False
    kind: Literal["grid"] = "grid"


@dataclass(frozen=True, slots=True)
class Prose:
    """Paragraphs, or the points of a list."""

    texts: tuple[str, ...]
    as_list: bool = False
    kind: Literal["prose"] = "prose"


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing, in pictures that go below each other."""

    pictures: tuple[Markup, ...]
    kind: Literal["figure"] = "figure"


@dataclass(frozen=True, slots=True)
class Face:
    """One side of a panel: its pictures in the order of the bays; ``leftward``: bay 1 is at the right."""

    title: str
    pictures: tuple[Markup, ...]
    leftward: bool


@dataclass(frozen=True, slots=True)
class PanelView:
    """Both sides of a panel, and a feed's mark and code for the legend above them."""

    title: str
    faces: tuple[Face, ...]
    kind: Literal["panel"] = "panel"


Block = Grid | Prose | Figure | PanelView


@dataclass(frozen=True, slots=True)
class Chapter:
    """A part of the page with a heading; ``id`` is its anchor."""

    id: str
    title: str
    blocks: tuple[Block, ...]
