"""Changes made at the vehicle: one dated line each, judged by verify, and said on the plan's paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.plan import read_plan
from allocator.requirements.vehicle_notes import read_notes
from tests.cli.running import plan_folder, planned, ran

HEAD = "day,by,circuit,what,value,remark"


def _notes(folder: Path, *rows: str) -> Path:
    path = folder / "notes.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return plan_folder(tmp_path_factory.mktemp("notes") / "built")


def _way(built: Path, need: str) -> str:
    return next(way.at for way in read_plan(built / "plan.json").ways if way.need == need)


def _spare(built: Path) -> str:
    return next(way.at for way in read_plan(built / "plan.json").ways if way.kind == "spare")


def test_a_larger_fuse_than_its_wire_may_carry_is_refused(built: Path, tmp_path: Path) -> None:
    """Nothing but the note changes: the wire is the one that is there."""
    result = ran("verify", built, "--notes", _notes(tmp_path, "2026-03-02,JR,lamps,fuse,30 A,"))
    assert (result.status, result.stdout) == (2, "")
    assert "lamps" in result.stderr and "30 A" in result.stderr


@pytest.mark.parametrize("note", ["lamps,wire,0.5 mm2", "fridge,wire,0.5 mm2", "fridge,fuse,30 A"])
def test_what_does_not_go_together_is_told_of_the_way_where_it_is(built: Path, tmp_path: Path, note: str) -> None:
    """And not of another format, of which there may be no such fuse."""
    circuit = note.partition(",")[0]
    result = ran("verify", built, "--notes", _notes(tmp_path, f"2026-03-02,JR,{note},"))
    assert (result.status, result.stdout) == (2, "")
    first = result.stderr.splitlines()[0]
    assert first.startswith(f'error: circuit "{circuit}": ') and first.endswith("[wanted-wire-too-thin]")
    assert "the wanted wire may not stand behind a fuse of" in first
    assert "format E" not in result.stderr and "format C" not in result.stderr


def test_a_fuse_that_the_wire_bears_is_accepted(built: Path, tmp_path: Path) -> None:
    result = ran("verify", built, "--json", "--notes", _notes(tmp_path, "2026-03-02,JR,lamps,fuse,7.5 A,"))
    assert (result.status, result.data["findings"]) == (0, [])
    assert result.data["notes"][0]["circuit"] == "lamps"


def test_a_circuit_in_the_spare_way_changes_places_with_it(built: Path, tmp_path: Path) -> None:
    """The spare way is on another feed, which the lamps do not accept: the checker says so."""
    result = ran("verify", built, "--notes", _notes(tmp_path, f"2026-03-02,JR,lamps,way,{_spare(built)},"))
    assert result.status == 3
    assert f'{_spare(built)} (circuit lamps): is on feed "engine-on"; it accepts "leisure"' in result.stdout


def test_a_circuit_in_a_way_without_feed_is_found(built: Path, tmp_path: Path) -> None:
    result = ran("verify", built, "--notes", _notes(tmp_path, "2026-03-02,JR,lamps,way,bench/2/A/8,"))
    assert (result.status, "way-is-fed" in result.stdout) == (3, True)


def test_an_added_circuit_is_sized_and_judged(built: Path, tmp_path: Path) -> None:
    """In the way that another left, its fuse, wire and load are judged like any other's."""
    rows = (
        "2026-03-02,JR,fan,removed,,",
        f"2026-03-09,JR,beacon,added,{_way(built, 'fan')}; 2 A; electronics; 3 m; 1 mm2; 5 A,Beacon on the roof",
    )
    assert ran("verify", built, "--notes", _notes(tmp_path, *rows)).status == 0
    out = tmp_path / "out"
    drawn = ran("draw", built, "--notes", _notes(tmp_path, *rows), "--out", out)
    assert (drawn.status, drawn.stderr) == (0, "")
    plan = read_plan(out / "plan.json")
    assert [(note.day, note.circuit) for note in plan.notes] == [("2026-03-02", "fan"), ("2026-03-09", "beacon")]
    assert "Done at the vehicle after building" in (out / "summary.txt").read_text(encoding="utf-8")
    assert "Beacon on the roof" in (out / "wires.csv").read_text(encoding="utf-8")
    assert any(caution.startswith("beacon, fan came or went at the vehicle") for caution in plan.cautions)
    assert ran("verify", out).status == 0
    too_much = f"2026-03-09,JR,beacon,added,{_way(built, 'fan')}; 9 A; electronics; 3 m; 1 mm2; 5 A,"
    assert ran("verify", built, "--notes", _notes(tmp_path, rows[0], too_much)).status == 2


def test_the_other_spare_ways_are_still_asked_for_when_one_is_taken(tmp_path: Path) -> None:
    """The first of two of the first rule and the only one of the second are taken; the rest keep their places."""
    scenario = tmp_path / "van"
    assert ran("init", scenario).status == 0
    rules = scenario / "scenario.toml"
    more = '\n[[rules.spares]]\nfuse_format = "F"\ncount = {}\nreserve = "{} A"\n'
    text = rules.read_text(encoding="utf-8").replace("count = 1", "count = 2")
    rules.write_text(text + more.format(1, 1) + more.format(1, 2), encoding="utf-8")
    built = tmp_path / "built"
    assert ran("plan", scenario, "--out", built).status == 0
    row = "2026-03-09,JR,{},added,{}; 0.5 A; electronics; 3 m; 1 mm2; 2 A,"
    notes = _notes(
        tmp_path, row.format("beacon", _way(built, "spare-1-1")), row.format("alarm", _way(built, "spare-2-1"))
    )
    assert ran("verify", built, "--notes", notes).status == 0
    assert ran("draw", built, "--notes", notes, "--out", tmp_path / "out").status == 0
    plan = read_plan(tmp_path / "out" / "plan.json")
    assert {way.need: way.at for way in plan.ways if way.kind == "spare"} == {
        "spare-1-1": _way(built, "spare-1-2"), "spare-2-1": _way(built, "spare-3-1"),
    }  # fmt: skip
    assert [(spare.count, spare.reserve) for spare in plan.requirements.scenario.rules.spares] == [(1, 0), (1, 2)]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        pytest.param("2026-3-2,JR,lamps,fuse,5 A,", ["row 2", "is no date"], id="day"),
        pytest.param("2026-03-02,JR,lamps,fuze,5 A,", ["row 2", "unknown", 'did you mean "fuse"?'], id="word"),
        pytest.param("2026-03-02,JR,lamps,added,bench/1/A/1,", ["row 2", 'what "added" needs'], id="short value"),
        pytest.param(
            "2026-03-02,JR,lmps,fuse,5 A,", ["row 2", 'no circuit "lmps"', 'did you mean "lamps"?'], id="circuit"
        ),
        pytest.param("2026-03-02,JR,lamps,way,bench/1,", ["row 2", "is no way"], id="no way"),
        pytest.param("2026-03-02,JR,lamps,socket,bench/1/S1,", ["row 2", "has no relay"], id="no relay"),
        pytest.param("2026-03-02,JR,step,socket,bench/1/X1,", ["row 2", "is no socket", '"value"'], id="no socket"),
        pytest.param("2026-03-02,JR,,fuse,5 A,", ["row 2", "circuit"], id="no circuit"),
    ],
)
def test_notes_that_cannot_be_read(row: str, words: list[str], built: Path, tmp_path: Path) -> None:
    result = ran("verify", built, "--notes", _notes(tmp_path, row))
    assert (result.status, result.stdout) == (2, "")
    assert [word for word in words if word not in result.stderr] == []


def test_all_that_notes_cannot_mean_is_told_with_its_row(built: Path, tmp_path: Path) -> None:
    """Word for word, both at once."""
    rows = ("2026-03-02,JR,lmps,fuse,5 A,", f"2026-03-03,JR,lamps,way,{_way(built, 'fan')},")
    path = _notes(tmp_path, *rows)
    assert ran("verify", built, "--notes", path).stderr == (
        'error: there is no circuit "lmps"  [vehicle-note]\n'
        f'  where: {path.as_posix()}, row 2, field "circuit" = "lmps"\n'
        '  try:   did you mean "lamps"?\n'
        'error: the way holds "fan"  [vehicle-note]\n'
        f'  where: {path.as_posix()}, row 3, field "value" = "{_way(built, "fan")}"\n'
        "  try:   note what left it first\n"
    )


def test_a_circuit_added_in_a_spare_way_uses_it_up(built: Path, tmp_path: Path) -> None:
    """One spare way was asked for; a second circuit has none, and a way that another one left is spare in its place."""
    beacon = f"2026-03-09,JR,beacon,added,{_spare(built)}; 1 A; electronics; 3 m; 1 mm2; 3 A,"
    out = tmp_path / "now"
    assert (
        ran("draw", built, "--notes", _notes(tmp_path, "2026-03-02,JR,fan,removed,,", beacon), "--out", out).status == 0
    )
    plan = read_plan(out / "plan.json")
    assert [rule.count for rule in plan.requirements.scenario.rules.spares] == [1]
    assert [way.at for way in plan.ways if way.kind == "spare"] == [_way(built, "fan")]
    assert ran("verify", out).status == 0


@pytest.mark.parametrize(
    ("note", "wrong", "expected"),
    [
        ("fuse,7 amps", '"fuse_rating" of the note has the unknown unit "amps"', 'expected a value such as "12 A"'),
        ("wire,thick", '"wire" of the note is no number with a unit', 'expected a value such as "2.5 mm2" or "14 AWG"'),
        (
            "added,bench/2/A/3; 2 A; electronics; 3 amps; 1 mm2; 5 A",
            '"length" of the note is in "amps", which measures something else',
            'expected a value such as "3.2 m" or "12 ft"',
        ),
    ],
)
def test_a_value_that_is_none_is_told_of_its_row(note: str, wrong: str, expected: str, tmp_path: Path) -> None:
    path = _notes(tmp_path, f"2026-03-02,JR,lamps,{note},")
    with pytest.raises(InputError) as caught:
        read_notes(path)
    fault = caught.value.faults[0]
    assert (fault.message, fault.known) == (wrong, expected)
    assert fault.where == f'{path.as_posix()}, row 2, field "value" = "{note.partition(",")[2]}"'


def test_a_fuse_that_the_way_cannot_hold_is_told_of_its_row(built: Path, tmp_path: Path) -> None:
    """Its new wire would do for 35 A, and so would fuses of another type."""
    path = _notes(tmp_path, "2026-03-02,JR,heater,wire,6 mm2,", "2026-03-02,JR,heater,fuse,35 A,")
    assert ran("verify", built, "--notes", path).stderr.splitlines()[:2] == [
        f"error: there is no fuse of 35 A and type F, which {_way(built, 'heater')} takes  [vehicle-note]",
        f'  where: {path.as_posix()}, row 3, field "value" = "35 A"',
    ]
    path = _notes(tmp_path, "2026-03-02,JR,lamps,fuse,35 A,")
    assert f'where: {path.as_posix()}, row 2, field "value" = "35 A"' in ran("verify", built, "--notes", path).stderr


def test_the_way_of_another_circuit_is_taken(built: Path, tmp_path: Path) -> None:
    result = ran("verify", built, "--notes", _notes(tmp_path, f"2026-03-02,JR,lamps,way,{_way(built, 'fan')},"))
    assert (result.status, 'the way holds "fan"' in result.stderr) == (2, True)


def test_a_plan_without_notes_says_nothing_of_them() -> None:
    assert "Done at the vehicle" not in planned()[0].stdout
