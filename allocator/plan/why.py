"""
What binds a plan, as plain data: which single requirements, eased by one step, would save, and what room is left.

Comes from ``explaining/``; goes into plan.json, so that the report can be made again from the file alone.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from allocator.plan.fields import Count, Name, Sentence
from allocator.requirements.catalogue import Strict, YesNo

Proof = Literal["counting bound", "relaxation", "search", ""]


class Counts(Strict):
    """The three counts that are looked at."""

    bays: Count
    module_types: Count
    strip_pieces: Count


class Eased(Strict):
    """One requirement, eased by one step."""

    requirement: Sentence = Field(description="the requirement as it stands, in words")
    where: Sentence = Field(description="file, row or table, and field")
    instead: Sentence = Field(description="the same, eased by one step")
    also: tuple[Name, ...] = Field(
        (), description="circuits that are the same in every respect, so that it holds of them too"
    )
    saves: Literal["bays", "module-types", "strip-pieces"] | None = Field(
        None, description="first of the goals that the eased vehicle has less of, while none before it gets worse"
    )
    counts: Counts | None = Field(None, description="of the plan of the eased vehicle, where it saves something")
    plan: Name = Field("", description="file with that plan, beside this one, if it was written")
    is_open: YesNo = Field(False, description="whether time or effort ended the search for a plan that saves")
    not_less: tuple[Literal["bays", "module-types", "strip-pieces"], ...] = Field(
        (), description="goals of which it is proven that the eased vehicle has no less"
    )
    proof: Proof = Field("", description="where it saves nothing: what refuted the last goal that was asked about")


class HeadRoom(Strict):
    """How many more circuits of one kind fit within the bays of the plan, everything else as asked for."""

    fuse_format: Name
    feed: Name
    relay: YesNo
    count: Count
    is_most: YesNo = Field(description="whether one more is proven not to fit")
    at_most: Count | None = Field(
        None, description="count beyond which it is proven that no more fit, where it is known"
    )
    proof: Proof = ""


class Why(Strict):
    """What binds a plan."""

    counts: Counts = Field(description="of the plan that this is about")
    eased: tuple[Eased, ...]
    load: Name = Field(description="load of each further circuit, by which head-room is counted")
    head_room: tuple[HeadRoom, ...]
    was_cut: YesNo = Field(description="whether time ended the search, so that another run may tell more")
