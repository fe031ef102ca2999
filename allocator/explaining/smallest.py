"""
Whether no smaller set of demands clashes: a lower bound from plans, raised until a known clash meets it.

What is known of one vehicle comes in; a number goes out. Every clash takes one from each gap, a choice of demands
without which there is a plan, so none has fewer members than the least choice that hits all gaps.
"""

from __future__ import annotations

from allocator.explaining.inquiry import Names
from allocator.explaining.known import Known
from allocator.explaining.shrinking import cheapest_hit, grow


def fewest_of_any(known: Known) -> int:
    """Return the fewest members of any clash, as far as proven; smaller clashes that are found on the way are noted."""
    ones = dict.fromkeys(known.inquiry.demands, 1)
    fewest = 1
    while fewest < min(map(len, known.sets)):
        hit = cheapest_hit(known.gaps, ones, presupposed=known.inquiry.presupposed) if known.gaps else frozenset()
        if hit is None:
            break
        fewest = max(fewest, len(hit))
        if fewest >= min(map(len, known.sets)) or not known.in_time:
            break
        if known.clashes(hit):
            known.sets.append(hit)
        elif not _is_another_gap_found(known, hit):
            break
    return fewest


def _is_another_gap_found(known: Known, hit: Names) -> bool:
    """Widen a choice that hits all gaps as far as it may hold: it shows a further gap or clash, unless that is open."""
    least = min(known.sets, key=len)
    in_order = sorted(known.inquiry.everything, key=lambda name: (name in least, not name.startswith("circuit "), name))
    widest = grow(hit, [frozenset({name}) for name in in_order], lambda names: not known.clashes(names))
    answer = known.inquiry.answer(widest)
    if answer.is_no:
        known.by_search = True
        return known.finds_clash_in(widest)
    if not answer.is_yes and not known.asks_for_nothing(widest):
        return False
    known.gaps.append(known.everything - widest)
    return True
