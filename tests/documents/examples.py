"""
The fenced examples of a page: what kind each is, and what it says of itself.

Comes in as a page of Markdown; goes out as ``Example`` after ``Example``, in order.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).parents[2]
PAGES = tuple(
    path
    for path in (TOP / "README.md", TOP / "DEVELOPERS.md", *sorted((TOP / "docs").rglob("*.md")))
    if not {"reference", "_build"} & set(path.relative_to(TOP).parts)
)
"""Every page that a person wrote; those of ``docs/reference`` are written from the code."""
_FENCE = re.compile(r"(?P<before>[^\n]*)\n```(?P<kind>[a-z]+)(?P<words>[^\n]*)\n(?P<text>.*?)\n```", re.DOTALL)


@dataclass(frozen=True)
class Example:
    """One fenced block: its kind, the words behind the kind, its text, and the line before it."""

    kind: str
    words: Sequence[str]
    text: str
    before: str

    @property
    def in_gate(self) -> bool:
        """Whether the gate runs it, word for word: it stands behind a marker of the README."""
        return self.before.startswith("<!-- command: ")


def examples(page: Path) -> list[Example]:
    """Return the fenced blocks of a page that name their kind, in order."""
    text = "\n" + page.read_text(encoding="utf-8")
    return [
        Example(found["kind"], found["words"].split(), found["text"], found["before"])
        for found in _FENCE.finditer(text)
    ]
