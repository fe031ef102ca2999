"""What the checker reports: one finding for each way in which a plan breaks a rule."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """
    One violation, in the words of the person who wrote the requirements.

    ``rule`` is an id of ``rulebook.RULES``; ``where`` a place of the plan or a thing of the scenario; ``detail`` what
    was found there and what was expected.
    """

    rule: str
    where: str
    detail: str

    def text(self) -> str:
        """Return the finding as one line for the terminal."""
        return f"{self.where}: {self.detail}  [{self.rule}]"
