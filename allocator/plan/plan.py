"""
A plan as plain data: which carriers and modules stand where, what every way, socket and strip piece holds.

Comes from ``solving/``, ``revising/`` or a plan.json that a person may have edited; whoever judges, explains, changes,
compares or draws plans takes it. It carries its requirements, so that everything can be made again from the file alone.
Places are addresses (``allocator/address.py``).
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from allocator.notices import CAUTIONS
from allocator.plan.fields import Bay, Exact, Name, Sentence
from allocator.plan.why import Why
from allocator.requirements.catalogue import Strict, YesNo
from allocator.requirements.scenario import Goal, Requirements
from allocator.requirements.vehicle_notes import VehicleNote

PLAN_FORMAT: Literal[1] = 1


class PlacedCarrier(Strict):
    """A carrier at a panel; its bays are ``first_bay`` and the following."""

    panel: Name
    carrier: Name
    first_bay: Bay


class PlacedModule(Strict):
    """A module at its first bay, such as ``cabin/2``."""

    at: Name
    module: Name


class UsedWay(Strict):
    """A way with what it holds. ``fuse`` and ``wire`` are catalogue ids; both None in a spare way."""

    at: Name = Field(description="for example cabin/2/A/3")
    kind: Literal["circuit", "feed", "spare"]
    need: Name = Field(description="id of the circuit, name of the feed that it supplies, or id of the spare way")
    feed: Name = Field(description="feed that stands on its supply side")
    fuse: Name | None
    wire: Name | None


class UsedSocket(Strict):
    """A socket with its relay."""

    at: Name = Field(description="for example cabin/2/S1")
    kind: Literal["circuit", "feed"]
    need: Name
    relay: Name


class Piece(Strict):
    """
    One feed entry: a strip piece over ways, a way fed singly, the stud of a solid bus, or a relay socket fed directly.

    ``at`` is a span (``cabin/2/A/1-4``; one way is ``cabin/2/A/1-1``), a way (``cabin/2/A/1``), a stud
    (``cabin/3/stud``) or a socket (``cabin/4/S1``), as ``kind`` says.
    """

    at: Name
    kind: Literal["strip", "single", "stud", "socket"]
    feed: Name
    tail_fuse: Name | None = Field(
        None, description="in-line fuse of its feed tail, a catalogue id; none: no such fuse"
    )


ClosedBy = Literal["counting bound", "relaxation", "search", "not closed", "cut by time"]
"""
What closed the gap between value and bound. The last two leave one: a fixed effort was too small, which any run
repeats; or time or an interrupt came first.
"""


class GoalResult(Strict):
    """What was reached for one goal, and how it is known."""

    goal: Goal
    value: Exact
    bound: Exact = Field(description="no plan can be better than this, given what the goals before it allow")
    outcome: Literal["best possible", "within tolerance", "best so far"] = Field(
        description="best possible: value and bound are one; within tolerance: the best value is proven, and the goals "
        "after it used some of what the tolerance allows"
    )
    closed_by: ClosedBy = Field(
        description="what proved the value; not closed: a fixed effort was too small; cut by time: a limit or an "
        "interrupt came first"
    )
    best: Exact | None = Field(None, description="where a tolerance is given: the best value that was found")
    allowed: Exact | None = Field(None, description="where a tolerance is given: up to which goals after it could go")
    cap: Exact | None = Field(None, description="where a cap is given: no plan may have more; of spare ways: fewer")


Change = Literal["moved-wires", "new-parts", "recut-strips"]
"""What a revision changes in a panel that is built: minimised in this order, before the goals."""


class ChangeResult(Strict):
    """How much of one kind a revision changes, and how it is known."""

    change: Change
    value: Exact
    bound: Exact = Field(description="no plan can change less, given what the changes before it allow")
    outcome: Literal["best possible", "best so far"]
    closed_by: Literal["counting bound", "search", "not closed", "cut by time"]


class Stays(Strict):
    """What of a panel as built its revision had to keep; circuits and feeds by the names that they have now."""

    carriers: tuple[PlacedCarrier, ...] = ()
    modules: tuple[PlacedModule, ...] = ()
    ways: dict[Name, Name] = Field({}, description="way by circuit or feed, such as cabin/2/A/3")
    sockets: dict[Name, Name] = Field({}, description="socket of its relay by circuit or feed, such as cabin/2/S1")
    pieces: tuple[Piece, ...] = Field((), description="feed entries as they are cut, whatever their tail fuses")


class Plan(Strict):
    """The result: every circuit at a way (and socket), every strip piece, every module and carrier."""

    plan_format: Literal[1] = PLAN_FORMAT
    allocator_version: Name
    solver_version: Name
    depends_on_time: YesNo = Field(description="a limit cut a goal short, so another run may end elsewhere")
    requirements: Requirements
    carriers: tuple[PlacedCarrier, ...]
    modules: tuple[PlacedModule, ...]
    ways: tuple[UsedWay, ...]
    sockets: tuple[UsedSocket, ...]
    pieces: tuple[Piece, ...]
    goals: tuple[GoalResult, ...]
    changes: tuple[ChangeResult, ...] = Field(
        (), description="of a revision: what it changes in the panel as built; the goals come after these"
    )
    stays: Stays | None = Field(None, description="of a revision: what it had to keep of the panel as built")
    notes: tuple[VehicleNote, ...] = Field((), description="what was done at the vehicle after building, by day")
    general_cautions: tuple[Sentence, ...] = Field(CAUTIONS, description="for every plan of this tool")
    cautions: tuple[Sentence, ...] = Field((), description="what sizing warns of in this vehicle")
    why: Why | None = Field(None, description="what binds this plan, where that was asked for")
