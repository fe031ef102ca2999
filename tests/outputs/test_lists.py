"""parts.csv and wires.csv: every part and wire once, packs rounded up, nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections import Counter
from decimal import ROUND_UP, Decimal
from fractions import Fraction

import pytest

from allocator.outputs.cautions import CAUTIONS
from allocator.outputs.content import Content
from allocator.outputs.lists import WIRE_COLUMNS, parts_csv, wires_csv
from allocator.outputs.order import COLUMNS as PART_COLUMNS
from allocator.outputs.order import OrderLine
from allocator.outputs.records import REMARK, safe_cell
from allocator.plan.parts import bill_of
from allocator.plan.wiring import PREFIX
from allocator.requirements.catalogue import Carrier
from tests.outputs.conftest import content_of
from tests.plan.plans import small
from tests.verifying.hand_built import good

SAMPLES = ("small", "large", "wide", "hand")


def _content(name: str) -> Content:
    return Content(*good()) if name == "hand" else content_of(name)


def _rows(text: str) -> list[dict[str, str]]:
    rows = list(csv.DictReader(io.StringIO(text)))
    assert all(None not in row and None not in row.values() for row in rows)
    return rows


def _data(text: str, first: str) -> list[dict[str, str]]:
    return [row for row in _rows(text) if row[first] != REMARK]


@pytest.mark.parametrize("name", SAMPLES)
def test_parts_csv_lists_the_bill(name: str) -> None:
    content = _content(name)
    bill = bill_of(content.sized, content.plan)
    listed = _data(parts_csv(content), "part")
    rows = {row["part"]: row for row in listed}
    assert set(rows) == {*bill.parts, *bill.wire_mm, *bill.strip_ways}
    for part, number in bill.parts.items():
        assert (rows[part]["unit"], rows[part]["needed"]) == ("piece", str(number))
    for strip, ways in bill.strip_ways.items():
        stock = next(item for item in content.sized.requirements.catalogue.strips if item.id == strip)
        assert int(rows[strip]["needed"]) * stock.ways + sum(stock.offcuts) >= ways
        assert rows[strip]["unit"] == "length" and "ways: " in rows[strip]["note"]
    assert len(rows) == len({(row["part"], row["colour"]) for row in listed if not row["colour"]}) + len(bill.wire_mm)


@pytest.mark.parametrize("name", SAMPLES)
def test_wire_is_ordered_by_size_and_colour_as_it_is_cut(name: str) -> None:
    """The bill counts wires as they lie; the order adds what bends along the run and both crimps take."""
    content = _content(name)
    ordered = {(row["part"], row["colour"]): Decimal(row["needed"]) for row in _data(parts_csv(content), "part")}
    cut: Counter[tuple[str, str]] = Counter()
    for row in _data(wires_csv(content), "number"):
        cut[row["wire"], row["colour"]] += int(Decimal(row["cut_m"] or "0") * 1000)
    assert {kind: metres for kind, metres in ordered.items() if kind[1]} == {
        kind: Decimal(mm) / 1000 for kind, mm in cut.items()
    }


@pytest.mark.parametrize("name", SAMPLES)
def test_wires_to_measure_are_named_where_their_size_and_colour_is_ordered(name: str) -> None:
    """Who orders from the list alone gets the earth leads, too; a kind of which nothing is known has a line of 0 m."""
    content = _content(name)
    wires = _data(wires_csv(content), "number")
    to_measure = Counter((row["wire"], row["colour"]) for row in wires if not row["cut_m"])
    named = {
        (row["part"], row["colour"]): int(row["note"].split()[0])
        for row in _data(parts_csv(content), "part")
        if "to measure: not counted here, add their length" in row["note"]
    }
    assert named == to_measure


@pytest.mark.parametrize("name", SAMPLES)
def test_packs_cover_the_need_and_no_more(name: str) -> None:
    for row in _data(parts_csv(_content(name)), "part"):
        needed, stock, ordered = (Decimal(row[key]) for key in ("needed", "from_stock", "ordered"))
        assert Decimal(row["to_order"]) == needed - stock
        assert stock + ordered >= needed
        if int(row["packs"]):
            pack = ordered / int(row["packs"])
            assert stock + ordered - pack < needed
        assert Decimal(row["order_price"]) == ordered * Decimal(row["unit_price"])


def test_stock_is_deducted_before_packs_are_rounded_up() -> None:
    part = {
        "id": "x",
        "label": "x",
        "price": "0.50",
        "pack": 10,
        "stock": 5,
        "bays": 1,
        "width": "1 mm",
        "height": "1 mm",
    }
    line = OrderLine(Carrier.model_validate(part), "piece", Fraction(16), Fraction(5))
    assert (int(line.from_stock), line.packs, line.order_cents) == (5, 2, 1000)
    covered = OrderLine(line.part, "piece", Fraction(5), Fraction(5))
    assert (int(covered.from_stock), covered.packs, covered.order_cents) == (5, 0, 0)


@pytest.mark.parametrize("name", SAMPLES)
def test_wires_add_up_to_the_bill(name: str) -> None:
    content = _content(name)
    lengths: Counter[str] = Counter()
    for row in _data(wires_csv(content), "number"):
        lengths[row["wire"]] += int(Decimal(row["length_m"] or "0") * 1000)
    assert +lengths == dict(bill_of(content.sized, content.plan).wire_mm)


@pytest.mark.parametrize("name", SAMPLES)
def test_wires_are_numbered_within_their_kind(name: str) -> None:
    numbers: dict[str, list[str]] = {}
    for row in _data(wires_csv(_content(name)), "number"):
        numbers.setdefault(row["kind"], []).append(row["number"])
    for kind, found in numbers.items():
        assert found == [f"{PREFIX[kind]}{number}" for number in range(1, len(found) + 1)]  # type: ignore[index]


@pytest.mark.parametrize("name", SAMPLES)
def test_terminals_at_the_panel_are_those_of_the_bill(name: str) -> None:
    """Rings, inlets and tabs named in the wire list are no more than the bill counts, and all inlets are there."""
    content = _content(name)
    bill = bill_of(content.sized, content.plan)
    named: Counter[str] = Counter()
    seen = set()
    for row in _data(wires_csv(content), "number"):
        for end in ("from", "to"):
            place = row[f"{end}_place"], row[f"{end}_cavity"]
            if row[f"{end}_terminal"] and (place not in seen or place[1] in ("stud", "")):
                seen.add(place)
                named[row[f"{end}_terminal"]] += 1
    assert all(number <= bill.parts[terminal] for terminal, number in named.items())
    ends = {row["to_place"] for row in _data(wires_csv(content), "number") if row["kind"] in ("tail", "cable")}
    assert {entry.piece.at for entry in content.index.entries} <= ends


def test_both_ends_of_a_jumper() -> None:
    content = Content(*small())
    jumpers = {row["circuit"]: row for row in _data(wires_csv(content), "number") if row["kind"] == "jumper"}
    pump, key = jumpers["pump"], jumpers["key"]
    assert (pump["from_place"], pump["from_cavity"]) == ("cabin/1/A/2", "output")
    assert (pump["to_place"], pump["to_cavity"], pump["note"], pump["length_m"]) == (
        "cabin/2/S2",
        "30",
        "long",
        "0.500",
    )
    assert (key["from_place"], key["to_place"], key["note"], key["length_m"]) == (
        "cabin/2/A/1", "cabin/2/S1", "short", "0.100",
    )  # fmt: skip


def test_the_cable_of_a_branch_begins_at_its_relay() -> None:
    rows = _data(wires_csv(Content(*small())), "number")
    cables = {row["feed"]: row for row in rows if row["kind"] == "cable"}
    assert (cables["key"]["from_place"], cables["key"]["from_cavity"]) == ("cabin/2/S1", "87")
    assert cables["battery"]["from_place"] == "supply, main fuse of battery"


@pytest.mark.parametrize("name", SAMPLES)
def test_lists_carry_notice_and_cautions(name: str) -> None:
    content = _content(name)
    for text, columns in ((parts_csv(content), PART_COLUMNS), (wires_csv(content), WIRE_COLUMNS)):
        assert text.splitlines()[0] == ",".join(column.name for column in columns)
        remarks = [list(row.values())[1] for row in _rows(text) if row[columns[0].name] == REMARK]
        assert content.sized.requirements.catalogue.notice in remarks
        assert set(CAUTIONS) <= set(remarks)


@pytest.mark.parametrize("text", ["=1+1", "+49", "-3", "@sum", "\t=1", "  =1", "\r=1"])
def test_no_cell_is_a_formula(text: str) -> None:
    assert safe_cell(text).startswith("'")


def test_labels_that_look_like_formulas_are_harmless_in_the_files() -> None:
    sized, plan = small()
    horn = sized.requirements.circuits[1]
    evil = horn.model_copy(update={"label": '=HYPERLINK("x")'})
    circuits = tuple(evil if circuit is horn else circuit for circuit in sized.requirements.circuits)
    needs = tuple(
        type(need)(**{**{f: getattr(need, f) for f in need.__slots__}, "label": '=HYPERLINK("x")'})
        for need in sized.needs
    )
    changed = type(sized)(
        sized.requirements.model_copy(update={"circuits": circuits}), needs, sized.feeds, sized.entries,
        sized.row_limit_ma, sized.module_limit_ma,
    )  # fmt: skip
    for text in (wires_csv(Content(changed, plan)), parts_csv(Content(changed, plan))):
        for row in csv.reader(io.StringIO(text)):
            assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)


@pytest.mark.parametrize("name", SAMPLES)
def test_wire_sold_in_less_than_the_longest_piece_is_to_come_in_one_length(name: str) -> None:
    """14 lengths of 1 m make no cable of 4.96 m."""
    content = _content(name)
    packs = {wire.id: wire.pack for wire in content.sized.requirements.catalogue.wires}
    longest: dict[tuple[str, str], Decimal] = {}
    for row in _data(wires_csv(content), "number"):
        key = row["wire"], row["colour"]
        longest[key] = max(longest.get(key, Decimal(0)), Decimal(row["cut_m"] or "0"))
    told = 0
    for row in _data(parts_csv(content), "part"):
        piece_m = longest.get((row["part"], row["colour"]))
        rounded = (piece_m or Decimal(0)).quantize(Decimal("0.01"), ROUND_UP)
        words = f"the longest piece is {rounded} m: order lengths of at least that, in one piece"
        is_long = piece_m is not None and piece_m > packs[row["part"]]
        assert (words in row["note"]) == is_long == ("longest piece" in row["note"])
        told += is_long
    assert told or name == "hand"
