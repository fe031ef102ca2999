"""
The panels on the report page: front and wiring side, module by module, so that they fit any width of paper or screen.

Comes in as the Content of a plan and the names of its items; goes out as views with one picture for each module or
empty bay. They stand beside each other as far as there is room; a carrier that goes on in the next picture has a broken
end there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from markupsafe import Markup

from allocator.outputs.arrangement import Side, View, arrange, stretches
from allocator.outputs.content import Content
from allocator.outputs.faces import Face as Drawing
from allocator.outputs.layout import SIDES
from allocator.outputs.report.blocks import Face, PanelView
from allocator.outputs.report.picture import Picture

BAY_MM, HEIGHT_MM = 65.0, 104.0
"""Two pictures of one bay each go beside each other on A4 or Letter, upright."""
EDGE_MM = 0.3
"""Room for the outline of the carrier."""


def panel_views(content: Content, name_by_key: Mapping[str, str]) -> Iterator[PanelView]:
    """Return both sides of every panel that has carriers."""
    for panel in content.index.panels:
        if any(item.panel == panel for item in content.index.carriers):
            front, back = (
                tuple(_picture(content, view, name_by_key) for view in unit_views(content, panel, side))
                for side in SIDES
            )
            faces = (
                Face("Front", front, leftward=False),
                Face("Wiring side, mirrored: bay 1 is at the right", back, leftward=True),
            )
            yield PanelView(f"Panel {content.panel_name(panel)}", faces)


def unit_views(content: Content, panel: str, side: Side) -> Iterator[View]:
    """Return one side of a panel module by module, in the order of the bays."""
    for bays in stretches(content.index, panel, 1):
        area = arrange(content.index, panel, bays, BAY_MM, HEIGHT_MM)
        yield View(area, side, EDGE_MM, EDGE_MM)


def size_of(view: View) -> tuple[float, float]:
    """Return width and height that a view needs, mm."""
    return view.area.width + 2 * EDGE_MM, view.area.height + 2 * EDGE_MM


def _picture(content: Content, view: View, name_by_key: Mapping[str, str]) -> Markup:
    bays = view.area.bays
    span = f"bay {bays[0]}" if len(bays) == 1 else f"bays {bays[0]} to {bays[-1]}"
    name = f"Panel {content.panel_name(view.area.panel)}, {view.side}, {span}"
    picture = Picture(size_of(view), name, name_by_key)
    Drawing(picture, content, view).draw()
    return picture.markup()
