"""What the sheets say an entry, a row and a module may carry, and which fuses are for more than the usual voltage."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.explaining.accounts.entries import strip_pieces
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, Sheet
from allocator.outputs.ways import draw_fuse
from allocator.verifying.limits import entry_limit_ma, module_limit_ma, row_limit_ma
from allocator.verifying.view import View
from tests.outputs.conftest import content_of, drawn


@pytest.mark.parametrize("sample", ["large", "creek-workboat"])
def test_an_entry_may_carry_the_least_of_its_own_its_rows_and_its_modules_limit(sample: str) -> None:
    content = content_of(sample)
    sized = content.sized
    panel, module = next((entry.at.panel, entry.at.module.id) for entry in content.index.entries if entry.ways)
    strict = {**sized.module_limit_ma, (panel, module): 7_000}
    limited = Content(replace(sized, module_limit_ma=strict), content.plan)
    for entry in content.index.entries:
        if entry.group is None:
            continue
        own = sized.entries[entry.at.panel, entry.at.module.id, entry.group, entry.piece.feed].limit_ma
        known = content.entry_amounts(entry)[1]
        assert known <= own
        wanted = min(known, 7_000) if (entry.at.panel, entry.at.module.id) == (panel, module) else known
        assert limited.entry_amounts(entry)[1] == wanted


@pytest.mark.parametrize("sample", ["large", "creek-workboat", "starter-camper"])
def test_the_account_of_entries_and_the_sheets_name_the_limit_that_the_checker_holds(sample: str) -> None:
    """The checker's own sums of strip, inlet, stud and tail, of the row and of the module: the least of them binds."""
    found = content_of(sample)
    strict = dict.fromkeys(found.sized.row_limit_ma, 9_000)
    content = Content(replace(found.sized, row_limit_ma=strict), found.plan)
    view = View(content.sized, content.plan)
    told = {share.what: share.why for share in strip_pieces(content.index).shares}
    lower = 0
    for record in view.entries:
        entry = next(item for item in content.index.entries if item.piece.at == record.at)
        if entry.group is None:
            continue
        own = entry_limit_ma(view, record)
        limits = [own, module_limit_ma(view, entry.at.panel, entry.at.module)]
        if entry.row is not None:
            limits.append(row_limit_ma(view, entry.at.panel, entry.at.module, entry.row))
        least = int(min(limit for limit in limits if limit is not None))
        assert content.entry_amounts(entry)[1] == least
        assert f" of {least / 1000:.2f} A" in told[record.at] or not content.entry_amounts(entry)[0]
        lower += own is not None and least < own
    assert lower > 0


def test_what_enters_at_a_relay_socket_is_told_with_what_its_tail_carries() -> None:
    content = content_of("creek-workboat")
    direct = [entry for entry in content.index.entries if entry.socket is not None]
    for entry in direct:
        (need,) = content.index.needs_of(entry)
        limit = content.sized.socket_limit_ma[str(need.need.supplies)]
        assert content.entry_amounts(entry)[1] == limit
        assert any(f" of {limit / 1000:.2f} A" in share.why for share in strip_pieces(content.index).shares)
    assert direct


def test_a_row_with_a_limit_of_its_own() -> None:
    content = content_of("large")
    entry = next(item for item in content.index.entries if item.row is not None)
    key = entry.at.panel, entry.at.module.id, entry.row
    strict = {**content.sized.row_limit_ma, key: 5_000}
    assert Content(replace(content.sized, row_limit_ma=strict), content.plan).entry_amounts(entry)[1] == 5_000


@pytest.mark.parametrize("sample", ["small", "creek-workboat"])
def test_the_head_of_a_module_says_what_it_carries_in_all(sample: str) -> None:
    """The load of all its ways in the worst load case, added up here from the ways of the plan."""
    content = content_of(sample)
    texts = {text.wanted.replace(NO_BREAK, " ") for sheet, _ in drawn(sample) for text in sheet.texts}
    told = 0
    for module in content.index.modules:
        amounts = content.module_amounts(module)
        if amounts is None:
            continue
        prefix = f"{module.panel}/{module.bay}/"
        loads = [content.loads_by_need[way.need] for way in content.plan.ways if way.at.startswith(prefix)]
        peak = max((sum(case) for case in zip(*loads, strict=True)), default=0)
        assert amounts == (peak, content.sized.module_limit_ma[module.panel, module.module.id])
        told += f"{module.module.label}: {peak / 1000:.3g} A of {amounts[1] / 1000:.3g} A in all" in texts
    assert told > 0


def test_fuses_for_48_volts_do_not_look_like_those_for_32() -> None:
    low, high = (
        [text.wanted for sheet, _ in drawn(name) for text in sheet.texts] for name in ("small", "small-48-volts")
    )
    num_fuses = sum(way.fuse is not None for way in content_of("small-48-volts").plan.ways)
    assert high.count(f"C{NO_BREAK}58V") == num_fuses > 0
    assert sum(text.endswith(f" A, C 58{NO_BREAK}V") for text in high) >= num_fuses  # the table of ways says it too
    assert not any("58" in text and "V" in text for text in low)


class Frames(Sheet):
    """A sheet that remembers the boxes of its rectangles."""

    def __init__(self) -> None:
        super().__init__(A4_MM)
        self.boxes: list[Box] = []

    def rectangle(self, box: Box, **style: Any) -> None:
        self.boxes.append(box)
        super().rectangle(box, **style)


def test_a_fuse_of_high_voltage_has_a_second_frame_around_the_first() -> None:
    fuse = Box(20, 20, 10, 10)
    around = []
    for voltage_v in (32, 58):
        sheet = Frames()
        draw_fuse(sheet, fuse, "C", 10, voltage_v)
        around.append([box for box in sheet.boxes if box.x < fuse.x and box.bottom > fuse.bottom])
    assert [len(boxes) for boxes in around] == [0, 1]
