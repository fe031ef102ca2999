"""The value of every goal, recomputed from plan and catalogue alone, and the rule that the plan states them truly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from math import floor

from allocator.plan.plan import GoalResult, Plan
from allocator.requirements.amounts import is_count, sense
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized
from allocator.verifying.bill import Bill
from allocator.verifying.exact import exact, milliamperes, number, share
from allocator.verifying.findings import Finding
from allocator.verifying.loads import Loads
from allocator.verifying.view import View


def goal_values(sized: Sized, plan: Plan) -> dict[Goal, Fraction]:
    """
    Recompute every goal of a plan.

    Parameters
    ----------
    sized
        The sizing table of the plan's requirements.
    plan
        The plan; where it is broken, what cannot be read does not count.

    Returns
    -------
    dict
        Exact value by goal: counts, cents (``price``), mm2 (``footprint``), mm (``wire-length``), mm3 (``copper``), a
        share of the allowed current (``peak-utilisation``). A feed that may carry nothing has no utilisation;
        ``feed-current`` reports it.
    """
    return _values(View(sized, plan))


def _values(view: View) -> dict[Goal, Fraction]:
    carriers = [view.carrier_types[c.carrier] for c in view.plan.carriers if c.carrier in view.carrier_types]
    bill = Bill(view)
    return {
        "bays": Fraction(sum(carrier.bays for carrier in carriers)),
        "module-types": Fraction(len({placed.module for placed in view.plan.modules})),
        "strip-pieces": Fraction(len(view.plan.pieces)),
        "peak-utilisation": _peak_utilisation(view),
        "long-jumpers": Fraction(_long_jumpers(view)),
        "price": bill.price_cents,
        "carriers": Fraction(len(view.plan.carriers)),
        "footprint": sum((exact(carrier.width) * exact(carrier.height) for carrier in carriers), Fraction()),
        "panels": Fraction(len({placed.panel for placed in view.plan.carriers})),
        "wire-length": bill.length_mm,
        "copper": bill.copper_mm3,
        "spare-ways": Fraction(_spare_ways(view)),
    }


def allowed_ma(view: View, feed: str) -> Fraction:
    """Return the current that a load case may draw from a feed: its rating x the share of the rules, mA."""
    return milliamperes(view.feeds[feed].rating) * share(view.rules.feed_loading)


def _peak_utilisation(view: View) -> Fraction:
    loads = Loads(view)
    allowed_by_feed = {feed: allowed_ma(view, feed) for feed in view.feeds}
    ratios = (
        Fraction(load) / allowed for feed, allowed in allowed_by_feed.items() if allowed for load in loads.of_feed(feed)
    )
    return max(ratios, default=Fraction())


def _long_jumpers(view: View) -> int:
    both = (need for need in view.way_of if need in view.socket_of)
    return sum(view.way_of[need].module_key != view.socket_of[need].module_key for need in both)


def _spare_ways(view: View) -> int:
    """Count the ways of all modules that hold neither a circuit nor the fuse of a feed."""
    taken = {way.place for way in view.ways if way.row is not None and way.used.kind != "spare"}
    return sum(row.ways for module in view.placed.values() for row in module.rows) - len(taken)


def goal_cap(view: View) -> Iterator[Finding]:
    """Report goals above the cap that the rules set, and fewer spare ways than they ask for."""
    capped = [aim for aim in view.rules.aims if aim.most is not None]
    values = _values(view) if capped else {}
    for aim in capped:
        if aim.most is not None and sense(aim.goal) * values[aim.goal] > aim.most:
            limit = "the cap is" if aim.at_least is None else "asked for are at least"
            text = f"the plan has {number(values[aim.goal])}; {limit} {number(sense(aim.goal) * aim.most)}"
            yield Finding("goal-cap", f'goal "{aim.goal}"', text)


def goals_stated(view: View) -> Iterator[Finding]:
    """Report goals left out, added or out of order, and limits other than those of the rules."""
    aims = {aim.goal: aim for aim in view.rules.aims}
    order = [stated.goal for stated in view.plan.goals]
    for goal in aims:
        if goal not in order:
            yield Finding("goals-stated", f'goal "{goal}"', "the rules ask for it; the plan does not state it")
    for goal, times in Counter(order).items():
        if goal not in aims:
            yield Finding("goals-stated", f'goal "{goal}"', "the plan states it; the rules do not ask for it")
        elif times > 1:
            yield Finding("goals-stated", f'goal "{goal}"', f"stated {times} times")
    known = [goal for goal in order if goal in aims]
    wanted = [goal for goal in aims if goal in order]
    if known != wanted and len(known) == len(wanted):
        text = f"stated in the order {', '.join(known)}; the rules ask for {', '.join(wanted)}"
        yield Finding("goals-stated", "goals", text)
    for stated in view.plan.goals:
        if stated.goal in aims:
            for text in _limit_faults(aims[stated.goal], stated):
                yield Finding("goals-stated", f'goal "{stated.goal}"', text)


def _limit_faults(aim: Aim, stated: GoalResult) -> Iterator[str]:
    """Yield how the limits that are stated differ from those asked for; a tolerance that is not used may be silent."""
    cap = None if aim.most is None else sense(aim.goal) * aim.most
    if stated.cap != cap:
        yield f"the cap is stated as {_amount(stated.cap)}; the rules set {_amount(cap)}"
    if aim.slack is None and not (stated.best is None and stated.allowed is None):
        yield "a tolerance is stated; the rules give none"


def _amount(value: Fraction | None) -> str:
    return "none" if value is None else number(value)


def goal_value(view: View) -> Iterator[Finding]:
    """Report goals whose stated value is not the plan's, or whose bound, best value or tolerance do not hold."""
    values = _values(view)
    for stated in view.plan.goals:
        where, value = f'goal "{stated.goal}"', values[stated.goal]
        if stated.value != value:
            yield Finding("goal-value", where, f"stated is {number(stated.value)}; the plan has {number(value)}")
        for text in (_bound_fault(stated), _tolerance_fault(view, stated)):
            if text:
                yield Finding("goal-value", where, text)


def _bound_fault(stated: GoalResult) -> str:
    worth = sense(stated.goal)
    best = stated.value if stated.best is None else worth * min(worth * stated.best, worth * stated.value)
    if worth * stated.bound > worth * best:
        what = "value" if best == stated.value else "best value"
        return f"the bound {number(stated.bound)} is worse than the {what} {number(best)}"
    if stated.outcome == "best possible" and stated.bound != stated.value:
        return f"called best possible, but the bound is {number(stated.bound)} and the value {number(stated.value)}"
    if stated.outcome == "within tolerance" and stated.bound != best:
        return f"called within tolerance, but the bound is {number(stated.bound)} and the best value {number(best)}"
    return ""


def _tolerance_fault(view: View, stated: GoalResult) -> str:
    best = stated.value if stated.best is None else stated.best
    aim = next((aim for aim in view.rules.aims if aim.goal == stated.goal), Aim(goal=stated.goal))
    room = Fraction() if aim.slack is None else abs(best) * aim.slack.value if aim.slack.is_share else aim.slack.value
    worth, last = sense(stated.goal), best + sense(stated.goal) * room
    if worth * (stated.value - last) > 0:
        return f"stated is {number(stated.value)}; the best is {number(best)} and the tolerance {number(room)}"
    cost = worth * last
    if is_count(stated.goal):
        cost = Fraction(floor(cost))
    if aim.most is not None:
        cost = max(worth * best, min(cost, aim.most))
    if stated.allowed is not None and worth * stated.allowed != cost:
        return f"up to {number(stated.allowed)} is said to be allowed; it is {number(worth * cost)}"
    return ""
