"""
report.html: the plan as one page that works offline, on a screen of any width and on paper.

Comes in as the Content of a plan; goes out as HTML text, the same bytes for the same plan. Style, script and data stand
in the file. Whatever a user wrote is escaped by the templates, and the page's own policy lets a browser run this one
script and load nothing.
"""

from __future__ import annotations

import base64
import hashlib
import json
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.paper import Box
from allocator.outputs.report.chapters import chapters_of
from allocator.outputs.report.facts import Facts
from allocator.outputs.report.items import Items
from allocator.outputs.report.picture import Picture, hatches

MARK_MM = (6.0, 3.0)
_JSON_ESCAPES = {ord(sign): f"\\u{ord(sign):04x}" for sign in "<>&\u2028\u2029"}


def report_html(content: Content) -> str:
    """Return the report page."""
    items = Items(content)
    facts = Facts(content, items.failures)
    style, script = _read("page.css"), _read("page.js")
    scenario = content.sized.requirements.scenario
    text = _environment().get_template("page.html").render(
        vehicle=clean(scenario.vehicle.name),
        number=content.number,
        issue=clean(". ".join(filter(None, (content.issue_text, content.supersedes_text)))),
        version=content.plan.allocator_version,
        notice=clean(content.sized.requirements.catalogue.notice),
        general=content.plan.general_cautions,
        volts=f"{scenario.vehicle.nominal_voltage:g}",
        return_path=scenario.vehicle.return_path,
        chapters=tuple(chapters_of(content, items, facts)),
        feeds=[(feed.name, facts.feed_title(feed.name)) for feed in scenario.feeds],
        cases=[(case.name, clean(case.name)) for case in scenario.load_cases],
        marks=_marks(content),
        hatches=hatches(),
        # trusted: files of this package
        style=Markup(style),
        script=Markup(script),
        policy=f"default-src 'none'; style-src {_digest(style)}; script-src {_digest(script)}; base-uri 'none'; "
        "form-action 'none'",
        data=_json(_data(items)),
    )  # fmt: skip
    return str(text)


def _marks(content: Content) -> dict[str, Markup]:
    """Return the mark of every feed, small."""
    marks = {}
    for feed, mark in content.marks.items():
        picture = Picture(MARK_MM, f"mark of feed {mark.code}")
        picture.feed_bar(Box(0.2, 0.2, MARK_MM[0] - 0.4, MARK_MM[1] - 0.4), mark, weight=0.7)
        marks[feed] = picture.markup()
    return marks


def _data(items: Items) -> dict[str, Any]:
    """Return what the script needs: items by number, so that each key stands there once."""
    number_by_key = {key: number for number, key in enumerate(items.by_key)}
    return {
        "keys": list(items.by_key),
        "items": [
            {
                "name": item.name,
                "title": item.title,
                "facts": item.facts,
                "lights": [number_by_key[key] for key in item.lights],
                "feeds": item.feeds,
                "cases": item.cases,
            }
            for item in items.by_key.values()
        ],
        "cases": items.cases,
    }


def _json(data: object) -> Markup:
    """Return data as JSON that can stand within a script element, whatever text is in it."""
    return Markup(json.dumps(data, ensure_ascii=False, separators=(",", ":")).translate(_JSON_ESCAPES))


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _read(name: str) -> str:
    return resources.files(__package__).joinpath("templates", name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("allocator.outputs.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
