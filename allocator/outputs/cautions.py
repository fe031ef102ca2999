"""
How drawings, lists and summary word the cautions of a plan: the general ones, then its own.

Comes from a plan and its sizing; plain sentences go out: each in full, or one for each kind, the gravest first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from allocator.notices import CAUTIONS
from allocator.plan.cautions import cautions_in
from allocator.plan.index import PlanIndex
from allocator.plan.plan import Plan
from allocator.sizing.sized import Caution

__all__ = ["CAUTIONS", "KINDS", "cautions_in_brief", "cautions_line", "cautions_of"]

KINDS: Mapping[str, str] = {
    "fuse-slow-at-far-end": "a short circuit may take long to open the fuse of {}",
    "fuse-opens-at-start": "the fuse opens before its load has started, take a larger one: {}",
    "fuse-slow-at-stall": "held fast, a motor may burn before its fuse opens: {}",
    "withstand-unproven": "no published time shows that the wire stands a short circuit until the fuse opens: {}",
    "cable-withstand-unproven": "no published time shows that cables stand a short circuit behind their fuse: feed {}",
    "wanted-fuse-large": "the wanted fuse may not protect the load of {}",
    "main-fuse-far": "much wire before its main fuse is protected by nothing: feed {}",
    "main-fuse-unplaced": "put main fuses at the source, where is not stated: feed {}",
    "rule-loosened": "asked less strictly than by default: {}",
    "feed-fuse-hot": "its own fuse may run too hot: feed {}",
    "inlet-below-protection": "kept out of modules whose inlets no tail fuse on offer protects: feed {}",
    "module-too-hot": "too hot for it: {}",
    "wire-below-usual": "thin wire, lead it in a sheath: {}",
    "critical-share-feed": "one fault would stop critical circuits together: on feed {}",
    "control-shared": "give each coil a contact of its own, on one they close together: at {}",
    "drop-over-limit": "more is lost on the way than the limit, in a load case of this plan: {}",
    "jumpers-together": "lay its long jumper apart from the others, in a bundle it carries less than its fuse: {}",
    "cables-together": "lay its cable apart from other wires, in a bundle it carries less than its fuse: feed {}",
    "labels-outdated": "wires may have other numbers than on their labels, hang new ones: after what was done to {}",
    "branch-not-selective": "a fault on a branch may open the fuse before it: feed {}",
    "tail-not-selective": "a fault may open the fuse in the feed tail before the circuit's own: {}",
    "relay-near-limit": "relay near its limit: {}",
    "relay-below-fuse": "an overload may burn the relay's contacts before the fuse opens: {}",
    "relay-may-drop-out": "at the minimum voltage a relay may not close",
    "battery-endurance": "the battery may run down in load case {}",
    "quiescent-drain": "much is drawn with everything off",
    "charger-margin": "the charger has little or nothing to spare in load case {}",
    "inrush-may-open-fuse": "try whether the fuse stands the start of {}",
    "feed-relay-inrush": "inrush may go through the relay of feed {}",
    "coil-unsuppressed": "coil without suppression, mind electronics that switch it: {}",
    "coil-lead-unmeasured": "how far its switch is from the panel is not stated, measure the coil lead: {}",
    "drop-with-feed": "with its feed fully loaded, more may be lost than the limit by {}",
    "drop-decides-wire": "the drop decides the wire, measure the run first: {}",
    "wires-mixed": "metric sizes and gauges may be mixed among {}",
    "rating-unusual": "hard to buy: {}",
    "no-spare-way": "no spare way is asked for",
    "figure-of-ones-own": "figures of this vehicle's own in place of published ones: {}",
    "figure-from-memory": "{} of the figures used have no source",
}
"""The cautions of sizing and of a plan in brief, the gravest first; the braces take what they are about."""
_NUM_GRAVE = 11
"""So many kinds of the first name everything that they are about."""
_MOST_NAMES = 5


def cautions_of(plan: Plan) -> tuple[str, ...]:
    """Return the general cautions, then those that sizing raised about this plan."""
    return (*CAUTIONS, *plan.cautions)


def cautions_line() -> str:
    """Return the general cautions as one paragraph, for title blocks and lists."""
    return " ".join(CAUTIONS)


def cautions_in_brief(index: PlanIndex) -> Iterator[str]:
    """Return the general cautions, a sentence for each kind that has one, and in full what has none."""
    yield cautions_line()
    found = cautions_in(index)
    kinds = [*KINDS, *sorted({caution.rule for caution in found} - set(KINDS))]
    for number, rule in enumerate(kinds):
        about = [name for item in found if item.rule == rule for name in _about(item)]
        if about:
            words = KINDS.get(rule, f"{rule.replace('-', ' ')}: {{}}")
            yield words.format(len(about) if rule == "figure-from-memory" else _names(about, number >= _NUM_GRAVE))
    raised = {caution.text for caution in found}
    yield from (text for text in index.plan.cautions if text not in raised)


def _about(caution: Caution) -> list[str]:
    """Split what a caution is about; a panel and its module stay together."""
    return [caution.about.replace(", ", " ")] if caution.rule == "module-too-hot" else caution.about.split(", ")


def _names(names: list[str], may_shorten: bool) -> str:
    """List names; where they are many and it may be shortened, the first ones and how many more."""
    unique = list(dict.fromkeys(names))
    if not may_shorten or len(unique) <= _MOST_NAMES + 1:
        return ", ".join(unique)
    return f"{', '.join(unique[:_MOST_NAMES])} and {len(unique) - _MOST_NAMES} more"
