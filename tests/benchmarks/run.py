"""
Measure and write docs/benchmarks.md.

    python -m tests.benchmarks.run                       everything, with the full limits
    python -m tests.benchmarks.run vehicles backwards    some sections
    python -m tests.benchmarks.run growth --only feeds   what has this in its name
    python -m tests.benchmarks.run --missing             what was never measured with these limits
    python -m tests.benchmarks.run --quick               with short limits and few seeds, to see that all works
    python -m tests.benchmarks.run --page                nothing: just write the page from what is kept

Rows are kept in ``tests/benchmarks/results`` as they come, and the page is written from them in the end.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks import sections
from tests.benchmarks.results import Results, circumstances
from tests.benchmarks.section import Section
from tests.benchmarks.timed import warm_up

PAGE = Path(__file__).parents[2] / "docs" / "benchmarks.md"


def measure(section: Section, *, quick: bool, only: str, missing: bool) -> None:
    """Measure the tasks of a section that were asked for, and keep each result at once."""
    results, about = Results.read(section.name), circumstances(quick)
    started = time.monotonic()
    for task in section.tasks(quick):
        kept = results.rows.get(task.name)
        if only not in task.name or (missing and kept is not None and kept["about"]["limits"] == about["limits"]):
            continue
        before = time.monotonic()
        results.keep(task.name, task.measure(), about)
        print(f"{section.name} {task.name}: {time.monotonic() - before:.1f} s", flush=True)
    print(f"{section.name}: {time.monotonic() - started:.0f} s in all", flush=True)


def page() -> Iterator[str]:
    """Yield the lines of the page."""
    yield "# Benchmarks"
    yield ""
    yield "Made by `python -m tests.benchmarks.run` (one part: `python -m tests.benchmarks.run growth`); do not edit."
    yield ""
    yield from sections.FOREWORD.strip().splitlines()
    yield ""
    for section in sections.SECTIONS:
        results = Results.read(section.name)
        yield f"## {section.title}"
        yield ""
        if not results.rows:
            yield "Not measured yet."
            yield ""
            continue
        yield from section.page(results.rows)
        for about in results.about():
            limits = " Short limits, to see that all works." if about["limits"] == "short" else ""
            yield (
                f"*Measured on {about['day']}: {about['processor']}, Python {about['python']}, "
                f"OR-Tools {about['ortools']}, HiGHS {about['highs']}.{limits}*"
            )
        yield ""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    known = [section.name for section in sections.SECTIONS]
    parser.add_argument("sections", nargs="*", metavar="section", help=", ".join(known))
    parser.add_argument("--only", default="", help="tasks with this in their name")
    parser.add_argument("--missing", action="store_true")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--page", action="store_true")
    asked = parser.parse_args()
    unknown = sorted({*asked.sections} - {*known})
    if unknown:
        parser.error(f"no section {', '.join(unknown)}; there are {', '.join(known)}")
    if not asked.page:
        warm_up()
        for section in sections.SECTIONS:
            if not asked.sections or section.name in asked.sections:
                measure(section, quick=asked.quick, only=asked.only, missing=asked.missing)
    PAGE.write_text("\n".join(page()).rstrip() + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
