"""failures.csv: one row for each failure and load case, pairs that share a fate as remarks."""

from __future__ import annotations

import csv
import io

from allocator.outputs.failures import COLUMNS, failure_name, failures_csv
from allocator.plan.failures import failures, shared_fates
from tests.outputs.conftest import content_of


def _rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(failures_csv(content_of(name)))))


def test_each_failure_has_a_row_for_each_load_case(sample_name: str) -> None:
    content = content_of(sample_name)
    found = failures(content.index)
    cases = content.sized.requirements.scenario.load_cases
    rows = [row for row in _rows(sample_name) if row["failure"] != "#"]
    assert [(row["failure"], row["of"], row["place"], row["load_case"]) for row in rows] == [
        (item.kind, item.name, item.place, case.name) for item in found for case in cases
    ]
    wanted = [effect for item in found for effect in item.effect_by_case]
    for row, effect in zip(rows, wanted, strict=True):
        assert tuple(row) == COLUMNS
        assert tuple(filter(None, row["dark"].split("; "))) == effect.dark
        assert int(row["num_dark"]) == len(effect.dark)
        assert tuple(filter(None, row["falls_back"].split("; "))) == effect.falls_back
        assert tuple(filter(None, row["critical"].split("; "))) == effect.critical
        assert [tuple(pair.split(" + ")) for pair in row["critical_pairs"].split("; ") if pair] == list(
            effect.critical_pairs
        )


def test_every_pair_that_shares_a_fate_is_a_remark_with_all_that_it_shares() -> None:
    shared = shared_fates(failures(content_of("beach-tractor").index))
    remarks = [row["of"] for row in _rows("beach-tractor") if row["failure"] == "#"]
    assert len(shared) > 10
    for (first, second), items in shared.items():
        names = ", ".join(map(failure_name, items))
        assert f"critical circuits {first} and {second} share a fate: {names}" in remarks
