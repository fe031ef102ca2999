"""A plan of our own making that the checker refuses is raised as the bug that it is, with all that was found."""

from __future__ import annotations

import pytest

from allocator.errors import BrokenPlan
from allocator.solving.refusing import refuse_broken
from allocator.verifying import Finding


def test_nothing_is_raised_where_nothing_was_found() -> None:
    refuse_broken(())


def test_every_finding_and_every_other_fault_is_named() -> None:
    found = (Finding("way-exists", "cabin/2/A/9", "there is no such way"), Finding("pin", "cabin/2/A/1", "is pinned"))
    with pytest.raises(BrokenPlan) as raised:
        refuse_broken(found, ["moved-wires: stated is 1, counted 2"])
    assert str(raised.value).splitlines() == [
        "cabin/2/A/9: there is no such way  [way-exists]",
        "cabin/2/A/1: is pinned  [pin]",
        "moved-wires: stated is 1, counted 2",
    ]
    with pytest.raises(BrokenPlan):
        refuse_broken((), ["moved-wires: stated is 1, counted 2"])
