"""The drawings of the page: nothing overlaps or is clipped at the size they have there."""

from __future__ import annotations

from allocator.outputs.faces import Face
from allocator.outputs.report.panels import SIDES, size_of, unit_views
from allocator.outputs.sheet import Sheet
from tests.outputs.conftest import content_of, read_back
from tests.outputs.test_lettering_on_sheets import clashes


def test_no_text_overlaps_or_is_clipped(sample_name: str) -> None:
    """Drawn on a sheet of the same size, whose text is measured on its outlines."""
    content = content_of(sample_name)
    num_ways = 0
    for panel in content.index.panels:
        for side in SIDES:
            for view in unit_views(content, panel, side):
                sheet = Sheet(size_of(view))
                Face(sheet, content, view).draw()
                assert clashes(sheet, read_back(sheet)) == []
                num_ways += sum(len(row.cells) for module in view.area.modules for row in module.rows)
    assert num_ways == 2 * sum(row.ways for item in content.index.modules for row in item.module.rows)
