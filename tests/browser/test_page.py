"""In a real browser: search, filters, sorting, light and dark, widths, paper, accessibility, no text over another."""

from __future__ import annotations

import io
from typing import Any

import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE, file_of, opened
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.report.test_page import EVIL, evil_content

pytestmark = pytest.mark.browser

STRESSES = ("small", "many", "large-long", "large-any-script")
CLASHES = """
() => {
  const found = [];
  const slack = 0.6;  // px; a hairline is 0.9
  for (const svg of document.querySelectorAll(".face > svg, .figure > svg")) {
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll("text")].map((text) => {
      // the ink is lower than the line: from the height of "d" to the depth of "p" about 0.96 of the size
      const box = text.getBBox(), size = parseFloat(text.getAttribute("font-size"));
      const base = parseFloat(text.getAttribute("y"));
      const [top, bottom] = [base - 0.76 * size, base + 0.22 * size];
      const corners = [[box.x, top], [box.x + box.width, bottom]].map(([x, y]) => {
        const point = svg.createSVGPoint();
        [point.x, point.y] = [x, y];
        return point.matrixTransform(text.getScreenCTM());
      });
      const [xs, ys] = [corners.map((one) => one.x), corners.map((one) => one.y)];
      return { text: text.textContent, left: Math.min(...xs), right: Math.max(...xs),
        top: Math.min(...ys), bottom: Math.max(...ys) };
    }).sort((one, other) => one.left - other.left);
    texts.forEach((one, number) => {
      if (one.left < frame.left - slack || one.right > frame.right + slack
        || one.top < frame.top - slack || one.bottom > frame.bottom + slack) found.push(`${one.text} leaves`);
      for (const other of texts.slice(number + 1)) {
        if (other.left > one.right - slack) break;
        if (Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > slack) {
          found.push(`${one.text} | ${other.text}`);
        }
      }
    });
  }
  return found;
}
"""


def _shown(page: Page, grid: str) -> list[str]:
    """Return the keys of the rows of a table that are shown, in their order."""
    return page.eval_on_selector_all(
        f"#{grid} tr[data-key]:not([hidden])", "rows => rows.map((row) => row.dataset.key)"
    )


@pytest.mark.parametrize(
    ("name", "size", "scheme"),
    [
        ("creek-workboat", DESK, "light"),
        ("starter-camper", DESK, "dark"),
        ("starter-camper", PHONE, "light"),
        ("small-any-script", DESK, "light"),
        ("library-bus", PHONE, "dark"),
    ],
)
def test_nothing_is_wrong_for_readers_of_any_kind(
    browser: Browser, name: str, size: tuple[int, int], scheme: str
) -> None:
    """axe-core (Deque Systems, MPL-2.0) finds no violation of its rules, with something held and lit as well."""
    with opened(browser, file_of(name), size, scheme=scheme) as page:
        page.locator(".part").first.focus()
        page.keyboard.press("Enter")
        page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        response: dict[str, Any] = Axe().run(page).response
        assert [(found["id"], found["nodes"][0]["html"]) for found in response["violations"]] == []
        assert len(response["passes"]) > 20


@pytest.mark.parametrize("name", [*BUNDLED, *STRESSES])
def test_no_text_of_a_drawing_lies_over_another_or_leaves_it(browser: Browser, name: str) -> None:
    with opened(browser, file_of(name)) as page:
        assert page.evaluate(CLASHES) == []


@pytest.mark.parametrize("name", [*BUNDLED, *STRESSES])
def test_the_page_is_never_wider_than_the_screen(browser: Browser, name: str) -> None:
    with opened(browser, file_of(name)) as page:
        for width in (320, 380, 768, 1366, 1920):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["creek-workboat", "many"])
def test_parts_are_large_enough_to_tap(browser: Browser, name: str) -> None:
    """24 px, the least of WCAG 2.2, success criterion 2.5.8."""
    with opened(browser, file_of(name), PHONE) as page:
        sizes = page.eval_on_selector_all(
            ".reach", "all => all.map((one) => one.getBoundingClientRect()).map((box) => [box.width, box.height])"
        )
        assert min(min(size) for size in sizes) >= 24


def test_search_filters_rows_and_pales_the_rest(browser: Browser) -> None:
    content = content_of("creek-workboat")
    labels = {f"need:{item.need.id}": content.label(item.need) for item in content.index.needs}
    with opened(browser, file_of("creek-workboat")) as page:
        page.get_by_role("searchbox").fill("BILGE pump")
        wanted = [key for key, label in labels.items() if "bilge pump" in label.lower()]
        assert sorted(_shown(page, "circuits-sheet")) == sorted(wanted)
        assert page.locator("#found").inner_text().startswith(f"{len(wanted)} of {len(labels)} ")
        dim = page.eval_on_selector_all(".part.dim", "parts => parts.map((part) => part.dataset.key)")
        bright = page.eval_on_selector_all(".part:not(.dim)", "parts => parts.map((part) => part.dataset.key)")
        ways = {f"way:{content.index.need_by_id[key.removeprefix('need:')].way}" for key in wanted}
        assert {key for key in bright if key.startswith("way:")} == ways
        assert not ways & set(dim)
        page.get_by_role("button", name="Show all").click()
        page.wait_for_selector(".dim", state="detached")
        assert len(_shown(page, "circuits-sheet")) == len(labels)


def test_feed_and_load_case_filters_go_together(browser: Browser) -> None:
    content = content_of("creek-workboat")
    cases = [case.name for case in content.sized.requirements.scenario.load_cases]
    with opened(browser, file_of("creek-workboat")) as page:
        page.locator("#feed").select_option("service")
        page.locator("#case").select_option("at-anchor")
        number = cases.index("at-anchor")
        wanted = [
            f"need:{item.need.id}"
            for item in content.index.needs
            if item.feed == "service" and content.loads_by_need[item.need.id][number]
        ]
        assert sorted(_shown(page, "circuits-sheet")) == sorted(wanted)
        head = page.locator("#circuits-sheet thead th").nth(3)
        assert "load in at-anchor" in head.inner_text()
        for key in wanted:
            cell = page.locator(f'#circuits-sheet tr[data-key="{key}"] [data-by-case]')
            assert cell.inner_text() == content.amperes(content.loads_by_need[key.removeprefix("need:")][number])


def test_tables_sort_up_down_and_back(browser: Browser) -> None:
    content = content_of("creek-workboat")
    with opened(browser, file_of("creek-workboat")) as page:
        before = _shown(page, "circuits-sheet")
        head = page.locator("#circuits-sheet thead th").nth(3)
        loads = {f"need:{item.need.id}": max(content.loads_by_need[item.need.id]) for item in content.index.needs}
        for order in ("ascending", "descending"):
            head.get_by_role("button").click()
            assert head.get_attribute("aria-sort") == order
            sorted_loads = [loads[key] for key in _shown(page, "circuits-sheet")]
            assert sorted_loads == sorted(loads.values(), reverse=order == "descending")
        head.get_by_role("button").click()
        assert head.get_attribute("aria-sort") is None
        assert _shown(page, "circuits-sheet") == before


def test_light_and_dark_follow_the_system_and_the_button(browser: Browser) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    with opened(browser, file_of("starter-camper")) as page:
        light = page.evaluate(ground)
        page.get_by_role("button", name="Dark", exact=True).click()
        dark = page.evaluate(ground)
        assert light == "rgb(255, 255, 255)" and dark != light
        page.get_by_role("button", name="Light", exact=True).click()
        assert page.evaluate(ground) == light
        page.emulate_media(color_scheme="dark")
        assert page.evaluate(ground) == light
    with opened(browser, file_of("starter-camper"), scheme="dark") as page:
        assert page.evaluate(ground) == dark


@pytest.mark.parametrize(("paper", "points"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_it_prints_in_ink_on_white_with_every_label_on_the_page(
    browser: Browser, paper: str, points: tuple[int, int]
) -> None:
    content = content_of("creek-workboat")
    with opened(browser, file_of("creek-workboat"), scheme="dark") as page:
        data = page.pdf(format=paper, print_background=True)
    printed = pypdfium2.PdfDocument(io.BytesIO(data))
    texts = []
    for sheet in printed:
        assert sheet.get_size() == pytest.approx(points, abs=1)
        text = sheet.get_textpage()
        texts.append(text.get_text_range())
        for number in range(text.count_rects()):
            left, _, right, _ = text.get_rect(number)
            assert left >= 0 and right <= points[0]
        corner = sheet.render(scale=0.25).to_numpy()[0, 0]
        assert corner.min() == 255
    whole = "".join("".join(texts).split())
    for circuit in content.sized.requirements.circuits:
        assert "".join(circuit.label.split()) in whole, circuit.label
    assert "Show all" not in "".join(texts)


@pytest.mark.parametrize(("paper", "height_mm"), [("A4", 297), ("Letter", 279.4)])
@pytest.mark.parametrize("name", ["creek-workboat", "library-bus", "many"])
def test_no_drawing_is_torn_by_a_page_and_no_heading_stands_alone(
    browser: Browser, name: str, paper: str, height_mm: float
) -> None:
    """Every picture is lower than the paper within its margins of 12 mm; what is folded on the screen is printed."""
    with opened(browser, file_of(name)) as page:
        headings = set(page.locator("h1, h2, h3, h4, summary").all_text_contents())
        folded = page.locator("details tbody th").all_text_contents()
        data = page.pdf(format=paper, print_background=True)
        assert page.locator("details[open]").count() == 0
        page.emulate_media(media="print")
        page.set_viewport_size({"width": 703, "height": 900})  # 210 mm less margins, at 96 px per inch
        heights = page.eval_on_selector_all(
            ".face > svg, .figure > svg", "all => all.map((one) => one.getBoundingClientRect().height)"
        )
        assert max(heights) / 96 * 25.4 < height_mm - 2 * 12
    texts = [sheet.get_textpage().get_text_range() for sheet in pypdfium2.PdfDocument(io.BytesIO(data))]
    for text in texts:
        last = text.strip().splitlines()[-1].strip()
        assert last not in headings
    whole = "".join("".join(texts).split())
    assert folded
    for name_of_row in folded:
        assert "".join(name_of_row.split()) in whole


def test_text_of_a_user_never_runs(browser: Browser, tmp_path: Any) -> None:
    from allocator.outputs.report import report_html

    path = tmp_path / "report.html"
    path.write_text(report_html(evil_content()), encoding="utf-8")
    with opened(browser, path) as page:
        page.on("dialog", lambda dialog: pytest.fail(dialog.message))
        for part in page.locator(".part").all()[:20]:
            part.click()
            assert page.locator("#about img, #about script, #about svg").count() == 0
        page.get_by_role("searchbox").fill("<script>")
        assert page.locator("script").count() == 2
        assert EVIL[0] in page.locator("#circuits-sheet").inner_text()


def test_it_can_be_read_without_its_script(browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(file_of("starter-camper").as_uri())
    assert page.locator("#tools").is_hidden() and page.locator("#theme").is_hidden()
    assert page.locator("#circuits-sheet tbody tr").first.is_visible()
    assert page.locator(".face svg").first.is_visible()
    context.close()
