"""Bundled vehicles with one thing changed so that they cannot be built: members are needed, and it is proved anew."""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from allocator.explaining.counting import refuted
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.known import Known
from allocator.explaining.settling import answer_without, settled_in_part
from allocator.explaining.ways_out import WaysOut
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.solving.engine import Clock
from allocator.verifying import verify
from tests.cli.running import SCENARIOS
from tests.explaining.test_clashes import LONG_S

BROKEN: Mapping[str, tuple[str, str, str]] = {
    "room of the bus": ("library-bus", "max_bays = 18", "max_bays = 10"),
    "room of the van": ("vet-van", "max_bays = 16", "max_bays = 9"),
    "room of the tractor": ("beach-tractor", "max_bays = 10", "max_bays = 7"),
    "main feed of the tractor": ("beach-tractor", r'(name = "main"[^\[]*rating = )"150 A"', r'\1"100 A"'),
    "body feed of the bus": ("library-bus", r'(name = "body"[^\[]*rating = )"125 A"', r'\1"100 A"'),
    "spare ways of the bus": ("library-bus", r'(fuse_format = "F"\ncount = )3', r"\g<1>40"),
    "rooms of the workboat": ("creek-workboat", r"(?s)max_bays = 9(.*)max_bays = 8", r"max_bays = 3\1max_bays = 3"),
    "room of the camper": ("starter-camper", "max_bays = 3", "max_bays = 1"),
}
"""Scenario, and what becomes of what."""


def broken(name: str, folder: Path) -> Inquiry:
    scenario, old, new = BROKEN[name]
    for path in (SCENARIOS / scenario).iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    text, number = re.subn(old, new, (folder / "scenario.toml").read_text(encoding="utf-8"))
    assert number == 1
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    return Inquiry(load_scenario(folder), Clock(time.monotonic() + LONG_S))


@pytest.mark.parametrize(
    "name", [name if name == "room of the camper" else pytest.param(name, marks=pytest.mark.long) for name in BROKEN]
)
def test_the_clash_is_proved_anew_and_each_member_needed(name: str, tmp_path: Path) -> None:
    """A fresh model of the set alone is refuted by a relaxation; of the set without any one there is a checked plan."""
    inquiry = broken(name, tmp_path)
    known = Known(inquiry)
    reducer = known.reducer(known.everything)
    assert reducer is not None
    found = reducer.fine(reducer.coarse(known.everything))
    assert found is not None
    members = settled_in_part(inquiry, found, 1.0)
    anew = inquiry.sized_anew(members)
    assert anew is not None and refuted(anew, (), inquiry.clock)
    for member in members:
        plan = answer_without(inquiry, members, member).plan
        case = inquiry.sized_anew(inquiry.holding(members - {member}))
        assert plan is not None and case is not None
        assert case.checked(plan)[1] == ()
    for remedy in WaysOut(known).first(known.everything):
        assert verify(size(remedy.plan.requirements), remedy.plan) == ()
