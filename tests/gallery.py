"""
Draw everything there is, for eyes to check: ``python -m tests.gallery OUT [NAME ...]``.

Every drawing, chart and page of every bundled scenario (planned by the simple baseline, so that it takes no search), of
the samples for sizes and labels, and of 8 and 160 circuits that the search has planned, or of those named, goes into a
folder of its own; ``index.html`` shows them side by
side. With a browser on the path (DEVELOPERS.md) the report pages are photographed, wide and narrow, light and dark, and
printed.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from html import escape
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from allocator.outputs import draw
from tests.browser.conftest import BROWSERS, DESK, PHONE
from tests.outputs.conftest import BUNDLED, SAMPLES, SEARCHED, content_of

VIEWS = {"wide": (DESK, "light"), "dark": (DESK, "dark"), "narrow": (PHONE, "light")}
PAPERS = ("A4", "Letter")


def main(out: Path, names: Sequence[str]) -> None:
    """Draw all into ``out``."""
    for name in names:
        content = content_of(name)
        draw(content.plan, content.sized, out / name)
        print(f"drawn: {out / name}")
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        print(f"no browser on the path ({', '.join(BROWSERS)}): no pictures of the report pages")
    else:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
            for name in names:
                photograph(browser, out / name)
            browser.close()
    (out / "index.html").write_text(_index(out, names), encoding="utf-8")
    print(f"look at {out / 'index.html'}")


def photograph(browser: Browser, folder: Path) -> None:
    """Take pictures of a report page, whole and with something held, and print it."""
    for view, (size, scheme) in VIEWS.items():
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, color_scheme="dark" if scheme == "dark" else "light"
        )
        page = context.new_page()
        page.goto((folder / "report.html").resolve().as_uri())
        page.screenshot(path=folder / f"report-{view}.png")
        page.locator("#panels").screenshot(path=folder / f"report-{view}-panels.png")
        page.locator("#failures").screenshot(path=folder / f"report-{view}-failures.png")
        page.locator(".part").nth(2).click()
        page.screenshot(path=folder / f"report-{view}-held.png")
        if view == "wide":
            for paper in PAPERS:
                page.pdf(path=folder / f"report-{paper}.pdf", format=paper, print_background=True)
        context.close()


def _index(out: Path, names: Sequence[str]) -> str:
    return "<!DOCTYPE html><meta charset=utf-8><title>Gallery</title>" + "".join(_shelf(out, name) for name in names)


def _shelf(out: Path, name: str) -> str:
    pictures = sorted(path.name for path in (out / name).glob("*.png"))
    links = sorted(path.name for path in (out / name).iterdir() if path.suffix in (".pdf", ".html", ".csv", ".txt"))
    shown = "".join(
        f'<a href="{name}/{picture}"><img width=600 alt="{picture}" src="{name}/{picture}"></a>' for picture in pictures
    )
    listed = " ".join(f'<a href="{name}/{link}">{escape(link)}</a>' for link in links)
    return f"<h1>{escape(name)}</h1><p>{listed}</p>{shown}"


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:] or [*BUNDLED, *sorted(SAMPLES), *SEARCHED])
