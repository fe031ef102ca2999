"""The charts of a shelf: round ticks, and what their axes say."""

from __future__ import annotations

import pytest

from allocator.outputs.stock.charts import ticks


@pytest.mark.parametrize("most", [0.4, 1, 7, 30, 366, 1158.4, 99_999])
def test_ticks_are_few_and_round(most: float) -> None:
    found = list(ticks(most))
    assert found[0] == 0 and found[-1] <= most < found[-1] + (found[1] - found[0]) * (1 + 1e-9)
    assert 3 <= len(found) <= 9
    step = found[1]
    assert step / 10 ** len(str(int(step))) in (0.1, 0.2, 0.5) or step < 1


def test_nothing_to_show_still_has_a_scale() -> None:
    assert list(ticks(0)) == [0]
