"""
Raw tables of one file in, typed items out, one by one.

What is broken is reported, and the rest is kept for cross-checks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import UnionType
from typing import Any, TypeVar, get_args, get_origin

from pydantic import ValidationError

from allocator.errors import Fault
from allocator.requirements.catalogue import Catalogue, Strict
from allocator.requirements.fleet import Fleet, StockTerms
from allocator.requirements.places import Item, Overlay, PlacedFault, Spot, shown
from allocator.requirements.scenario import Circuit, Rules, Scenario
from allocator.requirements.tables import MOST_ROWS
from allocator.requirements.translating import faults_of

S = TypeVar("S", bound=Strict)
MOST_TABLES = 2000
_NAME_FIELDS = ("name", "id", "module", "part")
SUBJECTS = {
    "panels": "panel",
    "feeds": "feed",
    "load_cases": "load case",
    "circuits": "circuit",
    "modules": "module",
    "carriers": "carrier",
    "strips": "strip",
    "fuses": "fuse",
    "relays": "relay",
    "terminals": "terminal",
    "wires": "wire",
    "studs": "stud",
    "holders": "holder",
    "main_holders": "main holder",
    "accessories": "accessory",
    "vehicles": "vehicle",
    "stock.parts": "part",
}
"""What one entry of a table is called in messages."""


@dataclass(slots=True)
class Document:
    """
    One file as read: items by table, the names used in it by table, and what is wrong with it.

    The whole file, where nothing in it is broken, is the one item of the table without a name.
    """

    file: str
    rank: int
    """Place of the file in the order in which faults are listed."""
    overlay: Overlay | None = None
    """What a variant wrote over the file."""
    items: dict[str, list[Item[Any]]] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=dict)
    """By table also the names of items that are broken, so that a mention of them is no second fault."""
    broken: list[str] = field(default_factory=list)
    """Tables in which an entry could not be read."""
    lost: list[str] = field(default_factory=list)
    """Tables of which nothing could be read, so that nothing is known of their names."""
    faults: list[PlacedFault] = field(default_factory=list)
    _next: int = 0

    def spot(
        self,
        place: str,
        subject: str,
        raw: Mapping[str, Any],
        row: int | None = None,
        *,
        table: str = "",
        name: str = "",
    ) -> Spot:
        """Return the next place of the file, or the place of a row; ``table`` and ``name`` say what stands there."""
        self._next += 1
        spot = Spot(self.file, place, subject, (self.rank, self._next if row is None else row), raw)
        return spot if self.overlay is None else self.overlay.over(spot, table, name)

    def read(self, model: type[S], raw: Mapping[str, Any], table: str = "") -> S | None:
        """
        Read a table with all tables in it, item by item.

        Parameters
        ----------
        model
            Its schema.
        raw
            What the user wrote.
        table
            Its dotted name; empty for the whole file.

        Returns
        -------
        S | None
            The typed table, or None when something in it is broken.
        """
        place = f"[{table}]" if table else ""
        spot = self.spot(place, place or "the file", raw, table=table)
        inner: dict[str, Any] = {}
        for name, (sub_model, is_array) in tables_in(model).items():
            path = f"{table}.{name}" if table else name
            if raw.get(name) is None:
                self.lost.extend([path] if model.model_fields[name].is_required() else [])
            else:
                inner[name] = (
                    self.entries(sub_model, raw[name], path) if is_array else self._table(sub_model, raw[name], path)
                )
        broken = frozenset(name for name, value in inner.items() if value is None)
        kept = {name: value for name, value in raw.items() if name not in inner}
        kept |= {name: value for name, value in inner.items() if value is not None}
        value = self.item(model, spot, kept, broken)
        if broken or value is None:
            return None
        if not table:
            self.items[table] = [Item(spot, value)]
        return value

    def _table(self, model: type[S], raw: object, table: str) -> S | None:
        if not isinstance(raw, Mapping):
            self._not_a_table(raw, table, f"a table [{table}]")
            return None
        value = self.read(model, raw, table)
        if value is not None:
            self.items[table] = [Item(self.spot(f"[{table}]", f"[{table}]", raw, table=table), value)]
        return value

    def entries(self, model: type[S], raw: object, table: str) -> tuple[S, ...] | None:
        """Read all entries of an array of tables; None when one of them is broken."""
        if not isinstance(raw, list | tuple) or not all(isinstance(entry, Mapping) for entry in raw):
            self._not_a_table(raw, table, f"tables [[{table}]]")
            return None
        most = MOST_ROWS if model is Circuit else MOST_TABLES
        if len(raw) > most:
            self.lost.append(table)
            fault = Fault("too-many", f"there are more than {most} tables [[{table}]]", self.file)
            self.faults.append(PlacedFault((self.rank, self._next), fault))
            return None
        numbers = [
            number if self.overlay is None else self.overlay.number(table, number) for number, _ in enumerate(raw, 1)
        ]
        items = [self.entry(model, table, number, entry) for number, entry in zip(numbers, raw, strict=True)]
        values = tuple(item.value for item in items if item is not None)
        return values if len(values) == len(items) else None

    def entry(
        self,
        model: type[S],
        table: str,
        number: int,
        raw: Mapping[str, Any],
        *,
        row: Mapping[str, str] | None = None,
        broken: frozenset[str] = frozenset(),
    ) -> Item[S] | None:
        """
        Read one entry of a table of entries.

        Parameters
        ----------
        model
            Its schema.
        table
            Name of the table.
        number
            Which entry it is: from 1 in a TOML file, the number of the row in a spreadsheet.
        raw
            Its fields.
        row
            The cells as they were written, where it comes from a row.
        broken
            Fields that have been reported already.
        """
        name = next((raw[key] for key in _NAME_FIELDS if isinstance(raw.get(key), str)), None)
        place = f"[[{table}]] no. {number}" if row is None else f"row {number}"
        subject = f"{SUBJECTS[table]} {shown(name)}" if name is not None and table in SUBJECTS else place
        if name is not None:
            self.names.setdefault(table, []).append(name)
            place += f" {shown(name)}" if row is None else ""
        cells: Mapping[str, Any] = raw if row is None else row
        spot = self.spot(place, subject, cells, None if row is None else number, table=table, name=name or "")
        value = self.item(model, spot, raw, broken)
        if value is None or broken:
            self.broken.append(table)
            return None
        item = Item(spot, value)
        self.items.setdefault(table, []).append(item)
        return item

    def item(
        self, model: type[S], spot: Spot, raw: Mapping[str, Any], broken: frozenset[str] = frozenset()
    ) -> S | None:
        """Read one table without the tables in it; ``broken`` fields have been reported already."""
        try:
            return model.model_validate(dict(raw))
        except ValidationError as error:
            self.faults.extend(faults_of(error, model, spot, broken))
            return None

    def _not_a_table(self, raw: object, table: str, expected: str) -> None:
        self.lost.append(table)
        spot = self.spot("", "the file", {table: raw})
        self.faults.append(spot.fault("not-a-table", f'"{table}" is no table', table, known=f"expected {expected}"))


def tables_in(model: type[Strict]) -> dict[str, tuple[type[Strict], bool]]:
    """Return the fields that are tables of their own in the file, and whether there may be several."""
    tables: dict[str, tuple[type[Strict], bool]] = {}
    if model not in (Scenario, Rules, Catalogue, Fleet, StockTerms):
        return tables
    for name, info in model.model_fields.items():
        kind: Any = info.annotation
        if isinstance(kind, UnionType):  # a table that may be left out
            kind = get_args(kind)[0]
        inner = get_args(kind)[0] if get_origin(kind) is tuple else kind
        if isinstance(inner, type) and issubclass(inner, Strict):
            tables[name] = (inner, inner is not kind)
    return tables
