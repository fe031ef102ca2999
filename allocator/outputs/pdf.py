"""
One PDF out of several, with a bookmark for each document.

Comes in as finished PDF files; goes out as one more, the same bytes for the same files. The drawing library writes PDFs
and cannot join them; drawing every sheet a second time would take as long again.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pypdf import PdfReader, PdfWriter


def join_pdfs(files: Mapping[str, Path], out: Path, title: str) -> None:
    """
    Join PDF files in their order.

    Parameters
    ----------
    files
        Files by what their bookmarks say.
    out
        File to write.
    title
        Title of the whole.
    """
    writer = PdfWriter()
    for name, path in files.items():
        writer.append(PdfReader(path), outline_item=name, import_outline=False)
    writer.metadata = {"/Title": title}
    with out.open("wb") as stream:
        writer.write(stream)
