"""
What must light up with each item of the report page, worked out from the files alone.

Comes in as parsed plan.json and the rows of wires.csv and failures.csv; goes out as sets of keys by key. It knows
neither the page nor the index that the page is made with.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

Row = Mapping[str, str]


def rows_of(text: str) -> list[Row]:
    """Return the rows of a list without the remarks at its end."""
    return [row for row in csv.DictReader(io.StringIO(text)) if next(iter(row.values())) != "#"]


class Expected:
    """The sets of one plan."""

    def __init__(self, plan: Mapping[str, Any], wires: list[Row], failures: list[Row]) -> None:
        self.plan, self.wires, self.failures = plan, wires, failures
        self.way_of = {way["need"]: way for way in plan["ways"]}
        self.socket_of = {socket["need"]: socket for socket in plan["sockets"]}
        self.needs = sorted({*self.way_of, *self.socket_of})

    def all(self) -> dict[str, set[str]]:
        """Return every key of the page with what lights up."""
        found = {}
        for need in self.needs:
            lit = self.of_need(need)
            found[f"need:{need}"] = lit
            found |= dict.fromkeys(self._own_places(need), lit)
        found |= {self._key(piece): self.of_piece(piece) for piece in self.plan["pieces"] if piece["kind"] != "socket"}
        for feed in self.plan["requirements"]["scenario"]["feeds"]:
            found[f"feed:{feed['name']}"] = self.of_feed(feed["name"])
        found |= {f"wire:{wire['number']}": self.of_wire(wire) for wire in self.wires}
        return found | {f"failure:{number}": lit for number, lit in enumerate(self.of_failures())}

    def of_need(self, need: str) -> set[str]:
        lit = {f"need:{need}", *self._own_places(need)}
        feed = self._feed_of(need)
        lit.add(f"feed:{feed}")
        if need in self.way_of:
            lit |= {
                self._key(piece) for piece in self.plan["pieces"] if self.way_of[need]["at"] in self._covered(piece)
            }
        at = {key.partition(":")[2] for key in self._own_places(need)}
        lit |= {
            f"wire:{wire['number']}"
            for wire in self.wires
            if wire["circuit"] == need or {wire["from_place"], wire["to_place"]} & at
        }
        if "feed" in (self.way_of.get(need, {}).get("kind"), self.socket_of.get(need, {}).get("kind")):
            lit |= {f"feed:{need}", *(self._key(piece) for piece in self.plan["pieces"] if piece["feed"] == need)}
        return lit

    def of_piece(self, piece: Mapping[str, str]) -> set[str]:
        lit = {self._key(piece), f"feed:{piece['feed']}"}
        for need, way in self.way_of.items():
            if way["at"] in self._covered(piece):
                lit |= {f"need:{need}", *self._own_places(need)}
        return lit | {f"wire:{wire['number']}" for wire in self.wires if wire["to_place"] == piece["at"]}

    def of_feed(self, feed: str) -> set[str]:
        lit = {f"feed:{feed}", *(self._key(piece) for piece in self.plan["pieces"] if piece["feed"] == feed)}
        for need in self.needs:
            if self._feed_of(need) == feed or need == feed:
                lit |= {f"need:{need}", *self._own_places(need)}
        return lit | {f"wire:{wire['number']}" for wire in self.wires if feed in (wire["feed"], wire["circuit"])}

    def of_wire(self, wire: Row) -> set[str]:
        lit = {f"wire:{wire['number']}", f"feed:{wire['feed']}"}
        ends = {wire["from_place"], wire["to_place"]}
        for need in self.needs:
            places = self._own_places(need)
            lit |= {place for place in places if place.partition(":")[2] in ends}
            lit |= {f"need:{need}"} if need == wire["circuit"] else set()
        return lit | {self._key(piece) for piece in self.plan["pieces"] if piece["at"] in ends}

    def of_failures(self) -> Iterator[set[str]]:
        cases = len(self.plan["requirements"]["scenario"]["load_cases"])
        for first in range(0, len(self.failures), cases):
            rows = self.failures[first : first + cases]
            lost = {name for row in rows for field in ("dark", "falls_back") for name in _names(row[field])}
            yield {key for need in lost for key in (f"need:{need}", *self._own_places(need))}

    def _own_places(self, need: str) -> set[str]:
        ways = {f"way:{self.way_of[need]['at']}"} if need in self.way_of else set()
        return ways | ({f"socket:{self.socket_of[need]['at']}"} if need in self.socket_of else set())

    def _feed_of(self, need: str) -> str:
        if need in self.way_of:
            return str(self.way_of[need]["feed"])
        at = self.socket_of[need]["at"]
        return next(str(piece["feed"]) for piece in self.plan["pieces"] if piece["at"] == at)

    def _key(self, piece: Mapping[str, str]) -> str:
        return f"{'socket' if piece['kind'] == 'socket' else 'piece'}:{piece['at']}"

    def _covered(self, piece: Mapping[str, str]) -> set[str]:
        at = piece["at"]
        if piece["kind"] == "single":
            return {at}
        if piece["kind"] == "strip":
            row, _, span = at.rpartition("/")
            first, _, last = span.partition("-")
            return {f"{row}/{way}" for way in range(int(first), int(last) + 1)}
        return set(self._on_stud(at.removesuffix("/stud"))) if piece["kind"] == "stud" else set()

    def _on_stud(self, module_at: str) -> Iterable[str]:
        name = next(module["module"] for module in self.plan["modules"] if module["at"] == module_at)
        module = next(item for item in self.plan["requirements"]["catalogue"]["modules"] if item["id"] == name)
        for letter, row in zip("ABCDEF", module["rows"], strict=False):
            if row["bus"] == "stud":
                yield from (f"{module_at}/{letter}/{way}" for way in range(1, row["ways"] + 1))


def _names(cell: str) -> list[str]:
    return [name for name in cell.split("; ") if name]
