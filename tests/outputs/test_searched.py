"""What the search plans is drawn as well as what is packed: 8 circuits in two bays, 160 in four panels."""

from __future__ import annotations

import pytest

from allocator.outputs.layout import layout_sheets
from allocator.outputs.lettering import LEAST_PT
from allocator.outputs.workshop.sheets import bench_documents
from allocator.verifying import verify
from tests.outputs.conftest import content_of
from tests.outputs.pdf_reading import clashes, read_pdf

NAMES = ["searched-small", pytest.param("searched-spread", marks=pytest.mark.long)]


def test_eight_circuits_stand_in_one_carrier_of_two_bays() -> None:
    index = content_of("searched-small").index
    assert [item.carrier.bays for item in index.carriers] == [2]
    assert len(index.need_by_id) == 8 + 2


@pytest.mark.long
def test_160_circuits_stand_in_four_panels() -> None:
    content = content_of("searched-spread")
    assert len(content.index.panels) == 4
    assert sum(item.need.kind == "circuit" for item in content.index.needs) == 160


@pytest.mark.parametrize("name", NAMES)
def test_every_sheet_reads_well(name: str) -> None:
    """Nothing overlaps, is clipped or vanishes in the finished PDF; every label stands in full on some sheet."""
    content = content_of(name)
    assert verify(content.sized, content.plan) == ()
    documents = {"layout": layout_sheets(content), **bench_documents(content)}
    whole: set[str] = set()
    for sheets in documents.values():
        for page, sheet in zip(read_pdf(sheets), sheets, strict=True):
            assert clashes(page) == []
            assert min(text.fitted.size_pt for text in sheet.texts) >= LEAST_PT
            whole |= {text.wanted for text in sheet.texts if not text.fitted.shortened}
    assert {circuit.label for circuit in content.sized.requirements.circuits} <= whole
