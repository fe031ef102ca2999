"""Sample plans, sized, packed and drawn once for all tests of the outputs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from allocator.outputs.charts import chart_sheets
from allocator.outputs.content import Content
from allocator.outputs.layout import layout_sheets
from allocator.outputs.sheet import Sheet
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.solving import allocate
from tests.oracles.greedy_plan import greedy_plan
from tests.outputs.packer import packed
from tests.outputs.samples import (
    LARGE,
    MANY,
    SMALL,
    SPREAD,
    WIDE,
    Sample,
    any_script_label,
    long_label,
    requirements_of,
)
from tests.outputs.svg_reading import SvgDrawing

SAMPLES: dict[str, Sample] = {
    "small": SMALL,
    "large": LARGE,
    "wide": WIDE,
    "many": MANY,
    "small-48-volts": replace(SMALL, voltages=("48 V", "54 V", "40 V"), relays=False),
    "small-long": replace(SMALL, label=long_label),
    "small-any-script": replace(SMALL, label=any_script_label),
    "large-long": replace(LARGE, label=long_label),
    "large-any-script": replace(LARGE, label=any_script_label),
}

SEARCHED: dict[str, Sample] = {"searched-small": SMALL, "searched-spread": SPREAD}
"""8 circuits for one carrier of two bays, and 160 for four panels, planned by the search (the second in a minute)."""

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BUNDLED = sorted(path.parent.name for path in SCENARIOS.glob("*/scenario.toml"))


@cache
def content_of(name: str) -> Content:
    """Return the content of a plan: of a sample, the search's, or the greedy baseline's for a bundled scenario."""
    if name in SAMPLES:
        return Content(*packed(SAMPLES[name]))
    if name in SEARCHED:
        sized = size(requirements_of(SEARCHED[name]))
        return Content(sized, allocate(sized))
    sized = size(load_scenario(SCENARIOS / name))
    return Content(sized, greedy_plan(sized))


def read_back(sheet: Sheet) -> SvgDrawing:
    """Write a sheet and read the file."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.svg"
        sheet.save_svg(path)
        return SvgDrawing(path.read_text(encoding="utf-8"))


@cache
def drawn(name: str) -> tuple[tuple[Sheet, SvgDrawing], ...]:
    """Return every sheet of a sample with its finished SVG: the layout, then the pages of every chart."""
    sheets = (*layout_sheets(content_of(name)), *(page for pages in charts_of(name).values() for page in pages))
    return tuple((sheet, read_back(sheet)) for sheet in sheets)


@cache
def charts_of(name: str) -> Mapping[str, tuple[Sheet, ...]]:
    """Return the pages of every chart of a sample."""
    return chart_sheets(content_of(name))


LONG = {"large-any-script": pytest.mark.long}
"""What takes longest; a small sample has the same scripts."""


def marked(*names: str) -> list[Any]:
    """Return samples as parameters, those that take longest for the long set."""
    return [pytest.param(name, marks=LONG.get(name, ())) for name in names]


@pytest.fixture(params=marked(*sorted(SAMPLES), *BUNDLED))
def sample_name(request: pytest.FixtureRequest) -> str:
    """Name of each sample and bundled scenario in turn."""
    return str(request.param)
