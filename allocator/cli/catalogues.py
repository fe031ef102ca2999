"""
``allocator catalogue show`` and ``check``: a catalogue file in, its parts listed and its modules drawn in letters out.

A way is drawn as the type letter of its fuse, ``=`` below it where a bus strip goes, ``#`` where the bus is solid,
``.`` where each way is fed singly; a socket is drawn as its number.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from allocator.address import ROW_LETTERS
from allocator.cli.answers import Answer
from allocator.outputs.summary import columns
from allocator.requirements import load_catalogue
from allocator.requirements.catalogue import Catalogue, Module, Part, RelayTabs, Row

_BUS = {"strip": "=", "single": ".", "stud": "#"}
_MEASURE = re.compile(r"(\d+\.\d+) (\S+)")
_SHIPPED = "the catalogue that ships"


def show(path: Path | None) -> Answer:
    """
    List the parts of a catalogue.

    Parameters
    ----------
    path
        A TOML file; none: the catalogue that ships.
    """
    catalogue = load_catalogue(path)
    return Answer("\n".join(_lines(catalogue)) + "\n", {"catalogue": catalogue.model_dump(mode="json")})


def check(path: Path | None) -> Answer:
    """
    Validate a catalogue and count its parts.

    Parameters
    ----------
    path
        A TOML file; none: the catalogue that ships.
    """
    counts = {name: len(parts) for name, parts in _tables(load_catalogue(path))}
    name = _SHIPPED if path is None else str(path)
    lines = [f"{name}: no fault found", *columns([(str(n), table) for table, n in counts.items()], right=(0,))]
    return Answer("\n".join(lines) + "\n", {"file": name, "num_parts_by_table": counts})


def _tables(catalogue: Catalogue) -> Iterator[tuple[str, Sequence[Part]]]:
    """Yield every table of parts with its name, in the order of the schema."""
    for name in Catalogue.model_fields:
        parts: Any = getattr(catalogue, name)
        if isinstance(parts, tuple) and all(isinstance(part, Part) for part in parts):
            yield name, parts


def _lines(catalogue: Catalogue) -> Iterator[str]:
    yield catalogue.name
    yield catalogue.notice
    yield (
        f"Wire for a feed tail {catalogue.tail_length:g} m, a short jumper {catalogue.short_jumper:g} m, "
        f"a long jumper {catalogue.long_jumper:g} m"
    )
    for name, parts in _tables(catalogue):
        if not parts:
            continue
        yield ""
        yield name.capitalize()
        if name == "modules":
            for module in catalogue.modules:
                yield from _module(module, catalogue.currency)
        else:
            yield from columns([_part(part, catalogue.currency) for part in parts], right=(2,))
        if name == "relays":
            yield ""
            yield "Tabs of relay sockets, mm by terminal"
            yield from columns([_tabs(tabs) for tabs in catalogue.relay_tabs])


def _part(part: Part, currency: str) -> tuple[str, ...]:
    facts = part.model_dump(mode="json", exclude=set(Part.model_fields), exclude_defaults=True)
    told = ", ".join(f"{name.replace('_', ' ')} {_told(value)}" for name, value in facts.items())
    return part.id, part.label, f"{part.price / 100:.2f} {currency}", told


def _tabs(tabs: RelayTabs) -> tuple[str, ...]:
    widths = ", ".join(f"{designation}: {width:g}" for designation, width in tabs.tabs.items())
    return tabs.relay_class, tabs.function, widths


def _told(value: object) -> str:
    if isinstance(value, list):  # a derating table, or offcuts
        return " / ".join(
            " ".join(map(_told, step.values())) if isinstance(step, dict) else str(step) for step in value
        )
    measure = _MEASURE.fullmatch(str(value))
    return f"{float(measure[1]):.4g} {measure[2]}" if measure else str(value)


def _module(module: Module, currency: str) -> Iterator[str]:
    yield f"  {module.id}: {module.label}, {module.price / 100:.2f} {currency}; {_bays(module)}"
    for letter, row in zip(ROW_LETTERS, module.rows, strict=False):
        yield f"      {letter}  {' '.join([row.fuse_format] * row.ways)}"
        yield f"         {' '.join([_BUS[row.bus] * len(row.fuse_format)] * row.ways)}  {_supply(row, module)}"
    first = 1
    for group in module.sockets:
        numbers = range(first, first + group.count)
        yield f"         {' '.join(f'S{number}' for number in numbers)}  {group.relay_class}"
        first += group.count


def _bays(module: Module) -> str:
    ways = Counter(row.fuse_format for row in module.rows for _ in range(row.ways))
    told = [f"{module.bays} bay" + "s" * (module.bays > 1)]
    told += [f"{number} way{'s' * (number > 1)} {letter}" for letter, number in ways.items()]
    if module.limit is not None:
        told.append(f"{module.limit:g} A up to {module.stated_ambient:g} degC")
    return ", ".join(told)


def _supply(row: Row, module: Module) -> str:
    kinds = {"strip": f"strip {row.strip}", "single": "each fed singly", "stud": f"solid bus, stud {module.stud}"}
    limit = f", {row.limit:g} A" if row.limit is not None else ""
    return f"{kinds[row.bus]}{limit}; outputs {row.tab:g} mm"
