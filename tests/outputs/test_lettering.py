"""Text fits its box: as large as it goes, then wrapped, then torn, then shortened."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.outputs.fonts import MM_PER_PT, NO_BREAK, clean, drawable, families_of, legible, width_em
from allocator.outputs.lettering import ELLIPSIS, fit
from allocator.outputs.sheet import Sheet
from tests.outputs.conftest import read_back

MM = st.floats(min_value=0.5, max_value=60)


@given(text=st.text(alphabet=st.characters(codec="latin-1"), max_size=60), width=MM, height=MM, lines=st.integers(1, 5))
def test_what_is_fitted_stays_inside(text: str, width: float, height: float, lines: int) -> None:
    text = drawable(text)
    fitted = fit(text, width, height, largest_pt=8, smallest_pt=5, max_lines=lines)
    assert len(fitted.lines) <= lines
    assert fitted.height_mm <= height + 1e-9 or not fitted.lines
    for line in fitted.lines:
        assert width_em(line) * fitted.size_pt * MM_PER_PT <= width + 0.05 or line == ELLIPSIS
    written = solid("".join(fitted.lines))
    if fitted.shortened:
        assert not fitted.lines or written.endswith(ELLIPSIS)
        assert solid(text).startswith(written.removesuffix(ELLIPSIS))
    else:
        assert written == solid(text)


def solid(text: str) -> str:
    """Leave out spaces: a line ends without one, and in a box too narrow for a number and its unit that one too."""
    return text.replace(" ", "").replace(NO_BREAK, "")


def test_short_text_keeps_the_largest_size() -> None:
    fitted = fit("Horn", 30, 10, largest_pt=8, smallest_pt=5)
    assert (fitted.lines, fitted.size_pt, fitted.shortened, fitted.torn) == (("Horn",), 8, False, False)


def test_text_shrinks_before_it_is_torn_and_wraps_between_words() -> None:
    fitted = fit("Dipped beam left", 12.5, 6, largest_pt=8, smallest_pt=5, max_lines=2)
    assert fitted.lines == ("Dipped", "beam left") and 5 <= fitted.size_pt < 8 and not fitted.torn


def test_a_short_text_gives_up_some_of_its_size_for_fewer_lines() -> None:
    fitted = fit("Dipped beam", 17, 8, largest_pt=8, smallest_pt=5, max_lines=2)
    assert fitted.lines == ("Dipped beam",) and 0.85 * 8 <= fitted.size_pt < 8
    fitted = fit("Dipped beam left", 15, 8, largest_pt=8, smallest_pt=5, max_lines=2)
    assert len(fitted.lines) == 2 and fitted.size_pt == 8


def test_a_number_stays_with_its_unit() -> None:
    text = clean(f"up to\t45{NO_BREAK}A")
    assert text == f"up to 45{NO_BREAK}A"
    assert fit(text, 9, 8, largest_pt=8, smallest_pt=8, max_lines=2).lines == ("up to", f"45{NO_BREAK}A")


def test_what_no_font_draws_is_marked_within_a_sentence() -> None:
    assert legible("horn \U000f0000\U000f0001: loud") == "horn ??: loud"
    assert legible("左前: loud") == "左前: loud"


def test_a_word_too_long_is_torn_then_shortened() -> None:
    torn = fit("Supplementaryequipment", 14, 8, largest_pt=8, smallest_pt=5, max_lines=2)
    assert torn.torn and not torn.shortened and len(torn.lines) == 2
    assert fit("relay-micro-change-12", 20, 8, largest_pt=7, smallest_pt=7, max_lines=2).lines == (
        "relay-micro-",
        "change-12",
    )
    cut = fit("Supplementaryequipment", 14, 8, largest_pt=8, smallest_pt=5, max_lines=1)
    assert cut.shortened and cut.lines[0].endswith(ELLIPSIS) and cut.lines[0].startswith("Suppl")


def test_chinese_breaks_between_signs_and_marks_stay_on_their_letters() -> None:
    assert fit("左前照灯近光继电器", 10, 10, largest_pt=7, smallest_pt=7, max_lines=3).torn is False
    accents = "e\u0301" * 30
    cut = fit(accents, 10, 4, largest_pt=7, smallest_pt=7)
    assert cut.lines[0].removesuffix(ELLIPSIS) == "e\u0301" * ((len(cut.lines[0]) - 1) // 2)


def test_control_characters_never_reach_a_drawing() -> None:
    assert clean("a\x00b\tc\r\nd\ud800e") == "a b c de"
    assert clean("\u202eab\u2066c") == "abc"


@given(st.text(alphabet=st.characters(min_codepoint=0, max_codepoint=127), max_size=30))
def test_plain_text_is_cleaned_as_all_other_text_is(text: str) -> None:
    """It takes a shorter way; one letter that is not plain forbids that way."""
    assert clean(f"é{text}") == f"é{clean(f'e{text}')[1:]}"


@settings(max_examples=25, deadline=None)
@given(text=st.text(min_size=1, max_size=4))
def test_any_text_is_drawn_or_replaced_without_a_warning(text: str) -> None:
    """What is written is what was asked for; a font that lacks a sign would warn, and a warning is an error."""
    sheet = Sheet((60, 30))
    fitted = sheet.text(sheet.page, drawable(text, "circuit-1"), max_lines=3)
    read_back(sheet)
    wanted = clean(text) if clean(text) and families_of(clean(text)) is not None else "circuit-1"
    assert not fitted.shortened and solid("".join(fitted.lines)) == solid(wanted)


@pytest.mark.parametrize("category", ["Cf", "Zs"])
def test_invisible_signs_need_no_font(category: str) -> None:
    for sign in map(chr, range(0x2100)):
        if unicodedata.category(sign) == category and families_of(sign) is not None:
            width_em(f"a{sign}b")


def test_what_no_font_draws_is_replaced() -> None:
    assert families_of("\U000f0000") is None
    assert drawable("\U000f0000", "circuit-1") == "circuit-1"
    assert drawable("\U000f0000", "\U000f0001") == "–"
    assert drawable("", "circuit-1") == "circuit-1"
