"""What binds a plan, in why.csv, summary and report: the same lines from the plan alone."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from allocator.outputs.content import Content
from allocator.outputs.report import report_html
from allocator.outputs.summary import summary_text
from allocator.outputs.texts import texts_of
from allocator.outputs.why import COLUMNS
from allocator.plan.files import plan_from, plan_text
from allocator.plan.why import Counts, Eased, HeadRoom, Why
from tests.outputs.conftest import content_of

PAGE = (Path(__file__).parents[2] / "docs" / "explanations.md").read_text(encoding="utf-8")
WHY = Why(
    counts=Counts(bays=2, module_types=2, strip_pieces=5),
    eased=(
        Eased(
            requirement='circuit "a" is switched by a relay',
            where="plan.json, [[circuits]] no. 1",
            instead='circuit "a" without its relay',
            also=("b", "c"),
            saves="bays",
            counts=Counts(bays=1, module_types=1, strip_pieces=5),
            plan="eased-1.json",
        ),
        Eased(requirement="=1+1", where="plan.json", instead="=2+2", proof="relaxation"),
        Eased(requirement="rule", where="plan.json", instead="no rule", is_open=True),
        Eased(requirement="pin", where="plan.json", instead="no pin", is_open=True, not_less=("bays", "module-types")),
    ),
    load="2 A",
    head_room=(
        HeadRoom(fuse_format="F", feed="battery", relay=False, count=3, is_most=True, at_most=3, proof="relaxation"),
        HeadRoom(fuse_format="F", feed="battery", relay=True, count=1, is_most=False, at_most=4),
        HeadRoom(fuse_format="C", feed="battery", relay=True, count=1, is_most=False),
    ),
    was_cut=True,
)


def asked() -> Content:
    content = content_of("small")
    return Content(content.sized, content.plan.model_copy(update={"why": WHY}))


def test_the_table_has_a_row_for_each_and_no_formula() -> None:
    first, second, third, fourth, room, other, last, *remarks = csv.DictReader(
        io.StringIO(texts_of(asked())["why.csv"])
    )
    assert (first["saves"], first["bays"], first["also_for"], first["plan"]) == ("bays", "1", "b; c", "eased-1.json")
    assert (second["requirement"], second["saves"], second["known_by"]) == ("'=1+1", "nothing", "relaxation")
    assert (third["saves"], third["not_less"], third["known_by"]) == ("not settled", "", "")
    assert (fourth["saves"], fourth["not_less"]) == ("not settled", "bays; module-types")
    assert (room["fuse_format"], room["relay"], room["count"], room["known_by"]) == ("F", "no", "3", "relaxation")
    assert (other["relay"], other["count"], other["known_by"], other["at_most"]) == ("yes", "1", "not settled", "4")
    assert (last["count"], last["at_most"]) == ("1", "")
    assert "time ended the search" in remarks[0]["requirement"]


def test_its_columns_are_explained_once() -> None:
    cells = re.findall(r"^\| (`.*?) \|", PAGE.partition("column of why.csv")[2], flags=re.MULTILINE)
    assert sorted(name for cell in cells for name in re.findall(r"`([a-z_]+)`", cell)) == sorted(COLUMNS)


def test_the_summary_says_what_saves_and_what_room_is_left() -> None:
    said = summary_text(asked())
    assert (
        '  saves a bay (1 bay, 1 module type and 5 feed entries): circuit "a" without its relay '
        "(the same for b, c); eased-1.json\n"
    ) in said
    assert (
        "  1 other easing saved none of these: proven; 2 not settled to the end, of which 1 saves no bay and "
        "1 saves no module type: proven\n"
    ) in said
    assert (
        "  type F on battery: 3 without relay, 1 to 4 with relay\n  type C on battery: 1 or more with relay\n" in said
    )


def test_the_report_has_a_chapter_of_it() -> None:
    page = report_html(asked())
    assert "if the panel is planned anew: all else may move" in page
    assert "What binds, and what room is left" in page and "eased-1.json" in page and "1 or more" in page
    assert "no bay and no module type; the rest not settled" in page


def test_nothing_is_said_of_a_plan_that_nobody_asked_about() -> None:
    content = content_of("small")
    assert "why.csv" not in texts_of(content)
    assert "What binds" not in report_html(content) and "What binds" not in summary_text(content)


def test_the_plan_file_keeps_it() -> None:
    import json

    assert plan_from(json.loads(plan_text(asked().plan))).why == WHY
