"""check: the sizing table with its reasons, the cautions, and every fault of the input at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.notices import CAUTIONS
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.sizing.figures_told import figures_told
from tests.cli.running import STARTER, Ran, ran
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, write

TABLE = """\
Milk float: 3 circuits, 2 feeds, no fault found

Sizing table: every choice that a plan may make
lamp (Lamp): on battery or key; up to 2.042 A
  front  3 A C   no relay  Wire 1 mm2
  front  20 A E  no relay  Wire 14 AWG
  front  3 A F   no relay  Wire 1 mm2
  rear   3 A C   no relay  Wire 1 mm2
  rear   20 A E  no relay  Wire 14 AWG
  rear   3 A F   no relay  Wire 1 mm2
pump (Pump): on battery or key; up to 6 A
  front  10 A C  Micro relay, make, 12 V     Wire 1 mm2
  front  10 A C  Standard relay, make, 12 V  Wire 1 mm2
  front  10 A C  Heavy relay, make, 12 V     Wire 1.5 mm2
  front  20 A E  Micro relay, make, 12 V     Wire 14 AWG
  front  20 A E  Standard relay, make, 12 V  Wire 14 AWG
  front  20 A E  Heavy relay, make, 12 V     Wire 14 AWG
  front  10 A F  Micro relay, make, 12 V     Wire 1 mm2
  front  10 A F  Standard relay, make, 12 V  Wire 1 mm2
  front  10 A F  Heavy relay, make, 12 V     Wire 1.5 mm2
switch (Key switch): on battery; up to 1.426 A
  front  2 A C   no relay  Wire 1 mm2
  front  20 A E  no relay  Wire 14 AWG
  front  2 A F   no relay  Wire 1 mm2
feed key: on battery
  front  40 A E  Heavy relay, make, 12 V  Wire 6 mm2

Feeds
  feed     from        rating  allowed  panels       cable        tail
  battery  the supply    60 A     48 A  front, rear  Wire 10 mm2  Wire 10 mm2
  key      battery       40 A     32 A  front, rear  Wire 6 mm2   Wire 6 mm2

Supply
  load case  engine    mean  at most
  round      runs    9.47 A   9.47 A  11% of the charger's 90 A; up to 80% is sound
  parked     off     9.47 A   9.47 A  94.7 A h in 10 h; 40% of 100 A h gone after 4.22 h
  everything off: 0 mA; nothing is drawn
  a short circuit at a panel draws up to 800 A

Figures that no source confirms, or that are this vehicle's own
  adiabatic_longest      5 s      from memory
  fuse_ratings_recalled  a table  from memory
  lamp_inrush_time       0.005 s  from memory
  motor_stall            5        from memory
  motor_inrush_time      0.5 s    from memory
  coil_lead_largest      2.5 mm2  common practice
  selectivity            1.6      common practice
  coil_resistor          8        common practice
  relay_near_limit       0.9      common practice
  quiescent_limit        0.05 A   common practice

Cautions
"""


@pytest.fixture
def float_(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write(Path("float"))


def test_the_table_without_reasons(float_: Path) -> None:
    result = ran("check", float_, "--brief")
    table, cautions = result.stdout.split("Cautions\n")
    assert (result.status, table + "Cautions\n", result.stderr) == (0, TABLE, "")
    told = " ".join(cautions.split())
    assert all(f"- {caution}" in told for caution in CAUTIONS)
    raised = size(load_scenario(float_)).cautions
    assert raised
    assert all(f"- {caution.text}" in told for caution in raised)


def test_every_choice_has_its_reasons(float_: Path) -> None:
    """The full table is the brief one with reasons below every choice."""
    lines = ran("check", float_).stdout.split("Cautions\n")[0].splitlines()
    brief = [line for line in lines if not line.startswith("      ")]
    assert "\n".join(brief) + "\n" == TABLE.removesuffix("Cautions\n")
    told = " ".join(" ".join(lines).split())
    for need in size(load_scenario(float_)).needs:
        for option in need.options:
            assert option.reasons
            assert all(f"{reason.step}: {reason.text}" in told for reason in option.reasons)


def test_as_json() -> None:
    result = ran("check", STARTER, "--json")
    sized = size(load_scenario(STARTER))
    data = result.data
    assert (result.status, result.stderr) == (0, "")
    assert list(data) == [
        "json_format", "command", "exit_status", "scenario", "vehicle", "load_cases", "needs", "feeds", "supply",
        "figures", "cautions",
    ]  # fmt: skip
    assert [need["id"] for need in data["needs"]] == [need.id for need in sized.needs]
    assert [[option["fuse"] for option in need["options"]] for need in data["needs"]] == [
        [option.fuse for option in need.options] for need in sized.needs
    ]
    assert data["needs"][0]["options"][0]["reasons"][0] == {"step": "current", "text": "3 A as given (3 A)"}
    assert [feed["allowed_ma"] for feed in data["feeds"]] == [str(feed.allowed_ma) for feed in sized.feeds.values()]
    assert [figure["name"] for figure in data["figures"]] == [figure.name for figure in figures_told(sized)]
    assert data["figures"][0]["confidence"] == "M" and data["figures"][0]["source"].startswith("BS 7671")
    assert data["cautions"] == [*CAUTIONS, *(caution.text for caution in sized.cautions)]


def test_what_charger_and_battery_must_bear(float_: Path) -> None:
    """Each load case, the drain with everything off in days, and a short circuit, in text and as data."""
    heads, *rows = CIRCUITS.splitlines()
    cells = [f"{row},{drain}" for row, drain in zip(rows, ("20 mA", "", ""), strict=True)]
    write(float_, circuits="\n".join([f"{heads},quiescent", *cells]) + "\n")
    told = ran("check", float_, "--brief").stdout
    # 100 A h x 40 % / 20 mA = 2000 h
    assert "  everything off: 20 mA; 40% of 100 A h gone after 83.3 days\n" in told
    assert "  a short circuit at a panel draws up to 800 A\n" in told
    supply = ran("check", float_, "--json").data["supply"]
    assert supply["quiescent"] == {"drain_a": 0.02, "days": pytest.approx(83.333, abs=0.001), "circuits": ["switch"]}
    driving, parked = supply["cases"]
    assert driving["charger_share"] == pytest.approx(driving["mean_a"] / 90)
    assert (driving["endurance_h"], parked["charger_share"]) == (None, 0)
    assert parked["endurance_h"] == pytest.approx(100 * 0.4 / parked["mean_a"])
    assert parked["drained_ah"] == pytest.approx(10 * parked["mean_a"])


def test_a_net_that_no_fuse_suits_is_one_fault(float_: Path) -> None:
    """Not one for every circuit, and at the figure that asks for so much."""
    write(float_, changed(SCENARIO, ('fault_current = "800 A"', 'fault_current = "5 kA"')))
    result = ran("check", float_)
    assert (result.status, result.stdout) == (2, "")
    assert result.stderr.count("error: ") == 1
    assert '  where: float/scenario.toml, [supply], field "fault_current" = "5 kA"\n' in result.stderr
    assert "behind its cable" in result.stderr


def test_all_faults_of_all_files_at_once(float_: Path) -> None:
    """In the form of every fault, on stderr only."""
    write(float_, changed(SCENARIO, ('rating = "40 A"', 'rating = "40"')), changed(CIRCUITS, ("motor", "moter")))
    result = ran("check", float_)
    assert (result.status, result.stdout) == (2, "")
    heads = [line for line in result.stderr.splitlines() if line.startswith("error: ")]
    assert [head.rpartition("  ")[2] for head in heads] == ["[bare-number]", "[unknown-word]"]
    assert 'float/circuits.csv, row 4, field "load_type" = "moter"' in result.stderr
    assert '  try:   did you mean "motor"?\n' in result.stderr


def test_faults_as_json(float_: Path) -> None:
    """The same faults on stdout as data, and on stderr as text."""
    write(float_, changed(SCENARIO, ('rating = "40 A"', 'rating = "40"')))
    result = ran("check", float_, "--json")
    assert result.data == {
        "json_format": 1,
        "command": "check",
        "exit_status": 2,
        "faults": [
            {
                "rule": "bare-number",
                "message": '"rating" of feed "key" is a bare number; a unit is needed',
                "where": 'float/scenario.toml, [[feeds]] no. 2 "key", field "rating" = "40"',
                "known": 'expected a value such as "12 A"',
                "hint": "",
            }
        ],
    }
    assert result.stderr == ran("check", float_).stderr
    assert result.status == 2


def test_a_sum_that_no_part_passes_is_bad_input(float_: Path) -> None:
    """With file, row, field, value, and what would make it possible, like every other fault."""
    write(float_, circuits=changed(CIRCUITS, ("6 A", "600 A")))
    result = ran("check", float_)
    assert (result.status, result.stdout) == (2, "")
    assert result.stderr.splitlines()[:2] == [
        'error: circuit "pump": no make relay on offer switches 600 A of kind motor  [no-relay-large-enough]',
        '  where: float/circuits.csv, row 4, field "load" = "600 A"',
    ]
    assert "  try:   offer a relay with a 12 V coil that switches 600 A of kind motor" in result.stderr


def test_a_feed_that_cannot_be_sized_is_shown_in_its_table(float_: Path) -> None:
    """The own fuse of a branch has its rating; 41 A is not made."""
    write(float_, changed(SCENARIO, ('rating = "40 A"', 'rating = "41 A"')))
    result = ran("check", float_)
    assert (result.status, result.stdout) == (2, "")
    assert '  where: float/scenario.toml, [[feeds]] no. 2 "key", field "rating" = "41 A"\n' in result.stderr


def test_a_feed_that_cannot_carry_what_must_be_on_it(float_: Path) -> None:
    """No plan is looked for, and none could be made: the sum is told, with the status of requirements not met."""
    write(float_, circuits=changed(CIRCUITS, ("21 W", "30 A"), ("6 A", "25 A")))
    result = ran("check", float_)
    assert (result.status, result.stdout) == (3, "")
    assert result.stderr == (
        'error: feed "battery" cannot carry what must be on it: 56.426 A in load case "round", and 48 A are allowed'
        "  [feed-overloaded]\n"
        '  where: float/scenario.toml, [[feeds]] no. 1 "battery", field "rating" = "60 A"\n'
        "  known: lamp 30 A + pump 25 A + switch 1.426 A = 56.426 A > 48 A, 80 % of its 60 A; "
        "all of them accept only it or its branches\n"
        "  try:   raise its rating, or let some of them accept another feed\n"
    )


@pytest.mark.parametrize("command", [("check",), ("plan", "--out", "out")])
def test_no_such_folder(command: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    expected = (
        "error: the scenario folder does not exist  [no-folder]\n"
        "  where: nowhere\n"
        "  try:   give the folder that holds scenario.toml\n"
    )
    assert ran(*command, "nowhere") == Ran(2, "", expected)
    assert list(tmp_path.iterdir()) == []
