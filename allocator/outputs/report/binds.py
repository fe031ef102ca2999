"""
What binds a plan, as a chapter of the report page: what easing would save, and what room is left.

Comes in as ``Why``; goes out as a Chapter. What saves nothing is folded away.
"""

from __future__ import annotations

from collections.abc import Sequence

from allocator.outputs.fonts import clean
from allocator.outputs.report.blocks import Block, Cell, Chapter, Column, Grid, Line, Prose
from allocator.outputs.why import ROOM, also_text, counts_text, rest_text, room_text, saves_text
from allocator.plan.why import Eased, HeadRoom, Why


def binds(why: Why) -> Chapter:
    """Return the chapter."""
    saving = [item for item in why.eased if item.saves]
    others = [item for item in why.eased if not item.saves]
    said = [
        f"The plan has {counts_text(why.counts)}. Each requirement was eased alone, by one step, with all others kept.",
        f"{len(saving)} easings save something, each with a plan that was found and checked; {rest_text(why)}.",
    ]
    if why.was_cut:
        said.append("Time ended the search: another run may tell more.")
    blocks: list[Block] = [Prose(tuple(said))]
    if saving:
        blocks.append(_easings("savings", "What would save", saving))
    if others:
        blocks.append(_easings("no-savings", "What would save nothing, or is not settled", others, folded=True))
    load = clean(why.load)
    blocks.append(
        Prose((f"Room left: how many further circuits of {load} each fit before the next bay, of one kind.",))
    )
    blocks.append(_rooms(why.head_room))
    return Chapter("binds", "What binds, and what room is left", tuple(blocks))


def _easings(name: str, title: str, items: Sequence[Eased], *, folded: bool = False) -> Grid:
    columns = (
        Column("asked for instead"), Column("saves"), Column("bays", right=True),
        Column("types", right=True), Column("entries", right=True), Column("known by"),
        Column("as it stands, and where", wide=True),
    )  # fmt: skip
    lines = tuple(
        Line(
            "",
            (
                Cell(f"{clean(item.instead)}{also_text(item)}"),
                Cell(saves_text(item)),
                *_numbers(item),
                Cell(f"plan {item.plan}".strip() if item.saves else item.proof or "not settled"),
                Cell(f"{clean(item.requirement)} ({clean(item.where)})"),
            ),
        )
        for item in items
    )
    return Grid(name, title, columns, lines, folded=folded)


def _numbers(item: Eased) -> tuple[Cell, ...]:
    counts = item.counts
    if counts is None:
        return (Cell("–"),) * 3
    return tuple(Cell(str(number), number) for number in (counts.bays, counts.module_types, counts.strip_pieces))


def _rooms(rooms: Sequence[HeadRoom]) -> Grid:
    columns = (
        Column("fuse type"), Column("feed"), Column("relay"), Column("further circuits", right=True), Column("known by")
    )  # fmt: skip
    lines = tuple(
        Line(
            "",
            (
                Cell(room.fuse_format),
                Cell(clean(room.feed), feed=room.feed),
                Cell("with" if room.relay else "without"),
                Cell(room_text(room), room.count),
                Cell(room.proof if room.is_most else "one more is not settled"),
            ),
        )
        for room in rooms
    )
    return Grid("head-room", ROOM, columns, lines)
