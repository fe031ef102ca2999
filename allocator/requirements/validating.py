"""
A draft in, every fault of its cross-references and ranges out.

The schema has already judged each value on its own; here the tables of a vehicle are held against each other. Each
check skips what another fault has made uncertain, so that one slip of the pen is one fault.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.requirements.checks.circuits import circuit_faults
from allocator.requirements.checks.controls import control_faults
from allocator.requirements.checks.feeds import feed_faults
from allocator.requirements.checks.names import name_faults
from allocator.requirements.checks.own_figures import own_figure_faults
from allocator.requirements.checks.parts import part_faults
from allocator.requirements.checks.rules import rule_faults
from allocator.requirements.drafting import Draft
from allocator.requirements.places import PlacedFault


def cross_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault between the tables of a scenario, and between it and the catalogue."""
    for check in (name_faults, feed_faults, control_faults, circuit_faults, rule_faults, own_figure_faults):
        yield from check(draft)


def catalogue_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of a catalogue as such."""
    yield from part_faults(draft)
