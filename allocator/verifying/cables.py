"""
The rule on the cables of feeds: each as long as the panels are from the supply and from one another.

Comes in as a plan and the requirements; goes out as findings. Tails and links between studs are as long as the
catalogue says, which ``bill.py`` reads itself; the lead before a main fuse is looked at in ``net.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator.requirements.vehicle import Feed
from allocator.verifying.exact import exact, is_in_whole_mm, number
from allocator.verifying.findings import Finding
from allocator.verifying.view import View


def cable_lengths(view: View) -> Iterator[Finding]:
    """Report cables of feeds that are not as long as the distances to the supply and between panels say."""
    for name, panel in view.arrivals:
        sized = view.sized.feeds.get(name)
        if sized is None or name not in view.feeds or panel not in view.panels:
            continue
        where, required = f'feed "{name}" at panel "{panel}"', _cable_mm(view, view.feeds[name], panel)
        stated = sized.cable_mm_by_panel.get(panel)
        if stated is None:
            yield Finding("cable-lengths", where, "the sizing table has no length of its cable to there")
        elif required is not None and not is_in_whole_mm(stated, required):
            text = f"its cable is of {stated} mm; required are {number(required)} mm"
            yield Finding("cable-lengths", where, text)


def _cable_mm(view: View, feed: Feed, panel: str) -> Fraction | None:
    """Return the length of a feed's cable to a panel, mm; None where the home of a branch is not known."""
    there = exact(view.panels[panel].supply_distance)
    if feed.source is None:
        return 1000 * (there - exact(feed.main_fuse_distance or 0))
    home = view.panels.get(view.home(feed) or "")
    if home is None:
        return None
    return 1000 * (exact(view.catalogue.tail_length) if home.name == panel else exact(home.supply_distance) + there)
