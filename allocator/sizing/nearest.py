"""
Which of many refusals a user is told, where no panel, fuse format and relay class serves a circuit.

What was tried comes in, each with why it was refused; the fault that is nearest to what would do goes out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from allocator.errors import Fault, SizingError
from allocator.requirements.scenario import Circuit, Requirements
from allocator.sizing.faults import circuit_fault

_LATE_RULES = (
    "no-terminal",
    "no-jumper",
    "coil-unprotected",
    "no-wire-for-fault",
    "wanted-wire-melts",
    "no-wire-for-drop",
    "wanted-wire-drops",
    "no-wire-for-fuse",
    "no-wire-for-jumper",
    "wanted-wire-too-thin",
)
_EASED: Mapping[str, Mapping[str, float | None]] = {
    "no-wire-for-drop": {"drop": 100.0},
    "wanted-fuse-not-offered": {"fuse_rating": None},
    "wanted-fuse-too-small": {"fuse_rating": None},
    "wanted-wire-drops": {"wire": None},
    "wanted-wire-melts": {"wire": None},
    "wanted-wire-not-offered": {"wire": None},
    "wanted-wire-too-thin": {"wire": None},
}
"""What the circuit would be without the wish or limit of its own that a rule is about."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """What was tried, in words, why it was refused, and whether it would serve the circuit with other wishes."""

    place: str
    error: SizingError
    serves: Callable[[Circuit], bool]


def nearest_refusal(requirements: Requirements, circuit: Circuit, refusals: Sequence[Refusal]) -> Fault:
    """
    Return the fault of a circuit that nothing serves: the refusal that came nearest, and the others as known.

    Nearest is one that only a wish or limit of the circuit's own brings about, then one late in the sums.
    """
    order = {rule: index for index, rule in enumerate(_LATE_RULES)}

    def farness(item: Refusal) -> tuple[bool, int, float]:
        eased = _EASED.get(item.error.rule)
        by_wish = eased is not None and item.serves(circuit.model_copy(update=dict(eased)))
        return not by_wish, order.get(item.error.rule, len(order)), -item.error.reach

    nearest = min(refusals, key=farness)
    others = {
        refusal.error.rule: f"{refusal.place}: {refusal.error}"
        for refusal in reversed(refusals)
        if refusal.error.rule != nearest.error.rule
    }
    known = [f"{nearest.place}: {nearest.error.known}" if nearest.error.known else nearest.place]
    known += [others[rule] for rule in sorted(others)]
    error = nearest.error
    return circuit_fault(requirements, circuit, error.rule, str(error), "; ".join(known), error.hint)
