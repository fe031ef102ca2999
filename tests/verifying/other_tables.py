"""The hand-built sizing table made other in one respect: a row of it, or the requirements below it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from allocator.plan.plan import Plan
from allocator.sizing.sized import Entry, Need, Sized
from allocator.verifying import verify


def told(sized: Sized, plan: Plan, rule: str) -> list[str]:
    """Return what the checker says by one rule."""
    return [finding.text() for finding in verify(sized, plan) if finding.rule == rule]


def with_need(sized: Sized, name: str, **fields: Any) -> Sized:
    return replace(sized, needs=tuple(replace(n, **fields) if n.id == name else n for n in sized.needs))


def with_options(sized: Sized, name: str, **fields: Any) -> Sized:
    need: Need = sized.need_by_id[name]
    return with_need(sized, name, options=tuple(replace(option, **fields) for option in need.options))


def with_sized_feed(sized: Sized, name: str, **fields: Any) -> Sized:
    return replace(sized, feeds=dict(sized.feeds) | {name: replace(sized.feeds[name], **fields)})


def with_entry(sized: Sized, key: tuple[str, str, int, str], entry: Entry) -> Sized:
    assert key in sized.entries
    return replace(sized, entries=dict(sized.entries) | {key: entry})


def with_tables(sized: Sized, **tables: Any) -> Sized:
    """Return the sizing table over requirements with whole tables of the scenario, or the circuits, replaced."""
    requirements = sized.requirements
    if "circuits" in tables:
        return replace(sized, requirements=requirements.model_copy(update=tables))
    scenario = requirements.scenario.model_copy(update=tables)
    return replace(sized, requirements=requirements.model_copy(update={"scenario": scenario}))


def with_rules(sized: Sized, **rules: Any) -> Sized:
    return with_tables(sized, rules=sized.requirements.scenario.rules.model_copy(update=rules))


def with_circuit(sized: Sized, name: str, **fields: Any) -> Sized:
    """Return the sizing table over requirements in which one circuit is other."""
    circuits = sized.requirements.circuits
    assert any(circuit.id == name for circuit in circuits)
    return with_tables(sized, circuits=tuple(c.model_copy(update=fields) if c.id == name else c for c in circuits))


def with_part(sized: Sized, table: str, name: str, **fields: Any) -> Sized:
    """Return the sizing table over a catalogue in which one part is other."""
    requirements = sized.requirements
    parts = getattr(requirements.catalogue, table)
    assert any(part.id == name for part in parts)
    changed = tuple(part.model_copy(update=fields) if part.id == name else part for part in parts)
    catalogue = requirements.catalogue.model_copy(update={table: changed})
    return replace(sized, requirements=requirements.model_copy(update={"catalogue": catalogue}))
