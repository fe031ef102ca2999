"""A real browser, headless, and the report pages that it opens; the way of running these is in DEVELOPERS.md."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from allocator.outputs.report import report_html
from tests.outputs.conftest import content_of

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
DESK, PHONE = (1400, 900), (380, 800)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The first browser of the machine that is known here."""
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert path, f"none of {', '.join(BROWSERS)} is on the path; on Debian: apt-get install chromium"
    with sync_playwright() as playwright:
        # as root, as on the machines of the gate, the browser starts only without a sandbox of its own
        started = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


@cache
def file_of(name: str) -> Path:
    """Write the page of a sample or bundled scenario once; return its file."""
    path = Path(mkdtemp(prefix="report-")) / "report.html"
    path.write_text(report_html(content_of(name)), encoding="utf-8")
    return path


@contextmanager
def opened(
    browser: Browser, path: Path, size: tuple[int, int] = DESK, *, scheme: str = "light", touch: bool = False
) -> Iterator[Page]:
    """Open a page offline; afterwards nothing may have been said on its console, and nothing asked of the network."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        color_scheme="dark" if scheme == "dark" else "light",
        has_touch=touch,
        offline=True,
    )
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: said.append(request.url) if not request.url.startswith("file:") else None)
    page.goto(path.as_uri())
    yield page
    context.close()
    assert said == []
