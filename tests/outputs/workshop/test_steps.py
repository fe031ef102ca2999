"""Building steps: first things first, and what they count is what the bill holds."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace

import pytest

from allocator.notices import CAUTIONS
from allocator.outputs.changes.words import ISOLATE
from allocator.outputs.content import Content
from allocator.outputs.workshop.expectations import expectations
from allocator.outputs.workshop.steps import Step, steps, steps_table
from allocator.outputs.workshop.testing import HOW, continuity_table
from allocator.plan.parts import bill_of_index, supplies
from tests.outputs.conftest import BUNDLED, content_of
from tests.outputs.packer import packed
from tests.outputs.samples import SMALL

NAMES = ["small", "large", "many", *BUNDLED]
ORDER = (
    "cut strip pieces", "cut wires", "label both ends of every wire", "crimp", "fit distribution studs",
    "fit the main holder", "label fuse holders",
    "push in strip pieces", "insert terminals", "retain terminals, close empty cavities", "clip in modules",
    "fix carriers", "bolt rings to distribution studs", "bolt rings to main holders",
    "test continuity", "plug in in-line fuses", "plug in the main fuse", "plug in relays",
    "plug in fuses", "test every circuit", "put legends into the covers",
    "put covers on",
)  # fmt: skip


def steps_of(name: str) -> list[Step]:
    return list(steps(content_of(name)))


def total(found: list[Step], action: str) -> int:
    return sum(step.count for step in found if step.action.startswith(action))


@pytest.mark.parametrize("name", NAMES)
def test_counts_are_those_of_the_plan(name: str) -> None:
    content, found = content_of(name), steps_of(name)
    bill, catalogue = bill_of_index(content.index), content.sized.requirements.catalogue
    strips = sum(entry.piece.kind == "strip" for entry in content.index.entries)
    assert total(found, "cut strip pieces") == total(found, "push in strip pieces") == strips
    assert total(found, "cut wires") == len(content.runs)
    assert total(found, "crimp") == sum(bill.parts.get(part.id, 0) for part in catalogue.terminals)
    assert total(found, "plug in relays") == len(content.index.socket_by_place)
    fuses = sum(total(found, f"plug in {which}") for which in ("fuses", "in-line fuses", "the main fuse"))
    assert fuses == sum(bill.parts.get(part.id, 0) for part in catalogue.fuses)
    assert total(found, "clip in modules") == len(content.index.modules)
    assert total(found, "fit distribution studs") == sum(bill.parts.get(part.id, 0) for part in catalogue.studs)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_done_in_the_vehicle_is_counted(name: str) -> None:
    """Carriers fixed, every ring bolted, every holder labelled, as many continuity tests as the test sheet has rows."""
    content, found = content_of(name), steps_of(name)
    bill, catalogue = bill_of_index(content.index).parts, content.sized.requirements.catalogue
    assert total(found, "fix carriers") == len(content.index.carriers)
    arriving = supplies(content.index)
    at_studs = sum(item.num_entries + 1 + 2 * item.num_links for item in arriving if item.num_studs)
    assert total(found, "bolt rings to distribution studs") == at_studs
    mains = {item.feed.name: item.feed.main for item in arriving if item.feed.main is not None}
    leads = sum(bool(main.lead_rings) for main in mains.values())
    cables = sum(item.feed.main is not None for item in arriving)
    assert total(found, "bolt rings to main holders") == cables + leads
    assert total(found, "bolt rings to the source") == leads
    holders = sum(bill.get(part.id, 0) for part in (*catalogue.holders, *catalogue.main_holders))
    assert total(found, "label fuse holders") == holders
    table = continuity_table(content, tuple(expectations(content)))
    assert total(found, "test continuity") == len(table.rows)


def test_the_studs_of_a_panel_called_supply_are_no_main_holders() -> None:
    """Places at the source begin with the same word."""
    (modules,), (carriers,) = SMALL.modules.values(), SMALL.carriers.values()
    content = Content(*packed(replace(SMALL, modules={"supply": modules}, carriers={"supply": carriers})))
    arriving = supplies(content.index)
    assert any(item.num_studs for item in arriving)
    holders = total(list(steps(content)), "bolt rings to main holders")
    assert holders == sum(item.feed.main is not None for item in arriving)


@pytest.mark.parametrize("name", NAMES)
def test_every_accessory_is_fitted_somewhere(name: str) -> None:
    content = content_of(name)
    bill = bill_of_index(content.index)
    fitted: Counter[str] = Counter()
    for step in steps(content):
        for part in content.sized.requirements.catalogue.accessories:
            fitted[part.id] += sum(map(int, re.findall(rf"(?:^|; )(\d+) {re.escape(part.label)}", step.detail)))
    assert +fitted == {part: bill.parts[part] for part in fitted if bill.parts.get(part)}


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_first_things_come_first(name: str) -> None:
    """Each kind of step begins after the kinds before it have begun; modules are built one after the other."""
    actions = [step.action for step in steps_of(name)]
    begins = [next((n for n, found in enumerate(actions) if found.startswith(action)), None) for action in ORDER]
    there = [begin for begin in begins if begin is not None]
    assert there == sorted(there)
    assert len(there) >= len(ORDER) - 1


@pytest.mark.parametrize("name", NAMES)
def test_no_fuse_is_in_before_what_is_tested_without_it(name: str) -> None:
    """The order of the test sheet: no fuse before continuity, each main fuse with its test, those of circuits last."""
    found = steps_of(name)
    stages = list(dict.fromkeys(step.stage for step in found if "test" in step.stage or step.stage == "fit relays"))
    wanted = ["test without power", "test feed by feed", "fit relays", "test circuit by circuit"]
    assert stages == [stage for stage in wanted if stage in stages]
    tests = [test for test, _ in HOW]
    said = [match[1] for step in found if (match := re.search(r"tests\.pdf, (\w+)$", step.detail))]
    assert list(dict.fromkeys(said)) == [test for test in tests if test in said] == ["continuity", "feeds", "circuits"]
    mains = [step for step in found if step.action.startswith("plug in the main fuse")]
    roots = [feed.name for feed in content_of(name).sized.requirements.scenario.feeds if feed.source is None]
    entered = {entry.piece.feed for entry in content_of(name).index.entries}
    assert len(mains) == len(entered & set(roots))


def test_whoever_works_is_told_to_disconnect_every_battery() -> None:
    """Root feeds may come from several: the workboat has a service battery and a house battery."""
    content = content_of("creek-workboat")
    batteries = {
        feed.label.split()[0] for feed in content.sized.requirements.scenario.feeds if "battery," in feed.label
    }
    assert len(batteries) > 1
    said = [*CAUTIONS, ISOLATE, *(text for _, text in HOW), *(step.detail for step in steps(content))]
    told = [text.lower() for text in said if "disconnect" in text.lower()]
    assert len(told) > 10
    for text in told:
        orders = re.findall(r"disconnect (\w+ battery)|(\w+ battery) disconnected", text)
        assert {"".join(order) for order in orders} == {"every battery"}, text


def test_how_a_part_is_fitted_is_said_once() -> None:
    details = " ".join(step.detail for step in steps_of("creek-workboat"))
    assert details.count("goes in after all terminals of the row") == 1


def test_every_step_has_a_number_and_a_box() -> None:
    table = steps_table(content_of("small"))
    assert [row[0] for row in table.rows] == [str(number) for number in range(1, len(table.rows) + 1)]
    assert {row[-1] for row in table.rows} == {"☐"}
