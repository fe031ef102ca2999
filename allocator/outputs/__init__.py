"""Drawings, charts and lists of a plan; what draws is loaded on first use, because lists alone need none of it."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from allocator.outputs.cautions import CAUTIONS
    from allocator.outputs.drawing import draw
    from allocator.outputs.summary import summary_text

__all__ = ["CAUTIONS", "draw", "summary_text"]

_FILE_BY_NAME = {"CAUTIONS": "cautions", "draw": "drawing", "summary_text": "summary"}

if not TYPE_CHECKING:  # a type checker would take any name for one that this function provides

    def __getattr__(name: str) -> object:
        """Load a public name on its first use."""
        from importlib import import_module

        if name not in _FILE_BY_NAME:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        value = getattr(import_module(f"{__name__}.{_FILE_BY_NAME[name]}"), name)
        globals()[name] = value
        return value
