"""
The chapters of the report page, in order.

Comes in as the Content of a plan; goes out as Chapters. A further chapter is a function here that returns one, entered
in ``chapters_of``; one that has nothing to say is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from allocator.outputs.cautions import CAUTIONS
from allocator.outputs.charts import chart_listings, chart_slices
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.goals import (
    CHANGE_NAMES,
    bound_text,
    change_proof_text,
    goal_name,
    goals_heading,
    value_text,
)
from allocator.outputs.order import order_value_text
from allocator.outputs.paper import Box
from allocator.outputs.report.account import account_blocks
from allocator.outputs.report.binds import binds
from allocator.outputs.report.blocks import Cell, Chapter, Column, Figure, Grid, Line, Prose
from allocator.outputs.report.facts import Facts
from allocator.outputs.report.fates import fates
from allocator.outputs.report.items import Items
from allocator.outputs.report.panels import panel_views
from allocator.outputs.report.picture import Picture
from allocator.outputs.report.tables import circuits_grid, feeds_grid, parts_grid, wires_grid
from allocator.outputs.tables import Listing

CHART_MM, EDGE_MM, SLICE_MM = 190.0, 1.0, 45.0
"""Width of a chart, room around it, and the height of the rows that stay on one page of paper."""
PROOFS: Mapping[str, str] = {
    "counting bound": "counting: fewer cannot hold what has to be placed",
    "relaxation": "an easier problem, searched to its end, does no better",
    "search": "the search tried everything that was left",
    "not closed": "the search ended before it was proven",
    "cut by time": "time or an interrupt ended the search before it was proven",
}


def chapters_of(content: Content, items: Items, facts: Facts) -> Iterator[Chapter]:
    """Return the chapters in the order of the page."""
    yield _goals(content)
    if content.plan.why is not None:
        yield binds(content.plan.why)
    yield Chapter("panels", "Panels", tuple(panel_views(content, items.name_by_key)))
    yield Chapter("circuits", "Circuits", (circuits_grid(content, facts),))
    yield _feeds(content, facts)
    yield fates(items.failures, facts)
    yield from _charts(content)
    yield Chapter("wires", "Wires", (wires_grid(content, facts),))
    yield Chapter(
        "parts",
        "Parts",
        (Prose((f"To order: {order_value_text(content)}. Also as a list: parts.csv.",)), parts_grid(content)),
    )
    yield _cautions(content)


def _goals(content: Content) -> Chapter:
    currency = content.sized.requirements.catalogue.currency
    columns = (Column("goal"), Column("value", right=True), Column("outcome"), Column("how it is known"))
    lines = tuple(
        Line(
            "",
            (
                Cell(goal_name(result.goal), number),
                Cell(value_text(result.goal, result.value, currency)),
                Cell(bound_text(result, currency)),
                Cell(PROOFS[result.closed_by]),
            ),
        )
        for number, result in enumerate(content.plan.goals)
    )
    texts = ["The first goal counts most; each further one costs those before it nothing beyond their tolerance."]
    if content.plan.changes:
        changes = (f"{CHANGE_NAMES[c.change]} {c.value}, {change_proof_text(c)}" for c in content.plan.changes)
        texts.insert(
            0, f"As little as possible of the panel as built is changed, before the goals: {'; '.join(changes)}."
        )
    if content.plan.depends_on_time:
        texts.append("Time or an interrupt cut the search short: another run may end elsewhere.")
    goals = Grid("goals", goals_heading(content.plan), columns, lines)
    return Chapter("goals", "Goals", (Prose(tuple(texts)), goals, *account_blocks(content)))


def _feeds(content: Content, facts: Facts) -> Chapter:
    said = "A feed counts with everything that branches from it. Shares are of what it may carry."
    blocks = Prose((said,)), feeds_grid(content, facts), _chart(chart_listings(content)["feeds"])
    return Chapter("feeds", "Feeds", blocks)


def _charts(content: Content) -> Iterator[Chapter]:
    """Return a chapter for each chart but that of the feeds, which has one already."""
    for name, listing in chart_listings(content).items():
        if name != "feeds":
            yield Chapter(name, listing.title, (_chart(listing),))


def _chart(listing: Listing) -> Figure:
    """Draw a chart in slices, so that no page of paper tears a row of it."""
    slices = list(chart_slices(listing, CHART_MM - 2 * EDGE_MM, SLICE_MM))
    pictures = []
    for number, piece in enumerate(slices, 1):
        above, below = (EDGE_MM if number == end else 0.0 for end in (1, len(slices)))
        name = listing.title if len(slices) == 1 else f"{listing.title}, part {number} of {len(slices)}"
        picture = Picture((CHART_MM, piece.height_mm + above + below), name)
        piece.draw(picture, Box(EDGE_MM, above, CHART_MM - 2 * EDGE_MM, piece.height_mm))
        pictures.append(picture.markup())
    return Figure(tuple(pictures))


def _cautions(content: Content) -> Chapter:
    said = (*CAUTIONS, *content.plan.cautions)
    return Chapter("cautions", "Cautions", (Prose(tuple(map(clean, said)), as_list=True),))
