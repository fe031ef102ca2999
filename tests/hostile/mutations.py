"""
Inputs that went wrong in transit, by seed: a sound scenario folder or plan, with one to four changes somewhere in it.

Comes in as a number; goes out as files. Most of the changes keep the syntax, so that the checks behind the parsers see
them: values are swapped for others of the same file, rows and tables are doubled, dropped or moved, numbers are made
tiny or huge, names differ only in case or by letters that look alike. The rest spoil the bytes.
"""

from __future__ import annotations

import csv
import io
import json
import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from tests.requirements.folders import CIRCUITS, SCENARIO

ODD = (
    "", " ", "0 A", "-1 A", "6 A", "6,5 A", "6.5 A", "1e99 A", "1e-99 A", "nan A", "inf A", "NaN", "Infinity", "6",
    "14 AWG", "2.5 mm2", "99999999 m", "0.0000001 m", "1 m; 2 m", "front: 1 m; rear: 2 m", "yes", "no", "battery;key",
    "Battery", "bаttery", "LAMP", "lаmp", "lamp@row", "front/1/A/1", "../../etc/passwd", "/etc/passwd",
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "=1+1", "+1", "-1", "@SUM(A1)", "=HYPERLINK(\"x\")",
    "\u202egnp", "\u200b", "x" * 5000, "é", "e\u0301", "١٢ A", "12\u00a0A", "💡", "true", "2 x 21 W + 5 W", "100 %",
)  # fmt: skip
"""Words of which each once broke a program somewhere."""
NUMBERS = (0, 1, -1, 2, 7, 10**6, 10**18, 10**400, -(10**18), 0.1, 1e308, float("inf"), float("nan"), True)


@dataclass(frozen=True)
class Mutant:
    """A folder's files by name, and what was done to them."""

    files: dict[str, bytes]
    story: str


Change = Callable[[random.Random, bytes], bytes]


def scenario_mutant(seed: int) -> Mutant:
    """Return a scenario folder with one to four changes; the table of circuits is text or a workbook."""
    chance = random.Random(seed)
    files = {"scenario.toml": SCENARIO.encode(), "circuits.csv": CIRCUITS.encode()}
    stories = []
    for _ in range(chance.randint(1, 4)):
        name = chance.choice(sorted(files))
        changes = TOML_CHANGES if name.endswith("toml") else CSV_CHANGES
        change = chance.choice(changes)
        files[name] = change(chance, files[name])
        stories.append(f"{name}: {change.__name__}")
    if chance.random() < 0.2:
        files["circuits.xlsx"] = workbook(files.pop("circuits.csv"))
        stories.append("as a workbook")
        if chance.random() < 0.3:
            files["circuits.xlsx"] = spoilt_bytes(chance, files["circuits.xlsx"])
    return Mutant(files, "; ".join(stories))


def plan_mutant(seed: int, plan: bytes) -> Mutant:
    """Return a plan.json with one to four changes."""
    chance = random.Random(seed)
    stories = []
    for _ in range(chance.randint(1, 4)):
        change = chance.choice(JSON_CHANGES)
        plan = change(chance, plan)
        stories.append(change.__name__)
    return Mutant({"plan.json": plan}, "; ".join(stories))


def write_mutant(mutant: Mutant, folder: Path) -> Path:
    """Write the files into a folder, made anew."""
    folder.mkdir(parents=True)
    for name, content in mutant.files.items():
        (folder / name).write_bytes(content)
    return folder


# --- bytes of any file


def spoilt_bytes(chance: random.Random, content: bytes) -> bytes:
    """Overwrite, drop or double a few bytes."""
    data = bytearray(content)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(data) + 1)
        kind = chance.randrange(3)
        if kind == 0:
            data[at : at + 1] = bytes([chance.randrange(256)])
        elif kind == 1:
            del data[at : at + chance.randint(1, 20)]
        else:
            data[at:at] = data[at : at + 20]
    return bytes(data)


def cut_short(chance: random.Random, content: bytes) -> bytes:
    """End the file early."""
    return content[: chance.randrange(len(content) + 1)]


def other_encoding(chance: random.Random, content: bytes) -> bytes:
    """Write it in another encoding, or with a mark of byte order."""
    text = content.decode("utf-8", "replace")
    return chance.choice(
        (b"\xef\xbb\xbf" + content, text.encode("utf-16"), text.encode("latin-1", "replace"), b"\x00" + content)
    )


def other_line_ends(chance: random.Random, content: bytes) -> bytes:
    """End lines as other systems do."""
    return content.replace(b"\n", chance.choice((b"\r\n", b"\r", b"\n\n", b"\x0b")))


# --- scenario.toml


def _lines(content: bytes) -> list[str]:
    return content.decode("utf-8", "replace").split("\n")


def _joined(lines: Sequence[str]) -> bytes:
    return "\n".join(lines).encode("utf-8", "surrogatepass")


def other_value(chance: random.Random, content: bytes) -> bytes:
    """Give a field a value that another field of the file has, or an odd one."""
    lines = _lines(content)
    fields = [index for index, line in enumerate(lines) if " = " in line]
    if not fields:
        return content
    at = chance.choice(fields)
    name = lines[at].split(" = ", 1)[0]
    kind = chance.randrange(3)
    if kind == 0:
        value = lines[chance.choice(fields)].split(" = ", 1)[-1]
    elif kind == 1:
        value = json.dumps(chance.choice(ODD), ensure_ascii=False)
    else:
        value = str(chance.choice(NUMBERS)).lower()
    lines[at] = f"{name} = {value}"
    return _joined(lines)


def other_number(chance: random.Random, content: bytes) -> bytes:
    """Make a number in a value larger or smaller, and leave its unit."""
    text = content.decode("utf-8", "replace")
    found = list(re.finditer(r'"(\d+(?:\.\d+)?) ([^"]*)"', text))
    if not found:
        return content
    match = chance.choice(found)
    number = float(match[1]) * chance.choice((0, 0.001, 0.1, 0.5, 1.5, 2, 10, 1000))
    return (text[: match.start()] + f'"{number:g} {match[2]}"' + text[match.end() :]).encode("utf-8", "surrogatepass")


def other_blocks(chance: random.Random, content: bytes) -> bytes:
    """Drop, double or move a table."""
    blocks = content.decode("utf-8", "replace").split("\n\n")
    at = chance.randrange(len(blocks))
    kind = chance.randrange(3)
    if kind == 0:
        del blocks[at]
    elif kind == 1:
        blocks.append(blocks[at])
    else:
        blocks.insert(0, blocks.pop(at))
    return "\n\n".join(blocks).encode("utf-8", "surrogatepass")


def more_rules(chance: random.Random, content: bytes) -> bytes:
    """Add rules that clash, or that name what is not there."""
    rules = (
        '[rules]\nobjective = ["price"]', '[rules]\nobjective = [{ goal = "bays", cap = 1 }]',
        "[rules]\nuse_stock = true", '[rules]\nloading_factor = "0.1 %"', '[rules]\nhot_share = "1 %"',
        '[[rules.spares]]\nfuse_format = "F"\ncount = 100', '[[rules.spares]]\nfuse_format = "E"\ncount = 3',
        '[[rules.apart]]\ncircuits = ["lamp", "pump"]\nlevel = "feed"',
        '[[rules.together]]\ncircuits = ["lamp", "switch"]\nlevel = "row"',
        '[[rules.apart]]\ncircuits = ["lamp", "lamp"]\nlevel = "row"',
        '[rules.figures]\nmotor_stall = 7', '[rules.figures]\nampacity = { "2.5 mm2" = { "105 degC" = "1 A" } }',
        'catalogue = "../catalogue.toml"', 'catalogue = "/etc/hostname"', 'catalogue = "scenario.toml"',
        "a = " + "[" * 2000 + "]" * 2000, "b." * 1500 + "c = 1", '[[feeds]]\nname = "third"\nkind = "switched"\n'
        'rating = "20 A"\nsource = "key"\nfuse_format = "F"\nhome = "front"',
        '[[wire_colours]]\ncolour = "red"', '[document]\nrevision = "B"\ndate = "2025-02-30"',
    )  # fmt: skip
    rule = chance.choice(rules)
    text = content.decode("utf-8", "replace")
    both = f"{rule}\n\n{text}" if rule[0] not in "[" else f"{text}\n{rule}\n"
    return both.encode("utf-8", "surrogatepass")


# --- circuits.csv


def _table(content: bytes) -> list[list[str]]:
    return [row for row in csv.reader(content.decode("utf-8", "replace").replace("\x00", "").splitlines()) if row]


def _written(rows: Sequence[Sequence[str]], delimiter: str = ",") -> bytes:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def other_cells(chance: random.Random, content: bytes) -> bytes:
    """Change a cell to another one of its column, of the table, or to an odd one."""
    rows = _table(content)
    if len(rows) < 2 or not all(rows):
        return content
    row = chance.choice(rows[1:])
    at = chance.randrange(len(row))
    other = chance.choice(rows)
    row[at] = chance.choice((chance.choice(ODD), other[min(at, len(other) - 1)], chance.choice(other)))
    return _written(rows)


def other_rows(chance: random.Random, content: bytes) -> bytes:
    """Drop, double, move or rename a row."""
    rows = _table(content)
    if len(rows) < 2:
        return content
    at = chance.randrange(1, len(rows))
    kind = chance.randrange(4)
    if kind == 0:
        del rows[at]
    elif kind == 1:
        rows.append(list(rows[at]))
    elif kind == 2:
        rows.append([rows[at][0].upper(), *rows[at][1:]])
    else:
        rows.append([rows[at][0] + str(chance.randrange(100)), *rows[at][1:]])
    return _written(rows)


def other_columns(chance: random.Random, content: bytes) -> bytes:
    """Drop, double, rename or move a column."""
    rows = _table(content)
    if not rows:
        return content
    at = chance.randrange(len(rows[0]))
    kind = chance.randrange(4)
    for number, row in enumerate(rows):
        if at >= len(row):
            continue
        if kind == 0:
            del row[at]
        elif kind == 1:
            row.append(row[at])
        elif kind == 2 and number == 0:
            row[at] = chance.choice((row[at].upper(), f" {row[at]} ", "volts", "=id", ""))
        elif kind == 3:
            row.insert(0, row.pop(at))
    return _written(rows)


def as_semicolons(chance: random.Random, content: bytes) -> bytes:
    """Write it as some spreadsheets do: semicolons, and commas in numbers."""
    rows = [[re.sub(r"(\d)\.(\d)", r"\1,\2", cell) for cell in row] for row in _table(content)]
    return _written(rows, ";")


def many_rows(chance: random.Random, content: bytes) -> bytes:
    """Go on for hundreds of rows."""
    rows = _table(content)
    if len(rows) < 2:
        return content
    more = [[f"{rows[-1][0]}{number}", *rows[-1][1:]] for number in range(chance.choice((3, 3, 12, 12, 12, 60)))]
    return _written([*rows, *more])


def workbook(content: bytes) -> bytes:
    """Return a table as an XLSX file; numbers become numbers, and formulas formulas."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in _table(content):
        sheet.append([_cell(cell) for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _cell(text: str) -> str | float:
    clean = "".join(letter for letter in text if letter >= " ")[:30000]
    return float(clean) if re.fullmatch(r"\d{1,9}", clean) else clean


# --- plan.json


def other_node(chance: random.Random, content: bytes) -> bytes:
    """Change, drop, double or swap any part of the document."""
    try:
        data = json.loads(content)
    except (ValueError, RecursionError):
        return content
    paths = list(_paths(data, ()))
    if not paths:
        return content
    path = chance.choice(paths)
    parent = data
    for key in path[:-1]:
        parent = parent[key]
    kind = chance.randrange(5)
    if kind == 0:
        del parent[path[-1]]
    elif kind == 1:
        parent[path[-1]] = chance.choice(ODD)
    elif kind == 2:
        parent[path[-1]] = chance.choice(NUMBERS)
    elif kind == 3 and isinstance(parent, list):
        parent.append(parent[path[-1]])
    else:
        other = data
        for key in chance.choice(paths):
            other = other[key]
        parent[path[-1]] = other if not isinstance(other, dict | list) else json.loads(json.dumps(other))
    return json.dumps(data, ensure_ascii=False).encode("utf-8", "surrogatepass")


def other_place(chance: random.Random, content: bytes) -> bytes:
    """Move something in the panel: give a way, socket or piece the place or the feed of another."""
    try:
        data = json.loads(content)
        table = data[chance.choice(("ways", "sockets", "pieces", "modules"))]
        first, second = chance.choice(table), chance.choice(table)
        field = chance.choice(sorted(first))
        first[field], second[field] = second[field], first[field]
    except (ValueError, RecursionError, KeyError, TypeError, IndexError, AttributeError):
        return content
    return json.dumps(data, ensure_ascii=False).encode("utf-8", "surrogatepass")


def deep(chance: random.Random, content: bytes) -> bytes:
    """Nest far deeper than anybody would."""
    depth = chance.choice((50, 3000, 100_000))
    return content.replace(b"[", b"[" * depth, 1) if chance.random() < 0.5 else b'{"a":' * depth


def _paths(data: Any, path: tuple[Any, ...]) -> list[tuple[Any, ...]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [*([path] if path else []), *(found for key, value in inner for found in _paths(value, (*path, key)))]


KEEPING = (other_value, other_number, other_number, other_blocks, more_rules)
SPOILING = (spoilt_bytes, cut_short, other_encoding, other_line_ends)
TOML_CHANGES: tuple[Change, ...] = (*KEEPING * 3, *SPOILING)
CSV_CHANGES: tuple[Change, ...] = (*(other_cells, other_rows, other_columns, as_semicolons, many_rows) * 3, *SPOILING)
JSON_CHANGES: tuple[Change, ...] = (*(other_node, other_place, other_place) * 6, deep, *SPOILING)
