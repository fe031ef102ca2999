"""Wrong words on the command line: one form of message, status 2, nothing on stdout."""

from __future__ import annotations

import pytest

from tests.cli.running import STARTER, Ran, ran


@pytest.mark.parametrize(
    ("arguments", "named", "help_of"),
    [
        ((), "command", "allocator"),
        (("plna",), "'plna'", "allocator"),
        (("plan",), "'SCENARIO'", "allocator plan"),
        (("plan", "van"), "'--out'", "allocator plan"),
        (("plan", "van", "--out", "o", "--time-limit", "soon"), "'--time-limit'", "allocator plan"),
        (("check", "van", "--jsn"), "--jsn", "allocator check"),
        (("check", "van", "bus"), "(bus)", "allocator check"),
        (("catalogue",), "command", "allocator catalogue"),
        (("draw", "plan.json"), "'--out'", "allocator draw"),
    ],
)
def test_wrong_usage(arguments: tuple[str, ...], named: str, help_of: str) -> None:
    """The words are those of the command-line library, and change with it; form, name and advice are ours."""
    result = ran(*arguments)
    first, last = result.stderr.splitlines()
    assert (result.status, result.stdout) == (2, "")
    assert first.startswith("error: ")
    assert named in first
    assert first.endswith("  [usage]")
    assert last == f"  try:   {help_of} --help"


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "inf", "1e300"])
def test_a_time_limit_must_be_possible(seconds: str) -> None:
    assert ran("plan", STARTER, "--out", "never", "--time-limit", seconds) == Ran(
        2,
        "",
        "error: the time limit is out of range  [usage]\n"
        f"  where: --time-limit {float(seconds):g}\n"
        "  known: expected more than 0 and at most 10000000 seconds\n",
    )
