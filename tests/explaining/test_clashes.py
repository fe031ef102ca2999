"""A panel that cannot be built: what clashes is found, each part is needed, and each way out is a plan."""

from __future__ import annotations

from functools import cache

import pytest

from allocator.explaining.clash import Clash
from allocator.explaining.clashes import explain
from allocator.sizing import size
from allocator.verifying import verify
from tests.explaining.broken import BROKEN

BEYOND = {
    "feed-current", "piece-current", "row-current", "module-current", "fuse-carries-load", "relay-carries-load",
}  # fmt: skip
LONG_S = 120.0
"""Far more than is needed: what is tested must not depend on the speed of the machine."""


@cache
def explained(name: str) -> Clash:
    clash = explain(BROKEN[name].requirements, time_limit_s=LONG_S)
    assert clash is not None
    return clash


@pytest.mark.parametrize("name", BROKEN)
def test_the_clash_is_the_least_one(name: str) -> None:
    """Proven the smallest, refuted anew as a whole, and each member shown to be needed."""
    clash = explained(name)
    assert {member.demand.name for member in clash.members} == {*BROKEN[name].clash}
    assert (clash.is_smallest, clash.is_irreducible, clash.proved_again, clash.was_cut) == (True, True, True, False)


@pytest.mark.parametrize("name", BROKEN)
def test_the_way_out_is_named_and_is_a_plan(name: str) -> None:
    """Each plan is one of the whole vehicle but for what is eased; the checker finds nothing else."""
    clash = explained(name)
    said = {words: remedy for remedy in clash.remedies for _, words in remedy.eased}
    assert BROKEN[name].remedy in said
    for remedy in clash.remedies:
        found = {finding.rule for finding in verify(size(remedy.plan.requirements), remedy.plan)}
        assert found == set() if remedy.is_on_offer else found <= BEYOND and found
