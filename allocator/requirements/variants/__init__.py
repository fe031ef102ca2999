"""
Variants: a small file that says what is other than in a scenario, laid over the scenario's files before they are read.

Comes in as a TOML file and the raw documents of a scenario; goes out as raw documents, and where each changed field was
written. Everything is judged afterwards, as if the scenario had been edited by hand.
"""

from allocator.requirements.variants.documents import Documents
from allocator.requirements.variants.dropping import drops_told
from allocator.requirements.variants.laying import overlaid
from allocator.requirements.variants.reading import Variant, read_variant

__all__ = ["Documents", "Variant", "drops_told", "overlaid", "read_variant"]
