"""The chart of feed loads: every feed in every case, in line with what it may carry."""

from __future__ import annotations

import re

import pytest

from allocator.plan.measures import feed_loads
from tests.outputs.conftest import content_of, drawn


@pytest.mark.parametrize("sample", ["small", "large", "creek-workboat"])
def test_every_load_is_written_and_nothing_is_said_of_empty_feeds(sample: str) -> None:
    content = content_of(sample)
    texts = [text.wanted for text in drawn(sample)[-1][0].texts]
    empty = 0
    for load in feed_loads(content.index):
        if not max(load.load_ma_by_case):
            empty += 1
            continue
        for load_ma, share in zip(load.load_ma_by_case, load.utilisation_by_case, strict=True):
            written = f"{load_ma / 1000:.2f} A, {float(100 * share):.1f} %"
            assert written + (", too much" if share > 1 else "") in texts
    assert texts.count("nothing is on it") == empty


def test_the_largest_load_of_a_feed_stands_out() -> None:
    content = content_of("large")
    amounts = [
        text for text in drawn("large")[-1][0].texts if re.fullmatch(r"[\d.]+ A, [\d.]+ %(, too much)?", text.wanted)
    ]
    used = [load for load in feed_loads(content.index) if max(load.load_ma_by_case)]
    wanted = [load_ma == max(load.load_ma_by_case) for load in used for load_ma in load.load_ma_by_case]
    assert [text.bold for text in amounts] == wanted
    assert set(wanted) == {True, False}  # both kinds were seen, so the comparison above says something
