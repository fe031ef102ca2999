"""
Classes of needs that are alike in everything that a count can see, and what each of them may choose.

Comes from ``Sized``; goes to ``frame.py``, which holds the classes of a vehicle.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from allocator.plan.built import Built, has_history
from allocator.sizing.sized import Need, Option, Sized

Cell = tuple[str, str, str]
"""Panel, fuse format and feed of a way, whatever its row."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A need at one panel, in one format, with one relay class, on one feed: what the count model chooses."""

    option: Option
    feed: str


@dataclass(frozen=True, slots=True)
class Class:
    """Needs that are alike in everything a count can see; ``needs`` holds their ids in listing order."""

    needs: tuple[str, ...]
    choices: tuple[Choice, ...]
    load_ma_by_case: tuple[int, ...]
    kind: str
    takes_way: bool
    supplies: str | None

    def numbers_by_cell(self) -> Mapping[Cell, list[int]]:
        """Return the indices of the choices that take a way of a panel, format and feed."""
        numbers: dict[Cell, list[int]] = defaultdict(list)
        if self.takes_way:
            for number, choice in enumerate(self.choices):
                if choice.option.fuse_format is not None:
                    numbers[choice.option.panel, choice.option.fuse_format, choice.feed].append(number)
        return numbers


def equal_needs(sized: Sized, key_out: Collection[str], built: Built | None) -> Iterable[list[Need]]:
    """
    Group needs, in listing order, that no rule can tell apart.

    A need with a relay stays alone, so that way and socket pair up.

    Parameters
    ----------
    sized
        Where the needs are.
    key_out
        Circuits that must be on feeds that live with the key out.
    built
        What stands already: a need that does stays alone.
    """
    rules = sized.requirements.scenario.rules
    single = {circuit for bond in (*rules.apart, *rules.together) for circuit in bond.circuits}
    single |= {need.id for need in sized.needs if need.pin or has_history(need, built)}
    merged: dict[object, list[Need]] = {}
    for need in sized.needs:
        key: object = need.id
        if need.id not in single and need.kind != "feed" and not need.takes_socket:
            options = tuple(signature(option) for option in need.options)
            key = (need.kind, need.feeds, need.id in key_out, need.load_ma_by_case, options)
        merged.setdefault(key, []).append(need)
    return merged.values()


def signature(option: Option) -> tuple[object, ...]:
    """Return all that price, cavities and place of an option depend on."""
    return (
        option.panel,
        option.fuse_format,
        option.relay_class,
        option.jumper_wire,
        option.cavities,
        tuple(sorted(option.parts.items())),
        tuple((cut.wire, cut.length_mm) for cut in option.wires),
    )
