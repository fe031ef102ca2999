"""
Where every table and row of the input stands, so that a fault can name file, row, field and value.

A ``Spot`` comes from the reading of a file, and turns what is wrong there into a ``Fault`` that knows its order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Generic, TypeVar

from allocator.errors import Fault, printable
from allocator.requirements.look_alikes import seen, told_apart

T = TypeVar("T")
_LONGEST_SHOWN = 80
_MOST_BITS_SHOWN = 256
_MOST_NAMES_COMPARED = 1000


@dataclass(frozen=True, slots=True)
class PlacedFault:
    """A fault with its place in the listing order: file, table, row."""

    order: tuple[int, ...]
    fault: Fault


@dataclass(frozen=True, slots=True)
class Spot:
    """
    One table or row of a file.

    ``file`` is the name that the user knows it by, ``place`` is ``row 41``, ``[vehicle]`` or
    ``[[feeds]] no. 3 "wipers"``, ``subject`` names it within a sentence (``feed "wipers"``), ``raw`` holds what the
    user wrote, by field. ``changed`` are the fields that a variant wrote, each with where it did so.
    """

    file: str
    place: str
    subject: str
    order: tuple[int, ...]
    raw: Mapping[str, Any]
    changed: Mapping[str, Spot] = field(default_factory=dict)

    def at(self, field: str) -> Spot:
        """Return where a field was written: here, or where a variant changed it."""
        return self.changed.get(field, self)

    def where(self, field: str | None = None) -> str:
        """Return file, place, and the field with what the user wrote in it."""
        if field is not None and field in self.changed:
            return self.changed[field].where(field)
        text = ", ".join(part for part in (self.file, self.place) if part)
        if field is None:
            return text
        value = self.raw.get(field)
        return f'{text}, field "{field}"' + ("" if value is None else f" = {shown(value)}")

    def fault(
        self, rule: str, message: str, field: str | None = None, *, known: str = "", hint: str = "", where: str = ""
    ) -> PlacedFault:
        """Return a fault that stands here; ``where`` replaces the place that ``field`` would give."""
        return PlacedFault(self.order, Fault(rule, message, where or self.where(field), known, hint))


@dataclass(frozen=True, slots=True)
class Overlay:
    """
    What a variant wrote over one document.

    ``fields`` holds by table and name of an entry the place of each field that was changed, ``added`` the entries that
    only the variant has, ``tables`` the tables that it replaced as a whole, ``numbers`` by table the number that each
    entry has in the file, where the variant dropped some.
    """

    file: str
    fields: Mapping[tuple[str, str], Mapping[str, Spot]]
    added: Mapping[tuple[str, str], Spot]
    tables: frozenset[str]
    numbers: Mapping[str, Sequence[int]]

    def number(self, table: str, number: int) -> int:
        """Return the number that an entry has in the file."""
        numbers = self.numbers.get(table, ())
        return numbers[number - 1] if table not in self.tables and number <= len(numbers) else number

    def over(self, spot: Spot, table: str, name: str) -> Spot:
        """Return the place of an entry as it is after the variant."""
        if (table, name) in self.added:
            return replace(self.added[table, name], order=spot.order)
        if table in self.tables:
            return replace(spot, file=self.file)
        changed = self.fields.get((table, name))
        return replace(spot, changed=changed) if changed else spot


@dataclass(frozen=True, slots=True)
class Item(Generic[T]):
    """A table or row that could be read, with where it stands."""

    spot: Spot
    value: T


@dataclass(frozen=True, eq=False)
class Origins:
    """
    Where the named entries of a vehicle's files stand, for faults that are found after reading.

    Where a thing was written is no part of what it is: all origins are equal, so that requirements compare by content.
    """

    spots: Mapping[tuple[str, str], Spot] = field(default_factory=dict)
    """By table and name: ``("circuits", "horn")``."""
    elsewhere: Mapping[tuple[str, str, str], str] = field(default_factory=dict)
    """Where another file says a field: by table, name and field."""

    def where(self, table: str, name: str, field_name: str | None = None) -> str:
        """Return file, row or table and field of an entry; words in its place where no file was read."""
        if field_name is not None and (table, name, field_name) in self.elsewhere:
            return self.elsewhere[table, name, field_name]
        spot = self.spots.get((table, name))
        if spot is not None:
            return spot.where(field_name)
        return {
            "circuits": f"circuits table, circuit {shown(name)}",
            "rules": "scenario.toml, [rules]",
            **{
                f"rules.{rule}": f"scenario.toml, [[rules.{rule}]] number {name}"
                for rule in ("spares", "apart", "together")
            },
            "rules.modules": f"scenario.toml, [[rules.modules]] {shown(name)}",
            "vehicle": "scenario.toml, [vehicle]",
            "supply": "scenario.toml, [supply]",
        }.get(table, f"scenario.toml, {table.removesuffix('s')} {shown(name)}")

    def __eq__(self, other: object) -> bool:
        """Return whether the other holds origins as well."""
        return isinstance(other, Origins)

    def __hash__(self) -> int:
        """Return the one hash of all origins."""
        return 0


def shown(value: object) -> str:
    """Return what the user wrote as one line: text in quotes, control characters as escapes, cut when long."""
    if isinstance(value, list | tuple):
        text = ", ".join("a list" if isinstance(item, list | tuple) else shown(item) for item in value[:20])
        return f"[{text}{', ...' if len(value) > 20 else ''}]"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and value.bit_length() > _MOST_BITS_SHOWN:
        return "a huge number"
    text = str(value)
    text = text if len(text) <= _LONGEST_SHOWN else text[:_LONGEST_SHOWN] + "..."
    text = printable(text)
    return f'"{text}"' if isinstance(value, str) else text


def quoted(names: Iterable[str], most: int = 12) -> str:
    """Return names in quotes, in the order given, the first dozen of them."""
    names = list(names)
    if len(names) <= _MOST_NAMES_COMPARED:
        names = list(dict.fromkeys(names))
    return cut_short([shown(name) for name in names], most=most)


def cut_short(parts: Sequence[str], between: str = ", ", most: int = 12) -> str:
    """Return parts one after the other, the first dozen of them, and how many more there are."""
    more = f" and {len(parts) - most} more" if len(parts) > most else ""
    return between.join(parts[:most]) + more


def did_you_mean(word: str, names: Iterable[str]) -> str:
    """Return ``did you mean "wipers"?`` for the nearest of the names, or nothing when none is near."""
    near = nearest(word, tuple(names))
    if near is None:
        return ""
    apart = told_apart(word, near)
    return f"did you mean {shown(near)}?" + (f" {apart}" if apart else "")


@lru_cache(maxsize=1024)
def nearest(word: str, names: tuple[str, ...]) -> str | None:
    """Return the name most like a word (capitals do not count), or None when none is near."""
    from difflib import get_close_matches

    if len(names) > _MOST_NAMES_COMPARED or len(word) > _LONGEST_SHOWN:
        return None  # a comparison with each name would keep the user waiting
    folded = {name.casefold(): name for name in reversed(names)}
    if word.casefold() in folded:
        return folded[word.casefold()]
    alike = [name for name in names if seen(name) == seen(word)]
    if alike:
        return alike[0]
    matches = get_close_matches(word.casefold(), list(folded), n=1, cutoff=0.6)
    return folded[matches[0]] if matches else None
