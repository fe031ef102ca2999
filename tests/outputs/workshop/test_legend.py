"""Lid legends at real size, and a label for each end of every wire."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from matplotlib.textpath import TextPath

from allocator.outputs.content import Content
from allocator.outputs.fonts import font_of
from allocator.outputs.lettering import ELLIPSIS
from allocator.outputs.sheet import Sheet
from allocator.outputs.workshop.labels import label_sheets
from allocator.outputs.workshop.legend import _column, _Line, legend_covers, legend_sheets
from allocator.outputs.workshop.lid_type import (
    CAPITAL_EM,
    LEAST_SIZE_PT,
    SIZE_PT,
    WARNING,
    least_letter_mm,
    letter_mm,
)
from allocator.sizing import size
from tests.outputs.conftest import content_of, read_back
from tests.outputs.packer import Packer
from tests.outputs.samples import SMALL, requirements_of


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_each_cover_has_a_picture_of_exactly_its_size(name: str) -> None:
    content = content_of(name)
    covers = legend_covers(content)
    assert len(covers) == len(content.index.carriers)
    for sheet, carrier in zip(covers.values(), content.index.carriers, strict=True):
        page = read_back(sheet).page
        assert (page.right, page.bottom) == pytest.approx((carrier.carrier.width, carrier.carrier.height), abs=0.01)


def test_a_cover_of_another_size_than_its_carrier_gets_a_legend_of_that_size() -> None:
    requirements = requirements_of(SMALL)
    carriers = tuple(
        item.model_copy(update={"cover_width": 104.0, "cover_height": 96.0}) if item.id == "mount-2" else item
        for item in requirements.catalogue.carriers
    )
    catalogue = requirements.catalogue.model_copy(update={"carriers": carriers})
    sized = size(requirements.model_copy(update={"catalogue": catalogue}))
    content = Content(sized, Packer(sized, SMALL).plan())
    (cover,) = legend_covers(content).values()
    assert (cover.width, cover.height) == (104.0, 96.0)
    for sheet in (cover, *legend_sheets(content)):
        assert all(text.fitted.lines for text in sheet.texts)
    box = next(text.box for text in legend_sheets(content)[0].texts if WARNING in text.wanted)
    assert box.w == pytest.approx(104.0 - 2)


@pytest.mark.parametrize("name", ["small", "library-bus"])
def test_what_warns_and_what_a_lid_is_of_is_never_cut(name: str) -> None:
    """Not on a part of one bay of a legend that is wider than the paper either."""
    for sheet in (*legend_covers(content_of(name)).values(), *legend_sheets(content_of(name))):
        feet = [text for text in sheet.texts if WARNING in text.wanted or "supersedes" in text.wanted]
        assert feet and not [text for text in feet if text.fitted.shortened or not text.fitted.lines]


@pytest.mark.parametrize("name", ["small", "library-bus"])
def test_every_way_and_socket_is_on_the_lid(name: str) -> None:
    content = content_of(name)
    texts = Counter(text.wanted for sheet in legend_sheets(content) for text in sheet.texts)
    for item in content.index.needs:
        if item.need.kind != "spare":
            assert texts[content.label(item.need)] >= (item.way is not None) + (item.socket is not None)
    assert sum(number for text, number in texts.items() if WARNING in text) >= len(content.index.carriers)
    feet = [text for text in texts if text.startswith(content.vehicle) and content.issue_text in text]
    assert feet and all(content.supersedes_text in text for text in feet)


def test_letters_can_be_read_at_arm_s_length() -> None:
    """16 minutes of arc, the least of ISO 9241-3, at 60 cm are 2.8 mm; a capital is as high as said."""
    assert least_letter_mm() == pytest.approx(2.79, abs=0.01)
    assert letter_mm(SIZE_PT) > letter_mm(LEAST_SIZE_PT) > least_letter_mm()
    height = TextPath((0, 0), "H", size=100, prop=font_of("H")).get_extents().height
    assert height / 100 == pytest.approx(CAPITAL_EM, abs=0.002)


@pytest.mark.parametrize("name", ["large", "large-long", "large-any-script", "creek-workboat"])
def test_no_way_or_socket_of_a_cover_has_lower_letters(name: str) -> None:
    """Labels, amperes and numbers; a label that is too long is cut and says so. The foot is read from nearby."""
    content = content_of(name)
    for sheet in legend_covers(content).values():
        *ways, issue, warning = sheet.texts
        assert content.number in issue.wanted and warning.wanted == WARNING
        assert [text.wanted for text in ways if text.fitted.size_pt < LEAST_SIZE_PT] == []
        labels = [text for text in ways if text.wanted in {content.label(item.need) for item in content.index.needs}]
        assert all(text.fitted.shortened == text.fitted.lines[-1].endswith(ELLIPSIS) for text in labels)


def test_two_long_rows_of_a_wide_module_stand_beside_each_other() -> None:
    """15 ways above 15 and two headings are too much for one column: no label vanishes or gets lower for it."""
    sample = replace(SMALL, num_circuits=30, modules={"dash": ("wide-c15",)}, relays=False, spares=())
    sized = size(requirements_of(sample))
    content = Content(sized, Packer(sized, sample).plan())
    (cover,) = legend_covers(content).values()
    texts = {text.wanted: text for text in cover.texts}
    for circuit in sized.requirements.circuits:
        assert texts[circuit.label].fitted.lines and texts[circuit.label].fitted.size_pt >= LEAST_SIZE_PT
    first, second = (texts[f"1/{row}, type C, A"].box for row in "AB")
    assert first.right < second.x and first.y == second.y


@pytest.mark.parametrize("lines", [1, 4, 40])
def test_lines_that_are_too_many_get_lower_and_never_vanish(lines: int) -> None:
    """A single row of 40 ways on a cover of 118 mm."""
    heads = [_Line("", "1/A, type C, A")]
    sheet = Sheet((56.0, 110.0))
    _column(sheet, [*heads, *(_Line(str(n), f"Lamp {n}", 10.0) for n in range(1, lines + 1))], sheet.page)
    assert all(text.fitted.lines for text in sheet.texts)


@pytest.mark.parametrize("name", ["large", "creek-workboat"])
def test_every_fuse_of_a_cover_says_its_amperes(name: str) -> None:
    content = content_of(name)
    texts = Counter(text.wanted for sheet in legend_covers(content).values() for text in sheet.texts)
    ratings = Counter(f"{item.option.fuse_rating_a:g}" for item in content.index.needs if item.way and item.option.fuse)
    numbers = Counter(
        str(way) for item in content.index.modules for row in item.module.rows for way in range(1, row.ways + 1)
    )
    assert {text: texts[text] for text in ratings} == {text: ratings[text] + numbers[text] for text in ratings}


def test_a_part_of_one_bay_of_a_legend_is_named_by_that_bay() -> None:
    texts = [text.wanted for sheet in legend_sheets(content_of("large")) for text in sheet.texts]
    heads = [text.partition(", bay")[2].partition(":")[0] for text in texts if "cut out" in text and "part" in text]
    assert heads == ["s 1 to 5, part 1 of 2", " 6, part 2 of 2"]


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_every_wire_has_a_label_for_each_end(name: str) -> None:
    """And one more for the holder in it, where it has one."""
    content = content_of(name)
    texts = Counter(text.wanted for sheet in label_sheets(content) for text in sheet.texts)
    assert {run.number: texts[run.number] for run in content.runs} == {
        run.number: 2 + (run.inline is not None) for run in content.runs
    }
