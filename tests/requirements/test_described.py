"""Every field that a user can write says in the reference what it means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from allocator.requirements.catalogue import Catalogue
from allocator.requirements.fleet import Fleet
from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.scenario import Circuit, Scenario


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """Yield a table and all tables within it; figures of a vehicle's own are told by the page of sources."""
    for inner in get_args(annotation):
        yield from models_in(inner)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel) and annotation is not OwnFigures:
        yield annotation
        for field in annotation.model_fields.values():
            yield from models_in(field.annotation)


@pytest.mark.parametrize("root", [Scenario, Circuit, Catalogue, Fleet], ids=lambda root: root.__name__)
def test_every_field_says_what_it_means(root: type[BaseModel]) -> None:
    silent = {
        f"{model.__name__}.{name}"
        for model in models_in(root)
        for name, field in model.model_fields.items()
        if len(field.description or "") < len("thread")
    }
    assert silent == set()
