"""
Write every output of a plan into a folder, all or nothing.

Comes in as a Plan with its Sized and a folder; goes out as files there. Everything is made in a hidden folder beside it
first and then moved over, file by file, so that a run that stops early leaves the folder as it was.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

from allocator.outputs.charts import chart_sheets
from allocator.outputs.content import Content
from allocator.outputs.layout import layout_sheets
from allocator.outputs.pdf import join_pdfs
from allocator.outputs.report import report_html
from allocator.outputs.sheet import Sheet, save_pdf
from allocator.outputs.texts import texts_of
from allocator.outputs.workshop.legend import legend_covers
from allocator.outputs.workshop.sheets import bench_documents
from allocator.outputs.workshop.workbook import workbook_bytes
from allocator.plan.plan import Plan
from allocator.sizing.sized import Sized

FILES = (
    "all-sheets.pdf", "build.pdf", "crimps.csv", "drops.png", "drops.svg", "failures.csv", "feeds.png",
    "feeds.svg", "fuses.png", "fuses.svg", "goals.csv", "labels.pdf", "layout.pdf", "layout.png", "layout.svg",
    "legend-1.svg", "legend.pdf", "parts.csv", "plan.json", "report.html", "summary.txt", "tests.csv",
    "tests.pdf", "wires.csv", "workbook.xlsx",
)  # fmt: skip
"""
What a plan gives; ``fuses`` only where a load starts with more than its steady current. Of a drawing or chart with more
sheets the second is ``layout-2.svg``, ``layout-2.png`` and so on.
"""
PICTURES = ("drops", "feeds", "fuses", "layout", "legend")


def draw(plan: Plan, sized: Sized, out_dir: Path | str) -> list[Path]:
    """
    Write plan.json, drawings, lists and summary of a plan.

    Parameters
    ----------
    plan
        Plan to write about.
    sized
        Sizing of ``plan.requirements``.
    out_dir
        Folder for the files; made if it is not there. Files of other names in it stay as they are.

    Returns
    -------
    list of Path
        The files, in the order of their names.

    Raises
    ------
    InputError
        If the plan names things that do not exist.
    OSError
        If the folder cannot be written.
    """
    out_dir = Path(out_dir)
    out_dir.parent.mkdir(parents=True, exist_ok=True)
    waiting = out_dir.parent / f".{out_dir.name}.{os.getpid()}.part"
    shutil.rmtree(waiting, ignore_errors=True)
    waiting.mkdir()
    try:
        _write_all(Content(sized, plan), waiting)
        return _move(waiting, out_dir)
    finally:
        shutil.rmtree(waiting, ignore_errors=True)


def _write_all(content: Content, folder: Path) -> None:
    for name, text in {**texts_of(content), "report.html": report_html(content)}.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    (folder / "workbook.xlsx").write_bytes(workbook_bytes(content))
    _write_covers(content, folder)
    layout = layout_sheets(content)
    _write_documents(content, {"layout": layout, **bench_documents(content)}, folder)
    for name, pages in {"layout": layout, **chart_sheets(content)}.items():
        for number, sheet in enumerate(pages, 1):
            stem = name if number == 1 else f"{name}-{number}"
            sheet.save_svg(folder / f"{stem}.svg")
            sheet.save_png(folder / f"{stem}.png")


def _write_covers(content: Content, folder: Path) -> None:
    """Write the legend of each cover as a picture of exactly its size."""
    for name, sheet in legend_covers(content).items():
        sheet.save_svg(folder / f"{name}.svg")


def _write_documents(content: Content, documents: Mapping[str, Sequence[Sheet]], folder: Path) -> None:
    """Write a PDF for each document, and one of all."""
    title = f"{content.vehicle}, {content.issue_text}"
    for name, sheets in documents.items():
        save_pdf(sheets, folder / f"{name}.pdf", f"{title}: {name}")
    join_pdfs({name: folder / f"{name}.pdf" for name in documents}, folder / "all-sheets.pdf", title)


def _move(waiting: Path, out_dir: Path) -> list[Path]:
    """Put the finished files in place, and take away sheets that an earlier plan had more of."""
    names = sorted(path.name for path in waiting.iterdir())
    if not out_dir.exists():
        waiting.rename(out_dir)
        return [out_dir / name for name in names]
    for name in names:
        (waiting / name).replace(out_dir / name)
    for path in sorted(out_dir.glob("*.*")):
        name, _, number = path.stem.partition("-")
        ours = name in PICTURES and (number.isdigit() or path.stem == "fuses")
        if ours and path.suffix in (".svg", ".png") and path.name not in names:
            path.unlink()
    return [out_dir / name for name in names]
