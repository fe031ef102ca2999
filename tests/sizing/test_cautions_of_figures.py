"""Cautions about what the sums rest on, compared whole: own figures, figures from memory, rules that ask for less."""

from __future__ import annotations

import pytest

from tests.sizing.vehicles import Table, circuit, told


def test_own_figures_are_told_cell_by_cell_with_what_was_published():
    own = {"figures": {"fuse_share": {"C": {"65 degC": "70 %", "105 degC": "50 %"}}, "selectivity": 2}}
    share, ratio = told("figure-of-ones-own", rules=own)
    assert share[0] == "fuse_share" and share[1].startswith(
        "fuse_share is this vehicle's own: C, 65: 0.7 in place of 0.76; C, 105: 0.5 where nothing is published "
        "(published: "
    )
    assert ratio == (
        "selectivity",
        "selectivity is this vehicle's own: 2 in place of 1.6 (published: main fuse over its largest branch, for "
        "selectivity)",
    )


def test_figures_from_memory_are_told_with_value_and_what_they_are():
    """Those that are tables have no one value."""
    found = told("figure-from-memory", circuit(fuse_format="F"))
    assert found[0] == (
        "adiabatic_longest",
        "a figure was used that no source confirms (adiabatic_longest, 5 s): BS 7671 chapter 54: up to here no heat "
        "leaves the conductor",
    )
    assert found[1][0] == "fuse_ratings_recalled"
    assert found[1][1].startswith("a figure was used that no source confirms (fuse_ratings_recalled): ")
    assert len(found) == 2


LOOSER = {
    "loading_factor": (75, "fuses run hotter and may open without a fault"),
    "feed_loading": (80, "feeds have less to spare"),
    "drop_critical": (3, "critical loads may get too little voltage"),
    "drop_other": (10, "loads may get too little voltage"),
    "bundle_factor": (70, "wires in a bundle heat each other more than it allows for"),
}
"""Rules in percent: the default, and what a looser one means."""


@pytest.mark.parametrize("name", LOOSER)
def test_a_rule_is_looser_above_its_default(name: str) -> None:
    default, means = LOOSER[name]
    small = circuit(load="1 A")
    assert told("rule-loosened", small, rules={name: f"{default} %"}) == []
    assert told("rule-loosened", small, rules={name: f"{default + 0.5} %"}) == [
        (name, f"the rule {name} is {default + 0.5} %, looser than the default of {default} %: {means}")
    ]


def test_every_looser_rule_is_told():
    rules = {"drop_other": "12 %", "loading_factor": "80 %", "fuse_over_wire": "small-craft-150"}
    found = told("rule-loosened", circuit("a", drop="11 %"), rules=rules)
    assert [about for about, _ in found] == ["loading_factor", "drop_other", "fuse_over_wire", "a"]
    assert found[2][1] == (
        'the rule fuse_over_wire is "small-craft-150", looser than the default "never": a fuse may stand at up to '
        "150% of what the run behind it carries, and an overload in between heats it"
    )


@pytest.mark.parametrize(
    ("loose", "names"),
    [
        ([{"critical": True, "drop": "3 %"}, {"drop": "10 %"}, {}], []),
        ([{"critical": True, "drop": "3.1 %"}, {"drop": "3.1 %"}, {}], ["c0"]),
        ([{"critical": True}, {"drop": "10.1 %"}, {"critical": True, "drop": "9 %"}], ["c1", "c2"]),
    ],
)
def test_circuits_that_may_lose_more_than_the_default_are_told_with_what_they_may(loose: list[Table], names: list[str]):
    circuits = [circuit(f"c{index}", **fields) for index, fields in enumerate(loose)]
    listed = ", ".join(f"{item['id']} {item['drop']}" for item in circuits if item["id"] in names)
    text = "circuits may lose more voltage than the default of 3 % for critical and 10 % for other circuits: "
    assert told("rule-loosened", *circuits) == ([(", ".join(names), text + listed)] if names else [])
