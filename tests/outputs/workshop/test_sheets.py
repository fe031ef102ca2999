"""Sheets for the bench: nothing overlaps, nothing is cut off, and every sheet says what it is."""

from __future__ import annotations

import pytest

from allocator.outputs.lettering import LEAST_PT
from allocator.outputs.workshop.lid_type import WARNING
from tests.outputs.conftest import content_of
from tests.outputs.pdf_reading import clashes, read_pdf
from tests.outputs.workshop.papers import PAPERS, documents, papers


@pytest.mark.parametrize("name", PAPERS)
def test_no_text_overlaps_or_is_clipped(name: str) -> None:
    """Read from the finished PDF, the form that these sheets are printed from."""
    for sheets in documents(name).values():
        for page in read_pdf(sheets):
            assert clashes(page) == []


@pytest.mark.parametrize("name", PAPERS)
def test_no_text_vanishes_or_is_too_small(name: str) -> None:
    for sheet in papers(name):
        assert all(text.fitted.lines for text in sheet.texts)
        assert min(text.fitted.size_pt for text in sheet.texts) >= LEAST_PT


@pytest.mark.parametrize("name", PAPERS)
def test_tables_have_every_text_in_full(name: str) -> None:
    """Legends and labels may shorten a label, visibly; what warns of larger fuses is never cut."""
    for document, sheets in documents(name).items():
        shortened = [text.wanted for sheet in sheets for text in sheet.texts if text.fitted.shortened]
        assert not [text for text in shortened if WARNING in text or document in ("build", "tests")]


@pytest.mark.parametrize("name", PAPERS)
def test_every_sheet_says_which_it_is(name: str) -> None:
    content = content_of(name)
    for sheet in papers(name):
        texts = [text.wanted for text in sheet.texts]
        assert any(text.startswith("This is a planning aid") for text in texts)
        assert any(text.startswith(f"plan {content.number}") for text in texts)
        for said in (content.issue_text, content.supersedes_text):
            assert any(said in text for text in texts)
        assert any(", sheet " in text for text in texts)
