"""The input room: scenario and catalogue files in, one typed and cross-checked ``Requirements`` out."""

from allocator.requirements.reading import (
    load_catalogue,
    load_scenario,
    load_variant_title,
    requirements_from_json,
    requirements_to_json,
)

__all__ = ["load_catalogue", "load_scenario", "load_variant_title", "requirements_from_json", "requirements_to_json"]
