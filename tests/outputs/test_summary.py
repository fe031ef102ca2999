"""The summary, whole."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import get_args

from allocator.outputs import CAUTIONS, summary_text
from allocator.outputs.cautions import KINDS, cautions_in_brief
from allocator.outputs.content import Content
from allocator.outputs.report.chapters import PROOFS
from allocator.plan.index import PlanIndex
from allocator.plan.measures import measure
from allocator.plan.plan import GoalResult
from allocator.sizing.cautions import CAUTIONS as RULES_OF_SIZING
from allocator.sizing.sized import Caution
from tests.outputs.conftest import content_of
from tests.plan.plans import small
from tests.plan.test_cautions import ONLY_OF_A_PLAN

WHOLE = """\
test: plan {number}
4 circuits, 2 feeds

Goals, first one first
  bays                    4  best possible (search)
  module types            2  best possible (search)
  feed entries            4  best possible (search)
  peak feed load     50.0 %  best so far; at least 25.0 % (cut by time)
  long jumpers            1  best possible (search)
  price of parts  38.41 EUR  best possible (search)
  Time or an interrupt cut the search short: another run may end elsewhere.

Goal by goal: where each amount comes from, and why it is not less
  bays: 4, best possible (search)
    1  cabin/1: twin: 4 of 8 ways used (fan, horn, lamp, pump)
    1  cabin/2: mixed: 1 of 2 ways and 2 of 2 sockets used (pump, feed key)
    2  cabin/3+4: no module: carrier carrier-4 has 4 bays
    - in parts of a bay, count 1/2 for a micro socket and 1/8 for a way of type F: no module on
      offer holds more than its bays; everything comes to 1.50, so there are at least 4 bays of the
      carriers allowed
  module types: 2, best possible (search)
    1  twin: nothing else in the panel has ways of type F (fan, horn, lamp, pump)
    1  mixed: nothing else in the panel has ways of type E and micro sockets (pump, feed key)
  feed entries: 4, best possible (search)
    1  cabin/1/A/1-2: feed battery, strip piece, 2 ways of type F, 10.20 A of 10000.00 A in day
       (horn, pump)
    1  cabin/1/A/3-3: feed key, strip piece, 1 way of type F, 5.00 A of 10000.00 A in night (lamp)
    1  cabin/1/B/1-1: feed key, strip piece, 1 way of type F, 3.00 A of 10000.00 A in day (fan)
    1  cabin/2/A/1-1: feed battery, strip piece, 1 way of type E, 8.20 A of 10000.00 A in night
       (feed key)
    - feed battery: at least 2 entries: 1 for 2 ways of type F and 1 for 1 way of type E
    - feed key: at least 1 entry for 2 ways of type F
    - together at least 3 entries by these sums alone
  peak feed load: 50.0 %, best so far; at least 25.0 % (cut by time)
    31.3 %  lamp: 5.00 A; on no other feed
    18.7 %  fan: 3.00 A; on no other feed
    - highest: feed key in night; 16.00 A allowed, of which what can be on no other feed comes to
      50.0 % by itself
  long jumpers: 1, best possible (search)
    1  pump: cabin/1/A/2 to cabin/2/S2: no module on offer has a row of type F and a micro socket
  price of parts: 38.41 EUR, best possible (search)
    10.00 EUR  carrier-4: 1 piece of carrier-4
     9.00 EUR  mixed: 1 piece of mixed
     8.00 EUR  twin: 1 piece of twin
     4.00 EUR  relay-micro: 2 pieces of relay-micro (pump, feed key)
     3.78 EUR  wire: 4.20 m of wire (pump, feed key)
     1.20 EUR  fuse-F: 4 pieces of fuse-F (fan, horn, lamp, pump)
     1.00 EUR  strip: 5 ways of strip
     0.65 EUR  tab: 13 pieces of tab (fan, horn, lamp, pump, feed key)
     0.50 EUR  fuse-E: 1 piece of fuse-E (feed key)
     0.28 EUR  inlet: 4 pieces of inlet
     0.00 EUR  a-bay: 4 pieces of a-bay
    and 12 more, in goals.csv

Panels
  cabin: carrier-4
    bay 1  twin   4 of 8 ways                  heat up to 0.2 W in night
    bay 2  mixed  1 of 2 ways, 2 of 2 sockets  heat up to 5.7 W in night

Feeds: largest load over all load cases
  feed     entries     load  allowed   share  in case
  battery        2  14.40 A  48.00 A  30.0 %  night
  key            2   8.00 A  16.00 A  50.0 %  night

Crimps: 18, by terminal and size of wire
  tab 6.3 mm    7: 7 x 120 mm²
  inlet 6.3 mm  4: 4 x 120 mm²
  ring M6       7: 7 x 120 mm²
  supply of the ways: 5 bridged by 4 strip pieces, 0 by a terminal of their own, 0 on a solid bus

Cautions
"""


def test_the_summary_of_a_small_plan() -> None:
    sized, plan = small()
    values = measure(sized, plan)
    goals = []
    for goal in sized.requirements.scenario.rules.goals:
        open_ = goal == "peak-utilisation"
        goals.append(
            GoalResult(
                goal=goal,
                value=values[goal],
                bound=Fraction(1, 4) if open_ else values[goal],
                outcome="best so far" if open_ else "best possible",
                closed_by="cut by time" if open_ else "search",
            )
        )
    plan = plan.model_copy(update={"goals": tuple(goals), "depends_on_time": True, "cautions": ("horn: loud",)})
    text = summary_text(Content(sized, plan))
    number = text.splitlines()[0].rsplit(" ", 1)[1]
    assert text.split("Cautions\n")[0] + "Cautions\n" == WHOLE.format(number=number)
    assert "  - horn: loud" in text
    timed = summary_text(Content(sized, plan), seconds_by_goal={"bays": 1.23, "price": 20.0})
    lines = [line.rsplit("  ", 1) for line in timed.splitlines()[4:10]]
    assert [line[0].rstrip() for line in lines] == text.splitlines()[4:10]
    assert [line[1].strip() for line in lines] == ["1.2 s", "0.0 s", "0.0 s", "0.0 s", "0.0 s", "20.0 s"]


def test_the_report_has_words_for_every_proof() -> None:
    assert set(PROOFS) == set(get_args(GoalResult.model_fields["closed_by"].annotation))


def test_every_summary_carries_every_caution(sample_name: str) -> None:
    content = content_of(sample_name)
    text = " ".join(summary_text(content).split())
    assert all(caution in text for caution in (*CAUTIONS, *(" ".join(item.split()) for item in content.plan.cautions)))


def test_spare_ways_are_named_by_their_place() -> None:
    content = content_of("large")
    text = summary_text(content)
    block = text.partition("Spare ways: fed, no fuse fitted\n")[2].partition("\n\n")[0]
    rows = [" ".join(line.split()) for line in block.splitlines()]
    spares = [item for item in content.index.needs if item.need.kind == "spare"]
    assert len(rows) == len(spares) == 2
    for item in spares:
        assert item.way is not None
        place = f"{item.panel} bay {item.way.bay} row {'ABC'[item.way.row or 0]} way {item.way.first}"
        assert f"{place} type F on {item.feed}" in rows


def test_every_kind_of_caution_has_its_sentence() -> None:
    assert set(KINDS) == {*RULES_OF_SIZING, *ONLY_OF_A_PLAN}


def test_in_brief_every_kind_is_told_once_and_the_grave_ones_whole(sample_name: str) -> None:
    content = content_of(sample_name)
    told = list(cautions_in_brief(content.index))
    assert told[0] == " ".join(CAUTIONS)
    raised = {item.rule for item in content.cautions}
    kinds = [rule for rule in KINDS if rule in raised]
    assert len(told) == 1 + len(raised)
    for rule, sentence in zip(kinds, told[1:], strict=True):
        assert sentence.startswith(KINDS[rule].partition("{}")[0])
        about = [item.about for item in content.cautions if item.rule == rule]
        assert all(name in sentence for name in about) or "more" in sentence or rule == "figure-from-memory"
        assert "more" not in sentence or rule not in list(KINDS)[:7]


def test_in_brief_nothing_unknown_is_lost() -> None:
    content = content_of("small")
    news = Caution("new-rule", "horn", "horn: a new rule")
    raised = (news, Caution("module-too-hot", "dash, bus-e5", "too hot"))
    sized = replace(content.sized, cautions=raised, sizings=())
    plan = content.plan.model_copy(update={"cautions": (news.text, "written by hand")})
    told = list(cautions_in_brief(PlanIndex(sized, plan)))
    assert told[1:] == ["too hot for it: dash bus-e5", "new rule: horn", "written by hand"]
