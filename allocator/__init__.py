"""
The front door of the library: what the command does with one vehicle, as functions that neither print nor exit.

::

    from pathlib import Path
    from allocator import allocate, draw, load_scenario, size, verify

    sized = size(load_scenario(Path("scenarios/starter-camper")))
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    draw(plan, sized, Path("out"))

Everything is loaded on first use: solver, units and drawings are slow to import, and few callers need them all.
"""

from __future__ import annotations

TYPE_CHECKING = False  # as typing has it; the command has to hear an interrupt before anything slow is loaded
if TYPE_CHECKING:
    from allocator.errors import (
        AllocatorError,
        BrokenPlan,
        CannotBeMet,
        Fault,
        InputError,
        NoPlanInTime,
        SizingError,
    )
    from allocator.explaining.clashes import explain
    from allocator.explaining.why import what_binds
    from allocator.outputs import draw
    from allocator.plan import Plan, read_plan, write_plan
    from allocator.requirements import load_catalogue, load_scenario
    from allocator.revising import Keep, Revision, revise
    from allocator.sizing import Sized
    from allocator.sizing.size import size
    from allocator.solving.allocate import allocate
    from allocator.tradeoffs import find_tradeoffs
    from allocator.verifying import Finding, verify

    __version__: str

__all__ = [
    "AllocatorError",
    "BrokenPlan",
    "CannotBeMet",
    "Fault",
    "Finding",
    "InputError",
    "Keep",
    "NoPlanInTime",
    "Plan",
    "Revision",
    "Sized",
    "SizingError",
    "__version__",
    "allocate",
    "draw",
    "explain",
    "find_tradeoffs",
    "load_catalogue",
    "load_scenario",
    "read_plan",
    "revise",
    "size",
    "verify",
    "what_binds",
    "write_plan",
]

_ROOM_BY_NAME = {
    "AllocatorError": "errors",
    "BrokenPlan": "errors",
    "CannotBeMet": "errors",
    "Fault": "errors",
    "Finding": "verifying",
    "InputError": "errors",
    "Keep": "revising",
    "NoPlanInTime": "errors",
    "Plan": "plan",
    "Revision": "revising",
    "Sized": "sizing",
    "SizingError": "errors",
    "allocate": "solving",
    "draw": "outputs",
    "explain": "explaining.clashes",
    "find_tradeoffs": "tradeoffs",
    "load_catalogue": "requirements",
    "load_scenario": "requirements",
    "read_plan": "plan",
    "revise": "revising",
    "size": "sizing",
    "verify": "verifying",
    "what_binds": "explaining.why",
    "write_plan": "plan",
}

if not TYPE_CHECKING:  # a type checker would take any name for one that this function provides

    def __getattr__(name: str) -> object:
        """Load a public name on its first use."""
        if name == "__version__":
            from importlib.metadata import version

            value = version("panel-allocator")
        elif name in _ROOM_BY_NAME:
            from importlib import import_module

            value = getattr(import_module(f"{__name__}.{_ROOM_BY_NAME[name]}"), name)
        else:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        globals()[name] = value
        return value

    def __dir__() -> list[str]:
        """List the public names, loaded or not."""
        return sorted({*globals(), *__all__})
