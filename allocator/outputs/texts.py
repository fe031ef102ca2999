"""
The part of a plan's outputs that is text and needs no drawing: plan.json, lists and summary.

Comes in as the Content of a plan; goes out as the text of every such file by its name. Nothing that draws is loaded for
it, so that many plans can be written in little memory.
"""

from __future__ import annotations

from allocator.outputs.accounts import GOALS_FILE, goals_csv
from allocator.outputs.content import Content
from allocator.outputs.crimps import crimps_csv
from allocator.outputs.failures import failures_csv
from allocator.outputs.lists import parts_csv, wires_csv
from allocator.outputs.summary import summary_text
from allocator.outputs.why import WHY_FILE, why_csv
from allocator.outputs.workshop.expectations import expectations_csv
from allocator.plan.files import plan_text


def texts_of(content: Content) -> dict[str, str]:
    """Return the text of plan.json, of every list and of the summary, by file name."""
    why = {} if content.plan.why is None else {WHY_FILE: why_csv(content, content.plan.why)}
    return why | {
        "plan.json": plan_text(content.plan),
        "parts.csv": parts_csv(content),
        "wires.csv": wires_csv(content),
        "tests.csv": expectations_csv(content),
        "crimps.csv": crimps_csv(content),
        "failures.csv": failures_csv(content),
        GOALS_FILE: goals_csv(content),
        "summary.txt": summary_text(content),
    }
