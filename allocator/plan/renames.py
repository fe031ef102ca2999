"""
What is called otherwise in a revision: circuits and branches, and feeds, each kind by names of its own.

Comes in as pairs of names; goes out as look-ups. A circuit may have the name of a root feed, so that one name alone
does not say which of the two has another one now.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from allocator.sizing.sized import SWITCHED_SIDE


@dataclass(frozen=True, slots=True)
class Renames:
    """New names by old ones: of circuits and branches, as what takes a way or socket, and of all feeds."""

    needs: Mapping[str, str] = field(default_factory=dict)
    feeds: Mapping[str, str] = field(default_factory=dict)

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Old and new name of all that was renamed, a branch once."""
        return tuple(dict.fromkeys([*self.needs.items(), *self.feeds.items()]))

    @property
    def back(self) -> Renames:
        """Old names by new ones."""
        return Renames(*({new: old for old, new in names.items()} for names in (self.needs, self.feeds)))

    def need(self, name: str) -> str:
        """Return the new name of a circuit or branch."""
        return self.needs.get(name, name)

    def feed(self, name: str) -> str:
        """Return the new name of a feed."""
        return self.feeds.get(name, name)

    def end(self, words: str) -> str:
        """Return words for the end of a wire with the new name of what they are about; no name has a comma in it."""
        if words.startswith(SWITCHED_SIDE):
            return f"{SWITCHED_SIDE}{self.need(words.removeprefix(SWITCHED_SIDE))}"
        before, comma, what = words.rpartition(", ")
        head, of, name = what.partition(" of ")
        return f"{before}{comma}{head}{of}{self.feed(name)}"
