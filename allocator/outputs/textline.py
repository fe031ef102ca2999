"""
A line of text as the drawing library's artist, written without being laid out anew for each file.

Comes in as a string with its anchor, font and turn; goes out as glyphs in SVG and PDF and as outlines in pictures.
"""

from __future__ import annotations

from typing import Any

from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.text import Text
from matplotlib.transforms import Affine2D

from allocator.outputs.fonts import outline_of


class TextLine(Text):
    """A line of text that begins on its anchor, so that it need not be measured again each time it is written."""

    def draw(self, renderer: Any) -> None:
        """Write the line; in pixels as the outlines that other lines of the same text have been given already."""
        renderer.open_group("text", self.get_gid())
        x, y = self.get_transform().transform(self.get_position())
        gc = renderer.new_gc()
        gc.set_foreground(self.get_color())
        in_pixels = isinstance(renderer, RendererAgg)
        if in_pixels:
            gc.set_linewidth(0.0)
            gc.set_snap(False)
            scale = renderer.points_to_pixels(self.get_fontsize())
            place = Affine2D().scale(scale).rotate_deg(self.get_rotation()).translate(x, y)
            renderer.draw_path(gc, outline_of(self.get_text(), self.is_bold), place, gc.get_rgb())
        else:
            y = renderer.get_canvas_width_height()[1] - y if renderer.flipy() else y
            renderer.draw_text(gc, x, y, self.get_text(), self.get_fontproperties(), self.get_rotation(), mtext=self)
        gc.restore()
        renderer.close_group("text")

    @property
    def is_bold(self) -> bool:
        """Whether it is written in the heavier face."""
        return self.get_fontproperties().get_weight() == "bold"
