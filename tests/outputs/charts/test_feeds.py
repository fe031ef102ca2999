"""The chart of feed loads: every feed in every case, in line with what it may carry."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from matplotlib.figure import Figure

from allocator.outputs.charts.feeds import MOST_CASES, FeedBlocks, plot_feed
from allocator.outputs.content import Content
from allocator.outputs.paper import Lettered
from allocator.outputs.sheet import A3_MM, Sheet
from allocator.outputs.tables import draw_parts, parts_of
from allocator.plan.measures import feed_loads
from tests.outputs.conftest import charts_of, content_of
from tests.outputs.packer import packed
from tests.outputs.samples import SMALL


def texts_of(sample: str) -> list[Lettered]:
    return [text for page in charts_of(sample)["feeds"] for text in page.texts]


@pytest.mark.parametrize("sample", ["small", "large", "creek-workboat"])
def test_every_load_is_written_and_nothing_is_said_of_empty_feeds(sample: str) -> None:
    texts = [text.wanted for text in texts_of(sample)]
    empty = 0
    for load in feed_loads(content_of(sample).index):
        if not max(load.load_ma_by_case):
            empty += 1
            continue
        for load_ma, share in zip(load.load_ma_by_case, load.utilisation_by_case, strict=True):
            written = f"{load_ma / 1000:.2f} A, {float(100 * share):.1f} %"
            assert written + (", too much" if share > 1 else "") in texts
    assert texts.count("nothing is on it") == empty


def test_the_largest_load_of_a_feed_stands_out() -> None:
    content = content_of("large")
    amounts = [text for text in texts_of("large") if re.fullmatch(r"[\d.]+ A, [\d.]+ %(, too much)?", text.wanted)]
    used = [load for load in feed_loads(content.index) if max(load.load_ma_by_case)]
    wanted = [load_ma == max(load.load_ma_by_case) for load in used for load_ma in load.load_ma_by_case]
    assert [text.bold for text in amounts] == wanted
    assert set(wanted) == {True, False}  # both kinds were seen, so the comparison above says something


def test_a_feed_with_many_load_cases_goes_on_below() -> None:
    """Nobody's page is high enough for forty cases."""
    sized, plan = packed(replace(SMALL, more_cases=2 * MOST_CASES - 2))
    listing = FeedBlocks(Content(sized, plan))
    sheet = Sheet(A3_MM)
    for parts in parts_of(listing, 190.0, lambda least: 90.0):
        draw_parts(sheet, parts, sheet.page)
    named = [text.wanted for text in sheet.texts if text.wanted.startswith("battery: ")]
    assert [name.endswith("(continued)") for name in named] == [False, True, True]
    cases = [text.wanted for text in sheet.texts if re.fullmatch(r"more-\d+", text.wanted)]
    assert cases == 2 * [f"more-{number}" for number in range(1, 2 * MOST_CASES - 1)]  # of both feeds


def test_a_feed_drawn_into_axes() -> None:
    content = content_of("small")
    load = feed_loads(content.index)[0]
    cases = [case.name for case in content.plan.requirements.scenario.load_cases]
    ax = Figure().add_subplot()
    plot_feed(ax, load, cases, content.marks[load.feed])
    widths = [patch.get_width() for patch in ax.patches]
    assert widths == pytest.approx([float(share) for share in reversed(load.utilisation_by_case)])
    assert [label.get_text() for label in ax.get_yticklabels()] == list(reversed(cases))
    assert sorted(line.get_xdata()[0] for line in ax.lines) == pytest.approx([1.0, 1.25])  # 80 % of the rating
