"""From requirements to what each circuit, feed and spare way may use."""

from allocator.sizing.size import size
from allocator.sizing.sized import Sized

__all__ = ["Sized", "size"]
