"""In a real browser: whatever is pointed at, by any means, lights up what plan.json says belongs to it."""

from __future__ import annotations

import json
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from allocator.outputs.failures import failures_csv
from allocator.outputs.lists import wires_csv
from allocator.plan.files import plan_text
from tests.browser.conftest import PHONE, file_of, opened
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.report.expected import Expected, rows_of

pytestmark = pytest.mark.browser

HOLD_ALL = """
() => {
  const found = {};
  for (const key of JSON.parse(document.getElementById("data").textContent).keys) {
    const elements = [...document.querySelectorAll("[data-key]")].filter((one) => one.dataset.key === key);
    elements[0].dispatchEvent(new MouseEvent("click", { bubbles: true }));
    const lit = [...document.querySelectorAll(".lit")].map((one) => one.dataset.key);
    const counts = {};
    for (const one of lit) counts[one] = (counts[one] || 0) + 1;
    const all = {};
    for (const one of document.querySelectorAll("[data-key]")) all[one.dataset.key] = (all[one.dataset.key] || 0) + 1;
    const halves = Object.keys(counts).filter((one) => counts[one] !== all[one]);
    found[key] = { lit: Object.keys(counts), halves, said: document.getElementById("about-title").textContent };
    document.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape" }));
  }
  return { found, left: document.querySelectorAll(".lit, .now").length };
}
"""


def lit(page: Page) -> set[str]:
    """Return the keys of all that is lit."""
    return set(page.eval_on_selector_all(".lit", "elements => elements.map((one) => one.dataset.key)"))


def expected(name: str) -> dict[str, set[str]]:
    """Return what the files say."""
    content = content_of(name)
    lists = rows_of(wires_csv(content)), rows_of(failures_csv(content))
    return Expected(json.loads(plan_text(content.plan)), *lists).all()


@pytest.mark.parametrize("name", BUNDLED)
def test_every_item_lights_up_just_what_belongs_to_it_wherever_it_stands(browser: Browser, name: str) -> None:
    """Both sides of the panel, every table and the legends: no element of what belongs is left dark."""
    wanted = expected(name)
    with opened(browser, file_of(name)) as page:
        result: dict[str, Any] = page.evaluate(HOLD_ALL)
    assert result["found"].keys() == wanted.keys()
    assert result["left"] == 0
    for key, seen in result["found"].items():
        assert set(seen["lit"]) == wanted[key], key
        assert seen["halves"] == [], key
        assert seen["said"]


def test_the_mouse_previews_and_a_click_holds(browser: Browser) -> None:
    wanted = expected("creek-workboat")
    with opened(browser, file_of("creek-workboat")) as page:
        first, second = (page.locator(f'.part[data-key="way:helm/1/A/{way}"]').first for way in (1, 2))
        first.hover()
        assert lit(page) == wanted["way:helm/1/A/1"]
        page.locator("h1").hover()
        assert lit(page) == set()
        first.click()
        second.hover()
        assert lit(page) == wanted["way:helm/1/A/2"]
        page.locator("h1").hover()
        assert lit(page) == wanted["way:helm/1/A/1"]
        assert first.get_attribute("aria-pressed") == "true"
        page.get_by_role("button", name="Let go").click()
        assert lit(page) == set()
        assert first.get_attribute("aria-pressed") == "false"


def test_the_keyboard_reaches_every_part_of_a_drawing(browser: Browser) -> None:
    name = "starter-camper"
    wanted = expected(name)
    with opened(browser, file_of(name)) as page:
        face = page.locator(".face").first
        keys = set(face.locator(".part").evaluate_all("parts => parts.map((part) => part.dataset.key)"))
        page.locator(".legend .go").last.focus()
        page.keyboard.press("Tab")
        here = "document.activeElement.dataset.key"
        seen, left = set(), [page.evaluate(here)]
        assert left[0] in keys
        while left:
            key = left.pop()
            if key in seen:
                continue
            seen.add(key)
            assert lit(page) >= wanted[key] or page.evaluate(here) != key
            for arrow in ("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"):
                face.locator(f'.part[data-key="{key}"]').focus()
                page.keyboard.press(arrow)
                left.append(page.evaluate(here))
        assert seen == keys
        page.keyboard.press("Home")
        page.keyboard.press("Enter")
        assert lit(page) == wanted[page.evaluate(here)]
        assert "held" in page.locator("#said").inner_text()
        page.keyboard.press("Escape")
        page.locator("body").click(position={"x": 1, "y": 1})
        assert lit(page) == set()


def test_a_tap_shows_what_belongs_and_leaves_it_in_sight(browser: Browser) -> None:
    name = "creek-workboat"
    wanted = expected(name)
    with opened(browser, file_of(name), PHONE, touch=True) as page:
        key = f"socket:{content_of(name).index.need_by_id['glow-plugs'].socket}"
        part = page.locator(f'.part[data-key="{key}"]').last
        part.scroll_into_view_if_needed()
        part.tap()
        assert lit(page) == wanted[key]
        box, about = part.bounding_box(), page.locator("#about").bounding_box()
        assert box and about and box["y"] + box["height"] <= about["y"]
        assert "Glow plugs" in page.locator("#about-title").inner_text()
        part.tap()
        assert lit(page) == set()
