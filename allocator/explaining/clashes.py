"""
Why there is no plan: demands that clash, none of them without need, and the cheapest ways out, each with a plan.

Requirements that cannot be met come in; a ``Clash`` goes out. ``docs/explanations.md`` says what is claimed and how it
is backed.
"""

from __future__ import annotations

import time

from allocator.explaining.asking import refuted_as_a_whole
from allocator.explaining.clash import Clash, Needed
from allocator.explaining.counting import refuted
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.known import Known
from allocator.explaining.remedies import Remedy
from allocator.explaining.settling import answer_without, settled, settled_in_part
from allocator.explaining.smallest import fewest_of_any
from allocator.explaining.ways_out import WaysOut
from allocator.requirements.scenario import Requirements
from allocator.solving.engine import Clock

DEFAULT_TIME_S = 6.5
GRACE_S = 0.5
"""How long a clash may be proved anew when time is up."""
SHARE_OF_WAYS_OUT = 0.2
"""Share of the time that is kept for ways out while many members are shown to be needed, if none is known by then."""


def explain(
    requirements: Requirements, *, time_limit_s: float = DEFAULT_TIME_S, clock: Clock | None = None
) -> Clash | None:
    """
    Say why requirements cannot be met.

    Parameters
    ----------
    requirements
        One vehicle, which can be sized but not built.
    time_limit_s
        Wall time; what was not settled then is said to be open.
    clock
        In place of ``time_limit_s``: a clock that others may stop.

    Returns
    -------
    Clash or None
        None where nothing could be proven in the time.
    """
    clock = clock or Clock(time.monotonic() + time_limit_s)
    return clash_of(Inquiry(requirements, clock))


def clash_of(inquiry: Inquiry) -> Clash | None:
    """Say which demands of an inquiry clash; None where they do not, or that was not settled."""
    known = Known(inquiry)
    ways_out = WaysOut(known)
    reducer = known.reducer(known.everything)
    if reducer is None:
        return None
    coarse = reducer.coarse(known.everything)
    remedies = [] if known.by_search else ways_out.first(coarse)
    first = reducer.fine(coarse)
    if first is None:
        return None
    known.keep(first, reducer)
    if known.is_large:
        remedies = remedies or ways_out.first(first)
        known.sets[0] = settled_in_part(inquiry, first, 1.0 if remedies else 1 - SHARE_OF_WAYS_OUT)
    else:
        known.sets[0] = settled(inquiry, first, lambda name: not name.startswith("circuit "))
    remedies += ways_out.further(len(remedies))
    known.sets[0] = settled(inquiry, known.sets[0])
    fewest = fewest_of_any(known)
    return _clash(known, sorted(remedies, key=lambda remedy: remedy.weight), fewest)


def _clash(known: Known, remedies: list[Remedy], fewest: int) -> Clash:
    """Tell of the smallest clash that is known, proved once more in models of nothing else."""
    inquiry, members = known.inquiry, []
    names = min(known.sets, key=len)
    in_order = list(inquiry.demands).index
    for name in sorted(names, key=in_order):
        answer = answer_without(inquiry, names, name)
        is_shown = answer.is_yes or (known.in_time and known.asks_for_nothing(inquiry.holding(names - {name})))
        members.append(Needed(inquiry.demands[name], is_shown, answer.plan))
    case = inquiry.sized_anew(names)
    anew = case is not None and refuted(case, (), inquiry.clock.with_grace(GRACE_S))
    again = case is not None and known.in_time and refuted_as_a_whole(case, inquiry.clock)
    by = inquiry.answer(names).refuted_by or known.refuted_by.get(names, "relaxation")
    others = [other for other in known.sets if other != names]
    return Clash(
        tuple(members),
        by,
        anew,
        again,
        fewest,
        tuple(remedies),
        tuple(tuple(inquiry.demands[name] for name in sorted(other, key=in_order)) for other in others),
        not known.in_time,
    )
