"""Wrong words on the command line: one form of message, status 2, nothing on stdout."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import STARTER, Ran, plan_folder, ran


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


@pytest.mark.parametrize(
    "arguments",
    [
        ("init", ""),
        ("check", ""),
        ("check", STARTER, "--variant", ""),
        ("plan", STARTER, "--out", ""),
        ("plan", STARTER, "--out", "o", "--keep", ""),
        ("verify", ""),
        ("verify", "x", "--scenario", ""),
        ("draw", "x", "--notes", "", "--out", "o"),
        ("compare", "", "x"),
        ("batch", "", "--out", "o"),
        ("stock", "x", "--out="),
        ("catalogue", "check", ""),
    ],
)
def test_an_empty_name_is_not_the_current_folder(
    arguments: tuple[str | Path, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = ran(*arguments)
    assert (result.status, result.stdout) == (2, "")
    assert "the name is empty" in result.stderr
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--time-limit", "5s"), "'--time-limit': \"5s\" is no number of seconds, such as 120"),
        (("--time-limit", "1_0"), "'--time-limit': \"1_0\" is no number of seconds, such as 120"),
        (("--time-limit", "\uff15"), "'--time-limit': \"\\uff15\" is no number of seconds, such as 120"),
        (("--plan-limit", ""), "'--plan-limit': \"\" is no number of seconds, such as 120"),
        (("--jobs", "1_0"), "'--jobs': \"1_0\" is no whole number from 0 to 1000"),
        (("--jobs", "1001"), "'--jobs': \"1001\" is no whole number from 0 to 1000"),
        (("--jobs", "-1"), "'--jobs': \"-1\" is no whole number from 0 to 1000"),
        (("--jobs", "9" * 5000), "is no whole number from 0 to 1000"),
    ],
)
def test_a_number_that_is_none_is_quoted(arguments: tuple[str, ...], said: str) -> None:
    result = ran("stock", "fleet", "--out", "never", *arguments)
    assert (result.status, result.stdout) == (2, "")
    assert said in result.stderr


def test_the_limit_that_is_out_of_range_is_named() -> None:
    result = ran("stock", "fleet", "--out", "never", "--plan-limit", "0")
    assert result.status == 2
    assert "  where: --plan-limit 0\n" in result.stderr


@pytest.mark.parametrize(
    "day", ["2025-W01-1", "2025-1-001", "20250331  ", "\uff12025-03-31", "2025-02-30", "31.03.2025"]
)
def test_a_day_is_written_with_month_and_day(day: str) -> None:
    """Of ISO 8601 the calendar date alone; Python reads weeks and plain digits as well."""
    result = ran("plan", STARTER, "--out", "never", "--date", day)
    assert result.status == 2
    assert "is no date" in result.stderr


LONG = "x" * 100_000
OF_BUILT = ("revise", "BUILT", STARTER, "--out", "o")


@pytest.mark.parametrize(
    "arguments",
    [
        (LONG,),
        ("check", LONG),
        ("check", STARTER, f"--{LONG}"),
        ("check", STARTER, "--variant", LONG),
        ("init", LONG),
        ("init", "o", "--example", LONG),
        ("plan", STARTER, "--out", LONG),
        ("plan", STARTER, "--out", "o", "--time-limit", LONG),
        ("verify", LONG),
        ("why", "BUILT", "--out", "o", "--load", LONG),
        ("tradeoffs", STARTER, "--out", "o", "--step", f"price={LONG}"),
        ("tradeoffs", STARTER, "--out", "o", "--draw", LONG),
        ("compare", LONG, "BUILT"),
        (*OF_BUILT, "--keep", LONG),
        (*OF_BUILT, "--part", LONG),
        (*OF_BUILT, "--part", "nowhere," * 10_000),
        (*OF_BUILT, "--renamed", LONG),
        (*OF_BUILT, "--renamed", f"{LONG}={LONG}"),
    ],
)
def test_a_word_that_never_ends_is_cut(arguments: tuple[str | Path, ...], tmp_path: Path) -> None:
    built = plan_folder(tmp_path / "built") if "BUILT" in arguments else tmp_path
    result = ran(*(built if word == "BUILT" else word for word in arguments))
    assert (result.status, result.stdout) == (2, "")
    assert result.stderr.startswith("error: ") and len(result.stderr) < 2500


def test_a_plan_to_draw_that_no_front_has_is_told_before_the_search(tmp_path: Path) -> None:
    result = ran("tradeoffs", STARTER, "--out", tmp_path / "out", "--draw", "999999")
    assert (result.status, result.stdout) == (2, "")
    assert '"999999" is no whole number from 1 to 1000  [usage]' in result.stderr
    assert not (tmp_path / "out").exists()
