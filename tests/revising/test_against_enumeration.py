"""A revision changes as little as the best of all plans does: tiny panels with relays, a feed tree and two panels."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import event, given, reject, settings
from hypothesis import strategies as st

from allocator.errors import CannotBeMet
from allocator.plan.plan import Plan
from allocator.revising import Keep, revise
from allocator.revising.keeping import KeepWord
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.oracles.as_built import as_built
from tests.oracles.revisions import best_revision
from tests.revising.changed import sized_with_wires
from tests.specs import A
from tests.strategies import Arguments, tiny_panels

KEEPS: tuple[KeepWord, ...] = ("all", "modules", "chosen")
Case = tuple[Plan, Sized, Sized, KeepWord]


@st.composite
def changes(draw: st.DrawFn, arguments: Arguments) -> Arguments:
    """Take a circuit out, add one, let one grow, or let it want another feed or a relay; sometimes several."""
    circuits = dict(arguments["circuits"])
    bound = {name for key in ("apart", "together") for names, _ in arguments.get(key, ()) for name in names}
    for _ in range(draw(st.integers(1, 2))):
        name = draw(st.sampled_from(sorted(circuits)))
        kind = draw(st.sampled_from(("out", "in", "grows", "other feed", "other switching")))
        if kind == "out" and len(circuits) > 1 and name not in bound:
            del circuits[name]
        elif kind == "in" and "new" not in circuits:
            circuits["new"] = A(draw(st.sampled_from((2, 6, 10))), formats=circuits[name].formats)
        elif kind == "grows":
            circuits[name] = replace(circuits[name], load_a=circuits[name].load_a + draw(st.sampled_from((0.5, 6))))
        elif kind == "other feed":
            circuits[name] = replace(circuits[name], feeds=(draw(st.sampled_from(sorted(arguments["feeds"]))),))
        elif kind == "other switching":
            circuits[name] = replace(circuits[name], relays=() if circuits[name].relays else ("micro",))
    return arguments | {"circuits": circuits}


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A panel that could be built, what is wanted of it now, and what must stay."""
    arguments = draw(tiny_panels(most_circuits=3))
    if any(isinstance(goal, dict) for goal in arguments["goals"]):
        arguments |= {"goals": ("bays", "strip-pieces", "peak-utilisation", "long-jumpers", "price")}
    if "use_stock" in arguments:
        arguments |= {"use_stock": False}
    built_sized = sized_with_wires(arguments)
    try:
        built = allocate(built_sized)
    except CannotBeMet:
        reject()
    more = draw(st.sampled_from((0, 1)))
    now = draw(changes(arguments))
    now |= {"panels": {name: replace(site, max_bays=site.max_bays + more) for name, site in now["panels"].items()}}
    now |= {"carriers": {f"carrier-{n}": n for n in range(1, 4)}}
    return built, built_sized, sized_with_wires(now), draw(st.sampled_from(KEEPS))


def same_as_enumeration(case: Case) -> None:
    built, built_sized, sized, word = case
    expected = best_revision(as_built(built_sized, built), sized, word)
    try:
        revision = revise(built, built_sized, sized, keep=Keep(word), with_fresh=False)
    except CannotBeMet:
        event("no revision")
        assert expected is None
        return
    assert expected is not None
    plan = revision.plan
    found: dict[str, Fraction] = {result.change: result.value for result in plan.changes}
    found.update((result.goal, result.value) for result in plan.goals)
    event("something moves" if found["moved-wires"] else "nothing moves")
    assert found == {name: expected[name] for name in found}
    assert {result.outcome for result in (*plan.changes, *plan.goals)} == {"best possible"}


@settings(deadline=None, derandomize=True, database=None, max_examples=16)
@given(cases())
def test_enumeration_agrees(case: Case) -> None:
    same_as_enumeration(case)


@pytest.mark.long
@settings(deadline=None, max_examples=1000)
@given(cases())
def test_enumeration_agrees_on_many(case: Case) -> None:
    """The same on panels that are new in every run."""
    same_as_enumeration(case)
