"""What is placed where on the drawing: front, wiring side, sheets and tables, read from the finished SVG."""

from __future__ import annotations

import pytest

from allocator.address import parse_place
from allocator.outputs.arrangement import stretches
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.layout import layout_sheets
from allocator.outputs.lettering import ELLIPSIS
from allocator.outputs.schedule import wires_table
from allocator.outputs.sheet import Sheet
from tests.outputs.conftest import charts_of, content_of, drawn, marked
from tests.outputs.svg_reading import Bounds, SvgDrawing

SLACK_MM = 0.2
PLAIN = ("small", "large", "wide")


def _named(sample: str, side: str, kind: str) -> dict[str, tuple[Sheet, SvgDrawing, Bounds]]:
    """Return shapes of one side and kind by their address."""
    start = f"{side}_{kind}_"
    return {
        name.removeprefix(start): (sheet, svg, bounds)
        for sheet, svg in drawn(sample)
        for name, bounds in svg.bounds_by_id.items()
        if name.startswith(start)
    }


def _texts_in(sheet: Sheet, svg: SvgDrawing, box: Bounds) -> list[str]:
    return [
        text.wanted
        for text in sheet.texts
        if all(svg.bounds_by_id[name].inside(box, SLACK_MM) for name in text.ids if name in svg.bounds_by_id)
    ]


@pytest.mark.parametrize("sample", PLAIN)
def test_every_way_of_every_module_is_drawn_once_on_each_side(sample: str) -> None:
    index = content_of(sample).index
    ways = {
        f"{item.panel}/{item.bay}/{'ABCDEF'[number]}/{way}"
        for item in index.modules
        for number, row in enumerate(item.module.rows)
        for way in range(1, row.ways + 1)
    }
    sockets = {f"{item.panel}/{item.bay}/S{n}" for item in index.modules for n in range(1, len(item.sockets) + 1)}
    for side in ("front", "wiring"):
        assert set(_named(sample, side, "way")) == ways
        assert set(_named(sample, side, "socket")) == sockets


@pytest.mark.parametrize("sample", PLAIN)
def test_a_used_way_shows_number_rating_format_label_and_relay(sample: str) -> None:
    content = content_of(sample)
    front = _named(sample, "front", "way")
    for item in content.index.needs:
        if item.way is None:
            continue
        texts = _texts_in(*front[str(item.way)])
        assert texts[0] == str(item.way.first)
        assert texts[1] == (f"{item.option.fuse_rating_a:g}" if item.option.fuse else "–")
        assert texts[2] == item.option.fuse_format
        assert texts[-1] == content.label(item.need)
        if item.socket is not None:
            place = f"S{item.socket.socket}" if item.jumper == "short" else f"{item.socket.bay}/S{item.socket.socket}"
            assert texts[3] == place


@pytest.mark.parametrize("sample", PLAIN)
def test_the_wiring_side_names_wire_size_and_what_it_feeds(sample: str) -> None:
    content = content_of(sample)
    back = _named(sample, "wiring", "way")
    for item in content.index.needs:
        if item.way is None:
            continue
        texts = _texts_in(*back[str(item.way)])
        runs = content.runs_at.get((str(item.way), "output"), ())
        if item.need.kind == "spare":
            assert texts[-1] == "spare, no wire" and not runs
            continue
        assert texts[1] == content.letter_by_terminal[content.terminal_at(str(item.way), "output")]
        assert texts[2].split()[0] == runs[0].number
        assert texts[-1].endswith(content.label(item.need))
        assert (item.socket is not None) == texts[-1].startswith("to ") or item.need.kind == "feed"


@pytest.mark.parametrize("sample", marked(*PLAIN, "many", "small-any-script", "large-any-script"))
def test_the_wiring_side_names_every_wire_of_every_output_with_its_size_and_colour(sample: str) -> None:
    content = content_of(sample)
    most = 0
    for place, (sheet, svg, box) in _named(sample, "wiring", "way").items():
        runs = content.runs_at.get((place, "output"), ())
        most = max(most, len(runs))
        words = " ".join(_texts_in(sheet, svg, box)).replace(NO_BREAK, " ").split(" ")
        for run in runs:
            assert run.number in words
            size, colour = content.area_text(run.wire).split(NO_BREAK), content.look_by_run[run.number].code
            looks = [" ".join([*size, colour]), " ".join([*size, colour.replace("/", "/ ")])]
            assert any(look in " ".join(words) for look in looks)
    assert most >= 2


@pytest.mark.parametrize("sample", marked(*PLAIN, "many", "small-any-script", "large-any-script"))
def test_the_wiring_side_names_wire_and_terminal_at_every_tab_of_every_socket(sample: str) -> None:
    """Kinds of terminals by their letters, which the wire table of the same document explains."""
    content = content_of(sample)
    letters = set(content.letter_by_terminal.values())
    told = 0
    for place, (sheet, svg, box) in _named(sample, "wiring", "socket").items():
        words = " ".join(_texts_in(sheet, svg, box)).replace(NO_BREAK, " ")
        for (at, tab), runs in content.runs_at.items():
            if at != place:
                continue
            letter = content.letter_by_terminal[content.terminal_at(place, tab)]
            for run in runs:
                size, colour = content.area_text(run.wire).replace(NO_BREAK, " "), content.look_by_run[run.number].code
                here = run.start if (run.start.place, run.start.cavity) == (at, tab) else run.end
                kind = letter if here.terminal else "splice"
                assert f"{run.number} {size} {colour}, {kind}: " in words
                told += 1
    assert told and letters == {
        cell.split()[0] for row in wires_table(content).rows for cell in (row[2], row[4]) if cell not in ("", "splice")
    }


@pytest.mark.parametrize("sample", PLAIN)
def test_the_wiring_side_mirrors_the_front(sample: str) -> None:
    """Every way and socket of a stretch lies as far from its right edge behind as from its left edge in front."""
    for kind in ("way", "socket", "module"):
        front, back = _named(sample, "front", kind), _named(sample, "wiring", kind)
        content = content_of(sample)
        for panel in content.index.panels:
            for stretch in stretches(content.index, panel, 6):
                names = [name for name in front if name.split("/")[0] == panel and int(name.split("/")[1]) in stretch]
                sums = [
                    (front[name][2].left + front[name][2].right + back[name][2].left + back[name][2].right)
                    for name in names
                ]
                assert max(sums, default=0) - min(sums, default=0) < SLACK_MM
                for name in names:
                    ahead, behind = front[name][2], back[name][2]
                    assert ahead.right - ahead.left == pytest.approx(behind.right - behind.left, abs=SLACK_MM)


@pytest.mark.parametrize("sample", PLAIN)
@pytest.mark.parametrize("side", ["front", "wiring"])
def test_a_bar_covers_the_ways_of_its_piece_in_its_feeds_colour(sample: str, side: str) -> None:
    content = content_of(sample)
    bars, ways = _named(sample, side, "entry"), _named(sample, side, "way")
    for entry in content.index.entries:
        if entry.row is None:
            continue
        _, svg, bar = bars[f"{entry.piece.at}_{entry.row}"]
        row = entry.piece.at.rsplit("/", 1)[0]
        cells = [ways[f"{row}/{way}"][2] for way in entry.ways]
        left, right = min(cell.left for cell in cells), max(cell.right for cell in cells)
        if entry.piece.kind == "strip":
            assert (bar.left, bar.right) == pytest.approx((left, right), abs=SLACK_MM)
        else:
            assert left < bar.left < bar.right < right
        assert all(bar.bottom <= cell.top for cell in cells)
        mark = content.marks[entry.piece.feed]
        name = f"{side}_entry_{entry.piece.at}_{entry.row}"
        assert mark.colour in svg.style_of(name) or mark.pattern


@pytest.mark.parametrize("sample", PLAIN)
@pytest.mark.parametrize("side", ["front", "wiring"])
def test_a_long_bar_says_its_feed_at_both_ends(sample: str, side: str) -> None:
    content = content_of(sample)
    bars = _named(sample, side, "entry")
    long = [entry for entry in content.index.entries if entry.row is not None and len(entry.ways) >= 6]
    for entry in long:
        sheet, svg, bar = bars[f"{entry.piece.at}_{entry.row}"]
        code = content.marks[entry.piece.feed].code
        assert _texts_in(sheet, svg, bar) == [code]
        above = Bounds(bar.left, bar.top - 5.5, bar.right, bar.top)
        assert any(code in text for text in _texts_in(sheet, svg, above))
    assert long


@pytest.mark.parametrize("sample", PLAIN)
def test_a_strip_piece_says_its_ways_its_load_and_its_limit(sample: str) -> None:
    content = content_of(sample)
    texts = {text.wanted.replace(NO_BREAK, " ") for sheet, _ in drawn(sample) for text in sheet.texts}
    for entry in content.index.entries:
        if entry.piece.kind == "strip" and len(entry.ways) >= 6:
            peak, limit = content.entry_amounts(entry)
            start = f"{content.marks[entry.piece.feed].code} {entry.piece.feed}: {len(entry.ways)} ways, "
            tail = content.index.tail_of(entry)
            fuse = f", {tail.protection_a:g} A {tail.fuse.split('-')[1].upper()} in its tail" if tail.fuse else ""
            assert f"{start}{peak / 1000:.3g} A of {limit / 1000:.3g} A{fuse}" in texts


@pytest.mark.parametrize("sample", PLAIN)
def test_pieces_of_a_row_are_parted(sample: str) -> None:
    content = content_of(sample)
    bars = _named(sample, "front", "entry")
    for first in content.index.entries:
        for second in content.index.entries:
            if first.row is not None and (first.at, first.row) == (second.at, second.row) and first.ways < second.ways:
                left = bars[f"{first.piece.at}_{first.row}"][2]
                right = bars[f"{second.piece.at}_{second.row}"][2]
                assert right.left - left.right > 0.3


def test_a_socket_tells_class_relay_fuse_and_terminals() -> None:
    content = content_of("large")
    front, back = _named("large", "front", "socket"), _named("large", "wiring", "socket")
    for item in content.index.needs:
        if item.socket is None or item.way is None:
            continue
        texts = _texts_in(*front[str(item.socket)])
        place = parse_place(str(item.way))
        assert f"fuse {place.bay}/{'ABCDEF'[place.row or 0]}/{place.first}, {item.jumper} jumper" in texts
        assert any(str(item.option.relay_class) in text for text in texts)
        designations = sorted(set(item.option.terminal_by_designation) - {"way"})
        assert sorted(text for text in texts if text in designations) == designations
        behind = _texts_in(*back[str(item.socket)])
        assert sorted(text for text in behind if text in designations) == designations


def test_what_is_free_is_told_from_what_is_spare() -> None:
    content = content_of("large")
    for side in ("front", "wiring"):
        for place, drawing in _named("large", side, "way").items():
            used = content.index.way_by_place.get(parse_place(place))
            label = _texts_in(*drawing)[-1]
            assert (label == "free, not fed") == (used is None)
            if used is not None and used.kind == "spare" and side == "front":
                assert label == f"spare on {content.marks[used.feed].code} {used.feed}"


def test_a_small_vehicle_has_one_sheet_with_both_sides_and_its_table() -> None:
    sheet, svg = drawn("small")[0]
    assert (sheet.width, sheet.height) == (297.0, 210.0)
    names = set(svg.bounds_by_id)
    assert "front_module_dash/1" in names and "wiring_module_dash/1" in names
    texts = {text.wanted for text in sheet.texts}
    assert "Ways and sockets" in texts
    assert {circuit.id for circuit in content_of("small").sized.requirements.circuits} <= texts


def test_a_small_panel_of_several_has_both_sides_beside_each_other_and_tables_below() -> None:
    front, back = (_named("many", side, "module")["tail/1"] for side in ("front", "wiring"))
    assert front[0] is back[0] and front[0].width == 420.0
    assert front[2].right < back[2].left and front[2].top == pytest.approx(back[2].top)
    title = next(text for text in front[0].texts if text.wanted == "Ways and sockets")
    assert title.box.y > front[2].bottom
    assert any(text.wanted == "panel tail: front and wiring side, tables" for text in front[0].texts)


def test_a_panel_of_more_than_six_bays_has_sheets_for_each_side() -> None:
    sides = [{name.split("_")[0] for name in svg.bounds_by_id if "_module_" in name} for _, svg in drawn("wide")[:2]]
    assert sides == [{"front"}, {"wiring"}]


def test_sheets_are_numbered_and_carry_the_cautions(sample_name: str) -> None:
    num_pages = sum(map(len, charts_of(sample_name).values()))
    sheets = [sheet for sheet, _ in drawn(sample_name)][:-num_pages]
    for number, sheet in enumerate(sheets, 1):
        texts = {text.wanted: text.fitted for text in sheet.texts}
        assert f"layout, sheet {number} of {len(sheets)}" in texts
        for said in (content_of(sample_name).issue_text, content_of(sample_name).supersedes_text):
            assert any(said in text for text in texts)
        cautions = next(fitted for text, fitted in texts.items() if text.startswith("This is a planning aid"))
        assert not cautions.shortened


@pytest.mark.parametrize("sample", ["large", "wide", "creek-workboat"])
def test_the_foot_lists_the_feeds_of_the_panels_that_are_drawn(sample: str) -> None:
    """And of a sheet of tables all of them; ``large`` and the workboat have feeds that do not enter every panel."""
    content = content_of(sample)
    lines = {
        f"{content.feed_name(feed.name)}, {feed.kind}, {feed.rating:g} A": feed.name
        for feed in content.sized.requirements.scenario.feeds
    }
    for sheet, svg in drawn(sample)[: len(layout_sheets(content))]:
        told = {lines[text.wanted] for text in sheet.texts if text.wanted in lines}
        places = [name for name in svg.bounds_by_id if name.startswith(("front_way_", "wiring_way_"))]
        panels = {name.split("_", 2)[2].partition("/")[0] for name in places}
        entered = {piece.feed for piece in content.plan.pieces if piece.at.partition("/")[0] in panels}
        assert told == (entered or set(lines.values()))


def test_a_label_that_no_font_draws_gives_way_to_the_id_and_is_listed() -> None:
    texts = {text.wanted for sheet, _ in drawn("small-any-script") for text in sheet.texts}
    assert "circuit-08" in texts
    assert any(text.startswith("circuit-08 (its label") for text in texts)


def test_long_labels_are_shortened_visibly_on_the_drawing_and_whole_in_the_table() -> None:
    content = content_of("large-long")
    cut = [text for sheet, _ in drawn("large-long") for text in sheet.texts if text.fitted.shortened]
    labels = {content.label(item.need) for item in content.index.needs}
    assert any(text.wanted in labels for text in cut)
    assert all(text.fitted.lines[-1].endswith(ELLIPSIS) for text in cut)


def test_sockets_without_rows_above_them_are_no_slender_columns() -> None:
    """Two heavy sockets share the height of a bay, one above the other; six micro ones stand two by two."""
    front = _named("wide", "front", "socket")
    across: dict[str, set[float]] = {}
    for place, (_, _, box) in front.items():
        across.setdefault(place.rpartition("/")[0], set()).add(round(box.left))
    for item in content_of("wide").index.modules:
        if not item.module.rows:
            assert len(across[f"{item.panel}/{item.bay}"]) == (1 if len(item.sockets) == 2 else 2)
            assert item.module.bays == 1


def test_stretches_end_with_a_carrier_where_that_takes_no_more_of_them() -> None:
    """A mount of one bay, a frame of four, a mount: even halves would cut the frame."""
    index = content_of("large").index
    assert stretches(index, "rear", 5) == ((1, 2, 3, 4, 5), (6,))
    assert stretches(index, "rear", 6) == ((1, 2, 3, 4, 5, 6),)


def test_stretches_are_even_and_never_cut_a_module() -> None:
    index = content_of("wide").index
    assert stretches(index, "deck", 6) == ((1, 2, 3, 4, 5, 6), (7, 8, 9, 10, 11, 12))
    assert stretches(index, "deck", 2) == ((1,), (2, 3), (4, 5), (6, 7), (8, 9), (10, 11), (12,))
    for most in range(1, 13):
        pieces = stretches(index, "deck", most)
        assert [bay for piece in pieces for bay in piece] == list(range(1, 13))
        assert all((2 in piece) == (3 in piece) for piece in pieces)
        assert max(map(len, pieces)) <= max(most, 2)
