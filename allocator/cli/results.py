"""What ``plan``, ``draw`` and ``revise`` say about a plan: the same words and the same JSON fields."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from allocator.cli.folder import written
from allocator.errors import printable
from allocator.outputs.accounts import accounts_data
from allocator.outputs.cautions import cautions_of
from allocator.outputs.content import Content
from allocator.outputs.crimps import crimps_data
from allocator.plan.heat import heat_of_modules
from allocator.plan.measures import feed_loads
from allocator.plan.plan import Plan
from allocator.sizing.figures_told import figures_told
from allocator.sizing.sized import Sized


def plan_data(plan: Plan, sized: Sized) -> dict[str, Any]:
    """Return goals, panels, heat, loads of the feeds, crimps and cautions of a plan as data; exact numbers as text."""
    content = Content(sized, plan)
    loads = feed_loads(content.index)
    return {
        "vehicle": plan.requirements.scenario.vehicle.name,
        "depends_on_time": plan.depends_on_time,
        "goals": [result.model_dump(mode="json") for result in plan.goals],
        "account": accounts_data(content),
        "carriers": [item.model_dump(mode="json") for item in plan.carriers],
        "modules": [item.model_dump(mode="json") for item in plan.modules],
        "heat": [
            {"at": f"{heat.at.panel}/{heat.at.bay}", "milliwatts_by_case": heat.milliwatts_by_case}
            for heat in heat_of_modules(content.index)
        ],
        "load_cases": [case.name for case in plan.requirements.scenario.load_cases],
        "feeds": [
            {"feed": load.feed, "load_ma_by_case": load.load_ma_by_case, "allowed_ma": str(load.allowed_ma)}
            for load in loads
        ],
        **crimps_data(content),
        "figures": [asdict(figure) for figure in figures_told(sized)],
        "cautions": cautions_of(plan),
    }


def written_text(
    out: Path, names: Sequence[str], *, then: str = "order from parts.csv, cut and crimp from wires.csv"
) -> str:
    """Return the lines that say what was written and where to look, and what is done ``then``."""
    look = f"Look first at {printable(str(out / 'report.html'))}; {then}.\n" if "report.html" in names else ""
    return written(out, ", ".join(names)) + look
