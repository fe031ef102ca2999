"""
Addresses of places in a panel, as printed on every drawing and list and as a user writes them in a pin.

``cabin/2`` is the module that starts in bay 2 of panel cabin; ``cabin/2/A/3`` way 3 of its row A; ``cabin/2/S1`` its
first relay socket; ``cabin/2/A/1-4`` the strip piece over ways 1 to 4; ``cabin/2/stud`` the stud of its solid bus.
"""

from __future__ import annotations

from dataclasses import dataclass

ROW_LETTERS = "ABCDEF"


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A module, row, way or span of ways; bays and ways count from 1, rows from 0."""

    panel: str
    bay: int | None = None
    row: int | None = None
    first: int | None = None
    last: int | None = None

    def __str__(self) -> str:
        text = self.panel
        if self.bay is not None:
            text += f"/{self.bay}"
        if self.row is not None:
            text += f"/{ROW_LETTERS[self.row]}"
        if self.first is not None:
            text += f"/{self.first}"
        if self.last is not None:
            text += f"-{self.last}"
        return text


@dataclass(frozen=True, slots=True, order=True)
class SocketPlace:
    """A relay socket of a module; sockets count from 1 over all classes of the module, in the catalogue's order."""

    panel: str
    bay: int
    socket: int

    def __str__(self) -> str:
        return f"{self.panel}/{self.bay}/S{self.socket}"


@dataclass(frozen=True, slots=True, order=True)
class StudPlace:
    """The supply stud of a module with a solid bus."""

    panel: str
    bay: int

    def __str__(self) -> str:
        return f"{self.panel}/{self.bay}/stud"


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 3 and int(text) >= 1):
        raise ValueError(f'"{text}" is not a count from 1')
    return int(text)


def parse_place(text: str) -> Place:
    """Read a panel, module, row, way or span; raise ValueError with a sentence otherwise."""
    words = text.strip().split("/")
    if not 1 <= len(words) <= 4 or not words[0]:
        raise ValueError(f'"{text}" is no place; expected panel, panel/bay, panel/bay/row or panel/bay/row/way')
    bay = _count(words[1]) if len(words) > 1 else None
    row = None
    if len(words) > 2:
        if len(words[2]) != 1 or words[2].upper() not in ROW_LETTERS:
            raise ValueError(f'"{words[2]}" is no row; expected a letter from A to F')
        row = ROW_LETTERS.index(words[2].upper())
    if len(words) < 4:
        return Place(words[0], bay, row)
    first, dash, last = words[3].partition("-")
    return Place(words[0], bay, row, _count(first), _count(last) if dash else None)


def parse_socket(text: str) -> SocketPlace:
    """Read a socket such as ``cabin/2/S1``; raise ValueError with a sentence otherwise."""
    words = text.strip().split("/")
    if len(words) != 3 or not words[0] or words[2][:1].upper() != "S":
        raise ValueError(f'"{text}" is no socket; expected panel/bay/S and a number, such as cabin/2/S1')
    return SocketPlace(words[0], _count(words[1]), _count(words[2][1:]))


def parse_stud(text: str) -> StudPlace:
    """Read a stud such as ``cabin/2/stud``; raise ValueError with a sentence otherwise."""
    words = text.strip().split("/")
    if len(words) != 3 or not words[0] or words[2] != "stud":
        raise ValueError(f'"{text}" is no stud; expected panel/bay/stud, such as cabin/2/stud')
    return StudPlace(words[0], _count(words[1]))
