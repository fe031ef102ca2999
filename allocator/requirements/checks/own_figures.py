"""A vehicle's own figures: each cell written once, and tables that still rise or fall the way they must."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from allocator.figures import Gate, Steps
from allocator.requirements.drafting import Draft
from allocator.requirements.own_figures import OwnFigures, OwnGate
from allocator.requirements.places import Item, PlacedFault

_RISES = {
    "gauge_resistance": True,
    "metric_resistance": False,
    "ampacity": True,
    "bundles": False,
    "final_temperature": True,
    "system_maximum": True,
    "fuse_share": False,
    "fuse_published": False,
    "fuse_cold_resistance": False,
    "fuse_melting": True,
    "contact_factors": True,
}
"""Tables whose values rise (else fall) from column to column: a bent one is a slip of the pen."""
_ABOVE_ITS_COLUMN = ("final_temperature", "system_maximum")
"""Tables whose value is more than the column that it stands in."""


def own_figure_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of the figures of a vehicle's own."""
    for item in draft.rule_items("figures"):
        yield from _twice(item)
        for name in item.value.given():
            problem = _problem(name, item.value.given()[name], getattr(draft.figures, name).value)
            if problem:
                message = f'"{name}" of [rules.figures] {problem}'
                known = "the cells that are not given are those of the published table"
                yield item.spot.fault("figure-out-of-order", message, name, known=known)


def _twice(item: Item[OwnFigures]) -> Iterator[PlacedFault]:
    for name, raw in item.spot.raw.items():
        if _num_cells(raw) > _num_cells(getattr(item.value, name)):
            message = f'"{name}" of [rules.figures] holds one cell twice, spelt in two ways'
            yield item.spot.fault("figure-twice", message, name)


def _num_cells(table: Any) -> int:
    if not isinstance(table, Mapping) or table.keys() & OwnGate.model_fields.keys():
        return 0
    return sum(1 + _num_cells(cell) for cell in table.values())


def _problem(name: str, own: Any, table: Any) -> str:
    if name == "fuse_gates":
        return next(filter(None, (_gates_problem(letter, gates) for letter, gates in table.items())), "")
    if name == "ampacity":
        above = _above_a_thicker(own, table)
        if above:
            return above
    if name in _ABOVE_ITS_COLUMN:
        low = next((f"is {value:g} at {column:g}" for column, value in table.items() if value <= column), "")
        if low:
            return f"{low}, and must be more than that"
    return next(_bends(table, _RISES[name]), "") if name in _RISES else ""


def _bends(table: Mapping[Any, Any], rises: bool, path: str = "") -> Iterator[str]:
    steps = {key: value for key, value in table.items() if not isinstance(value, Mapping)}
    for (column, value), (later, following) in pairwise(steps.items()):
        if following < value if rises else following > value:
            way = "falls" if rises else "rises"
            yield f"{way} from {value:g} at {column:g} to {following:g} at {later:g}{path and f' ({path})'}"
    for key, inner in table.items():
        if isinstance(inner, Mapping):
            step = key if isinstance(key, str) else f"{key:g}"
            yield from _bends(inner, rises, f"{path}, {step}" if path else step)


def _above_a_thicker(own: Mapping[float, Steps], table: Mapping[float, Steps]) -> str:
    """Say where an own cell is more than that of a thicker wire; less than a thinner one has is on the safe side."""
    for area, row in own.items():
        for column, amps in row.items():
            for other, cells in table.items():
                if other > area and cells.get(column, amps) < amps:
                    more = f"more than {cells[column]:g} at {other:g} mm2"
                    return f"is {amps:g} at {area:g} mm2, {more} (insulation of {column:g} degC)"
    return ""


def _gates_problem(letter: str, gates: Mapping[float, Gate]) -> str:
    for percent, (earliest, latest) in gates.items():
        if earliest is not None and latest is not None and earliest > latest:
            return f"opens at the earliest after its latest time ({letter}, {percent:g} %)"
    for side in (0, 1):
        bend = next(_bends({percent: time for percent, gate in gates.items() if (time := gate[side])}, False), "")
        if bend:
            return f"{bend} % ({letter})"
    return ""
