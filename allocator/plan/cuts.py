"""
How long every wire is cut: its length, with what bends along the run and both crimps take.

Comes in as a run of a plan with its requirements; goes out as whole millimetres, for the order and the bench. Prices
and drops are those of the length itself.
"""

from __future__ import annotations

import math
from fractions import Fraction

from allocator.plan.wiring import Run
from allocator.requirements.scenario import Requirements
from allocator.units import whole_mm

PERCENT = 100


def cut_mm(run: Run, requirements: Requirements) -> int | None:
    """
    Return the length to cut a wire to, mm, rounded up; None where the builder measures it.

    Parameters
    ----------
    run
        The wire.
    requirements
        Its vehicle: ``run_allowance`` of the rules lengthens runs that leave the panel, which are measured along a
        vehicle that is not built yet; ``end_allowance`` of the catalogue is added at each end.
    """
    if not run.length_mm:
        return None
    share = Fraction(str(requirements.scenario.rules.run_allowance)) if run.role == "wire" else Fraction(0)
    run_mm = run.length_mm * (1 + share / PERCENT)
    return math.ceil(run_mm) + 2 * whole_mm(requirements.catalogue.end_allowance)
