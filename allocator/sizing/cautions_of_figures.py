"""
Cautions about what the sums rest on: a vehicle's own figures, figures from memory, rules looser than the default.

The sizing table comes in; cautions go out, one function each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from allocator.requirements.scenario import Circuit, Rules
from allocator.sizing.figures_told import figures_told
from allocator.sizing.options import Sizing
from allocator.sizing.sized import Caution, Sized


def figure_of_ones_own(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Figures that the scenario has replaced by its own."""
    for figure in figures_told(sized):
        if figure.own:
            cells = "; ".join(own.text for own in figure.own)
            yield Caution(
                "figure-of-ones-own",
                figure.name,
                f"{figure.name} is this vehicle's own: {cells} (published: {figure.source})",
            )


def figure_from_memory(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Figures that no source confirms and that these sums used."""
    for figure in figures_told(sized):
        if figure.confidence == "M":
            shown = f", {figure.value}" if figure.value else ""
            yield Caution(
                "figure-from-memory",
                figure.name,
                f"a figure was used that no source confirms ({figure.name}{shown}): {figure.source}",
            )


_MEANS: Mapping[str, str] = {
    "loading_factor": "fuses run hotter and may open without a fault",
    "feed_loading": "feeds have less to spare",
    "drop_critical": "critical loads may get too little voltage",
    "drop_other": "loads may get too little voltage",
    "bundle_factor": "wires in a bundle heat each other more than it allows for",
}
"""Rules in percent that are looser the larger they are, and what a looser one means."""


def rule_loosened(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Rules that ask less than they do by default, and circuits that may lose more than the default allows."""
    rules = sized.requirements.scenario.rules
    for name, means in _MEANS.items():
        value, default = getattr(rules, name), _default(name)
        if value > default:
            yield Caution(
                "rule-loosened",
                name,
                f"the rule {name} is {value:g} %, looser than the default of {default:g} %: {means}",
            )
    if rules.fuse_over_wire != "never":
        share = sized.requirements.figures.small_craft_share.value
        yield Caution(
            "rule-loosened",
            "fuse_over_wire",
            f'the rule fuse_over_wire is "{rules.fuse_over_wire}", looser than the default "never": a fuse may stand '
            f"at up to {share:.0%} of what the run behind it carries, and an overload in between heats it",
        )
    loose = [circuit for circuit in sized.requirements.circuits if (circuit.drop or 0) > _usual_drop(circuit)]
    if loose:
        listed = ", ".join(f"{circuit.id} {circuit.drop:g} %" for circuit in loose)
        yield Caution(
            "rule-loosened",
            ", ".join(circuit.id for circuit in loose),
            f"circuits may lose more voltage than the default of {_default('drop_critical'):g} % for critical and "
            f"{_default('drop_other'):g} % for other circuits: {listed}",
        )


def _default(rule: str) -> float:
    return float(Rules.model_fields[rule].default)


def _usual_drop(circuit: Circuit) -> float:
    return _default("drop_critical" if circuit.critical else "drop_other")
