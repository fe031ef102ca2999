"""Scenario and catalogue files in, Requirements out."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path

from allocator.requirements.catalogue import Catalogue

SHIPPED_CATALOGUE = Path(__file__).parent / "data" / "catalogue.toml"


def load_catalogue(path: Path | None = None) -> Catalogue:
    """Read a catalogue; without a path, the one that ships."""
    text = (path or SHIPPED_CATALOGUE).read_text(encoding="utf-8")
    return Catalogue.model_validate(tomllib.loads(text, parse_float=Decimal))
