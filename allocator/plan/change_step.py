"""
One step of a revision, and where it stands in building order.

Comes in as what is done and to what kind of thing; goes out as a phase. No fuse is in while its wire is worked on,
nothing comes into a place that is not empty yet, and nothing is put on a part that is not there yet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Doing = Literal["pull", "remove", "move", "change", "add", "refit", "relabel"]
DOINGS: tuple[Doing, ...] = get_args(Doing)
COUNTED: tuple[Doing, ...] = ("remove", "move", "change", "add", "relabel")
"""A pull is the first half of a move or change, or comes before a refit that changes nothing."""
Phase = Literal["pull", "take out", "build", "wire", "fit", "label"]
PHASES: tuple[Phase, ...] = get_args(Phase)

_FRAME = ("carrier", "main holder", "distribution stud", "module", "strip piece", "feed entry")
_WIRES = (
    "main lead", "feed cable", "stud link", "feed tail", "tail holder", "load wire", "return wire", "coil lead",
    "coil holder", "jumper", "terminal",
)  # fmt: skip
_PULLED = ("main fuse", "tail fuse", "coil fuse", "fuse", "relay", "spare way")
_FITTED = ("tail fuse", "coil fuse", "main fuse", "relay", "fuse", "spare way")
"""As the test sheets fit them."""
_KINDS: dict[Phase, tuple[str, ...]] = {
    "pull": _PULLED,
    "take out": (*reversed(_WIRES), *reversed(_FRAME)),
    "build": _FRAME,
    "wire": _WIRES,
    "fit": _FITTED,
    "label": ("label",),
}


@dataclass(frozen=True, slots=True)
class Step:
    """
    One thing to do.

    Attributes
    ----------
    doing
        Whether something is pulled out to come back, goes for good, goes to another place, is changed where it is,
        comes, is put back as it was, or gets another label.
    kind
        What it is: ``fuse``, ``relay``, ``load wire``, ``coil lead``, ``feed tail``, ``strip piece``, ``module`` ...
    need
        Id of the circuit, feed or spare way that it belongs to; empty for strips, modules and carriers.
    old, new
        Where it is and where it comes to, as addresses or words.
    part
        Catalogue id of what is there in the end; of what goes, for a pull or a removal.
    was
        Catalogue id of what it replaces.
    wire
        Number of the wire in the new wire list.
    """

    doing: Doing
    kind: str
    need: str
    feed: str
    old: str
    new: str
    part: str = ""
    was: str = ""
    wire: str = ""
    length_mm: int = 0

    @property
    def phase(self) -> Phase:
        """Which part of the work it belongs to."""
        goes = self.doing in ("pull", "remove")
        if self.kind in _FITTED:
            return "pull" if goes else "fit"
        if self.kind in _KINDS["take out"]:
            return "take out" if goes else "wire" if self.kind in _WIRES else "build"
        return "label"


def in_building_order(step: Step) -> tuple[int, int]:
    """
    Return the key that sorts steps: by phase, then by kind within it.

    A wire that moves gets its new terminal before it goes into its new place; one that stays gets it after all wires
    that share the terminal are there.
    """
    kind = _KINDS[step.phase].index(step.kind)
    return PHASES.index(step.phase), -1 if step.kind == "terminal" and step.old != step.new else kind
