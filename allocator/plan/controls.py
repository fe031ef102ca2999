"""
Which circuit switches the relay of a circuit or of a feed: the coil hangs on the switched side of it.

Comes in as Requirements; goes out as a mapping. A relay that is not in it hangs on its own fuse; a flasher has no coil.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.requirements.scenario import Requirements

WITH_COIL = ("relay", "changeover")


def control_by_need(requirements: Requirements) -> Mapping[tuple[str, str], str]:
    """
    Return the control circuit of every circuit and feed whose relay has one; circuits first, in listing order.

    Keys are kind (``circuit`` or ``feed``) and name, for a circuit may have the name of a feed.
    """
    circuits = {("circuit", item.id): item.control for item in requirements.circuits if item.switching in WITH_COIL}
    feeds = {("feed", item.name): item.control for item in requirements.scenario.feeds if item.relay_class is not None}
    return {need: control for need, control in (circuits | feeds).items() if control is not None}
