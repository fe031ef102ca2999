"""report.html as text: whole, self-contained, the same bytes each time, and no user's text is ever markup."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from typing import get_args

import pytest

from allocator.outputs.content import Content
from allocator.outputs.failures import failures_csv
from allocator.outputs.order import order_lines, order_value_text
from allocator.outputs.report import report_html
from allocator.outputs.report.chapters import PROOFS
from allocator.plan.failures import failures
from allocator.plan.plan import GoalResult
from allocator.requirements import requirements_from_json, requirements_to_json
from allocator.sizing import size
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.packer import Packer
from tests.outputs.report.expected import rows_of
from tests.outputs.samples import SMALL, requirements_of

EVIL = (
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</script><script>alert(1)</script>",
    "{{ 7 * 7 }}{% raw %}", "' onfocus='alert(1)", "<!-- <script>", "]]><svg onload=alert(1)>", "&lt;b&gt; & <b>",
)  # fmt: skip
TAGS = {
    "html", "head", "meta", "title", "style", "body", "a", "svg", "defs", "pattern", "path", "header", "h1", "bdi", "p",
    "button", "section", "nav", "ul", "li", "form", "label", "input", "select", "option", "output", "div", "main", "h2",
    "h3", "h4", "table", "thead", "tr", "th", "span", "tbody", "td", "details", "summary", "g", "rect", "polyline",
    "polygon", "text", "aside", "script",
}  # fmt: skip
VOID = {"meta", "input"}


class Page(HTMLParser):
    """A page, read: its elements, its text, and whether every element is closed where it should be."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.scripts: list[str] = []
        self._open: list[str] = []
        self.html = html
        self.feed(html)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        (self.scripts if self._open[-1:] == ["script"] else self.texts).append(data)


@cache
def page_of(name: str) -> Page:
    """Return the page of a sample or bundled scenario, made and read once."""
    return Page(report_html(content_of(name)))


def evil_content() -> Content:
    """Return a sample whose every text of a user's is an attempt to break out; names allow fewer signs."""
    text = json.dumps(requirements_to_json(requirements_of(SMALL)))
    names = {"battery": "<b>bat", "house": "<img src=x onerror=alert(1)>", "parked": "<i>parked", "dash": "<u>dash"}
    for name, evil in names.items():
        text = text.replace(json.dumps(name), json.dumps(evil))
    data = json.loads(text)
    data["scenario"]["vehicle"]["name"] = EVIL[0]
    for number, circuit in enumerate(data["circuits"]):
        circuit["label"] = circuit["note"] = EVIL[number % len(EVIL)]
    for feed in data["scenario"]["feeds"]:
        feed["label"] = EVIL[1]
    panels = {names["dash"]: SMALL.modules["dash"]}, {names["dash"]: SMALL.carriers["dash"]}
    sized = size(requirements_from_json(data))
    return Content(sized, Packer(sized, replace(SMALL, modules=panels[0], carriers=panels[1])).plan())


def test_no_text_of_a_user_becomes_markup() -> None:
    content = evil_content()
    page = Page(report_html(content))
    assert {tag for tag, _ in page.elements} <= TAGS
    for tag, attributes in page.elements:
        assert not [name for name in attributes if name.startswith("on")], tag
        assert "style" not in attributes and "src" not in attributes
        assert not str(attributes.get("href") or "#").startswith("javascript")
    assert sum(tag == "script" for tag, _ in page.elements) == len(page.scripts) == 2
    text = "".join(page.texts)
    for evil in EVIL:
        assert evil in text
    names = [item["title"] for item in json.loads(page.scripts[0])["items"]]
    assert set(EVIL) <= set(names)


@pytest.mark.parametrize("name", BUNDLED)
def test_the_page_needs_nothing_else(name: str) -> None:
    page = page_of(name)
    policy = next(a["content"] for tag, a in page.elements if a.get("http-equiv") == "Content-Security-Policy")
    assert str(policy).startswith("default-src 'none';")
    references = [a["href"] for _, a in page.elements if a.get("href")]
    ids = {str(a["id"]) for _, a in page.elements if a.get("id")}
    assert references and all(str(reference).removeprefix("#") in ids for reference in references)
    for used in re.findall(r"url\(#([\w-]+)\)", page.html):
        assert used in ids
    assert re.findall(r"https?://", page.html) == []


def test_ids_are_unique(sample_name: str) -> None:
    page = page_of(sample_name)
    ids = [a["id"] for _, a in page.elements if a.get("id")]
    assert len(ids) == len(set(ids))


def test_the_same_plan_gives_the_same_bytes() -> None:
    content = content_of("library-bus")
    assert report_html(content) == report_html(Content(content.sized, content.plan))


def test_every_label_and_caution_stands_in_full(sample_name: str) -> None:
    content = content_of(sample_name)
    text = " ".join(page_of(sample_name).texts)
    for circuit in content.sized.requirements.circuits:
        assert circuit.label in text
    for caution in (*content.plan.general_cautions, *content.plan.cautions):
        assert caution in text


def test_the_page_says_plan_revision_day_and_predecessor() -> None:
    text = " ".join(page_of("library-bus").texts)
    for said in (content_of("library-bus").number, "revision B", "2025-03-31", "supersedes revision A of 2025-02-10"):
        assert said in text


def test_every_wire_has_its_colour_and_every_part_its_packs_and_price() -> None:
    content, text = content_of("creek-workboat"), " ".join(page_of("creek-workboat").texts)
    for look in set(content.look_by_run.values()):
        assert f"{look.code}, {look.words}" in text
    for line in order_lines(content):
        assert line.packs == 0 or f"{line.packs} x {line.part.pack}" in text
        assert f"{line.order_cents / 100:.2f}" in text
    assert f"To order: {order_value_text(content)}. Also" in text and " EUR in whole packs" in text


def test_every_part_of_the_drawings_is_known_to_the_script(sample_name: str) -> None:
    page = page_of(sample_name)
    keys = set(json.loads(page.scripts[0])["keys"])
    shown = [a["data-key"] for _, a in page.elements if a.get("data-key")]
    assert set(shown) == keys
    parts = [str(a["data-key"]) for tag, a in page.elements if tag == "g" and a.get("class") == "part"]
    for kind in ("way", "socket"):
        mine = [key for key in parts if key.startswith(f"{kind}:")]
        assert sorted(mine) == sorted([key for key in keys if key.startswith(f"{kind}:")] * 2)


def test_every_way_of_knowing_a_value_has_its_words() -> None:
    assert set(PROOFS) == set(get_args(GoalResult.model_fields["closed_by"].annotation))


def test_each_goal_has_its_value_and_proof() -> None:
    content = content_of("beach-tractor")
    text = " ".join(page_of("beach-tractor").texts)
    assert len(content.plan.goals) == text.count("the search ended before it was proven")


@pytest.mark.parametrize("name", BUNDLED)
def test_every_failure_has_a_row(name: str) -> None:
    content, page = content_of(name), page_of(name)
    rows = [a["data-key"] for tag, a in page.elements if tag == "tr" and str(a.get("data-key")).startswith("failure")]
    assert sorted(map(str, rows)) == sorted(f"failure:{number}" for number in range(len(failures(content.index))))


@pytest.mark.parametrize("name", BUNDLED)
def test_most_at_once_is_the_most_of_the_list(name: str) -> None:
    """The number in the row of each failure, and its load case, against failures.csv."""
    page, cases = page_of(name), len(content_of(name).sized.requirements.scenario.load_cases)
    rows = rows_of(failures_csv(content_of(name)))
    for number, first in enumerate(range(0, len(rows), cases)):
        most = max(rows[first : first + cases], key=lambda row: int(row["num_dark"]))
        shown = re.search(f'<tr[^>]*data-key="failure:{number}".*?</tr>', page.html, re.DOTALL)
        told = f"{most['num_dark']} in {most['load_case']}" if most["num_dark"] != "0" else "none"
        assert shown is not None and f"<bdi>{told}</bdi>" in shown[0]
