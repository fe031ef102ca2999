"""Scenario folders: which files are read, in which forms, and what is said when one cannot be."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.requirements import load_catalogue, load_scenario, tables
from allocator.requirements.reading import SHIPPED_CATALOGUE
from allocator.requirements.scenario import Bond
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, faults_text, write


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths in messages are those that the user gave, so every test runs in a folder of its own."""
    monkeypatch.chdir(tmp_path)


def test_a_sound_folder_becomes_requirements() -> None:
    requirements = load_scenario(write(Path("float")))
    assert [circuit.id for circuit in requirements.circuits] == ["switch", "lamp", "pump"]
    lamp = requirements.circuits[1]
    assert (lamp.load.total(12), lamp.load.unit) == (21, "W")
    assert lamp.feeds == ("battery", "key")
    assert lamp.length == {"front": 3.0, "rear": 4.0}
    assert (lamp.critical, lamp.key_out, lamp.order) == (True, False, None)
    assert requirements.circuits[2].length == {"": 2.5}
    assert requirements.scenario.rules.loading_factor == 75
    assert requirements.catalogue == load_catalogue()


def test_bond_columns_become_rules_beside_those_that_are_written() -> None:
    """Each pair once, in the order of ids and levels; the level is feed, or module, where none is written."""
    rule = '[[rules.apart]]\ncircuits = ["pump", "switch"]\nlevel = "panel"\n\n[[load_cases]]\nname = "round"'
    edits = (("yes,,,,,", "yes,,pump@row; switch,switch,,"), ("front,,,2 m,,,,,,", "front,,,2 m,,,pump@panel,lamp,,"))
    folder = write(
        Path("float"), changed(SCENARIO, ('[[load_cases]]\nname = "round"', rule)), changed(CIRCUITS, *edits)
    )
    rules = load_scenario(folder).scenario.rules
    assert [(bond.circuits, bond.level) for bond in rules.apart] == [
        (("pump", "switch"), "panel"),
        (("lamp", "pump"), "row"),
        (("lamp", "switch"), "feed"),
    ]
    assert rules.together == (Bond(circuits=("lamp", "switch"), level="module"),)


def test_semicolons_byte_order_mark_and_crlf_change_nothing() -> None:
    plain = load_scenario(write(Path("float")))
    rows = [[f'"{cell}"' if ";" in cell else cell for cell in line.split(",")] for line in CIRCUITS.splitlines()]
    spread = "\r\n".join(";".join(row) for row in rows).encode("utf-8-sig")
    assert load_scenario(write(Path("float"), circuits=spread)) == plain


def test_empty_rows_and_columns_are_passed_over_and_rows_keep_their_number() -> None:
    head, *rest = CIRCUITS.splitlines()
    spaced = "\n".join([head + ",,", "", *rest[:1], ",,,,", *rest[1:], ""])
    assert load_scenario(write(Path("float"), circuits=spaced)) == load_scenario(write(Path("other")))
    assert "float/circuits.csv, row 6" in faults_text(write(Path("float"), circuits=spaced.replace("6 A", "6")))


def test_a_line_break_within_a_cell_is_a_blank_and_the_row_counts_once() -> None:
    folder = write(Path("float"), circuits=changed(CIRCUITS, ("Lamp", '"Lamp\nfront"'), ("6 A", "6")))
    assert "row 4" in faults_text(folder)
    folder = write(Path("float"), circuits=changed(CIRCUITS, ("Lamp", '"Lamp\nfront"')))
    assert load_scenario(folder).circuits[1].label == "Lamp front"


@pytest.mark.parametrize(
    ("written", "same"),
    [
        (("front: 3 m; rear: 4 m", "front: 3 m; rear: 12 ft"), {"front": 3.0, "rear": 3.6576}),
        (("front: 3 m; rear: 4 m", "3 m; rear: 160 in"), {"": 3.0, "rear": 4.064}),
    ],
)
def test_lengths_in_feet_and_inches(written: tuple[str, str], same: dict[str, float]) -> None:
    assert load_scenario(write(Path("float"), circuits=changed(CIRCUITS, written))).circuits[1].length == same


def test_a_catalogue_of_ones_own_is_read_from_the_folder() -> None:
    folder = write(Path("float"), scenario='catalogue = "parts/mine.toml"\n' + SCENARIO)
    (folder / "parts").mkdir()
    own = changed(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), ("Demonstration range", "My own range"))
    (folder / "parts" / "mine.toml").write_text(own, encoding="utf-8")
    assert load_scenario(folder).catalogue.name == "My own range"


@pytest.mark.parametrize("name", ["../parts.toml", "/etc/parts.toml", "a/../../parts.toml", "link.toml"])
def test_a_catalogue_outside_the_folder_is_refused(name: str) -> None:
    folder = write(Path("float"), scenario=f'catalogue = "{name}"\n' + SCENARIO)
    Path("parts.toml").write_text("secret = 1", encoding="utf-8")
    (folder / "link.toml").symlink_to(Path("parts.toml").resolve())
    assert faults_text(folder) == (
        "error: the catalogue is outside the scenario folder  [outside-folder]\n"
        f'  where: float/scenario.toml, field "catalogue" = "{name}"\n'
        "  known: expected a file in the scenario folder"
    )


def _bad_toml(text: str) -> str:
    return faults_text(write(Path("float"), scenario=text))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("[vehicle\n", "expected ']' at the end of a table declaration (at line 1, column 9)"),
        ("a = 1\na = 2\n", "cannot overwrite a value (at line 2, column 6)"),
        ("a = " + "9" * 5000, "a number is too long or tables are nested too deep"),
        ("a = " + "[" * 100_000, "a number is too long or tables are nested too deep"),
    ],
)
def test_broken_toml_is_one_fault(text: str, reason: str) -> None:
    assert _bad_toml(text) == f"error: the file is no valid TOML: {reason}  [bad-toml]\n  where: float/scenario.toml"


@pytest.mark.parametrize(
    ("written", "shown_value", "hint"),
    [
        ("nominal_voltage = 24 V", "24 V", 'write it in quotes: nominal_voltage = "24 V"'),
        ("  drop = 3 %  # of it\r", "3 %", 'write it in quotes: drop = "3 %"'),
        ("kind = permanent", "permanent", 'write it in quotes: kind = "permanent"'),
        ("critical = True", "True", "write it in small letters: critical = true"),
    ],
)
def test_a_value_that_has_no_quotes_is_named_with_its_line(written: str, shown_value: str, hint: str) -> None:
    field = written.split()[0]
    first, where, last = _bad_toml(f"[vehicle]\n{written}\n").splitlines()
    assert first.startswith("error: the file is no valid TOML: ") and "(at line 2, column " in first
    assert where == f'  where: float/scenario.toml, line 2, field "{field}" = {shown_value}'
    assert last == f"  try:   {hint}"


@pytest.mark.parametrize(
    "written", ["a = true\na = true", "a = 08", 'a = "x', "a = {b", "a = [1 A]", "a b = 3", "a = " + "x y" * 50, "a ="]
)
def test_what_quotes_would_not_mend_is_told_as_it_is(written: str) -> None:
    first, where = _bad_toml(f"{written}\n").splitlines()
    assert first.startswith("error: the file is no valid TOML: ") and where == "  where: float/scenario.toml"


@pytest.mark.parametrize(
    "value", ["0x" + "f" * 5000, "1e99999999999999999999", "[" * 90 + "]" * 90, "2020-01-02", "nan"]
)
def test_odd_toml_values_are_faults_of_their_field(value: str) -> None:
    text = faults_text(write(Path("float"), scenario=changed(SCENARIO, ('rating = "60 A"', f"rating = {value}"))))
    assert text.startswith('error: "rating" of feed "battery" is ')
    assert len(text.splitlines()) == 3


def test_other_faults_are_found_where_the_scenario_cannot_be_read() -> None:
    folder = write(Path("float"), scenario="[", circuits=changed(CIRCUITS, ("6 A", "6")))
    rules = [line.rpartition("  ")[2] for line in faults_text(folder).splitlines() if line.startswith("error")]
    assert rules == ["[bad-toml]", "[bare-number]"]


@pytest.mark.parametrize(
    ("table", "meaning"),
    [
        ("panels", "where carriers may be fixed"),
        ("feeds", "supply conductors, a tree of them"),
        ("load_cases", "ways in which the vehicle is used"),
    ],
)
def test_names_of_a_table_that_is_lost_are_not_called_unknown(table: str, meaning: str) -> None:
    """Who writes a table in a wrong way is told just that."""
    kept = [part for part in SCENARIO.split("\n\n") if not part.startswith(f"[[{table}]]")]
    circuits = changed(CIRCUITS, ("lamp@row,,", "lamp@row,,front/1"))
    assert faults_text(write(Path("float"), f"{table} = 3\n" + "\n\n".join(kept), circuits)) == (
        f'error: "{table}" is no table  [not-a-table]\n'
        f'  where: float/scenario.toml, field "{table}" = 3\n'
        f"  known: expected tables [[{table}]]"
    )
    assert faults_text(write(Path("float"), "\n\n".join(kept), circuits)) == (
        f'error: the file has no "{table}"  [missing-field]\n  where: float/scenario.toml, field "{table}"\n'
        f"  known: {table}: {meaning}"
    )


def test_files_that_are_missing_or_no_files() -> None:
    folder = write(Path("float"))
    (folder / "scenario.toml").rename(folder / "senario.toml")
    assert faults_text(folder) == (
        'error: there is no file "scenario.toml"  [no-file]\n'
        "  where: float/scenario.toml\n"
        '  try:   did you mean "senario.toml"?'
    )
    (folder / "scenario.toml").mkdir()
    assert faults_text(folder) == (
        'error: "scenario.toml" is a folder, not a file  [no-file]\n  where: float/scenario.toml'
    )


def test_a_catalogue_that_is_not_there_is_a_fault_of_the_field_that_names_it() -> None:
    """Names that only end alike are not alike; a folder is no catalogue either."""
    folder = write(Path("float"), scenario='catalogue = "my.toml"\n' + SCENARIO)
    (folder / "ivory.toml").write_text("", encoding="utf-8")
    assert faults_text(folder) == (
        'error: there is no file "my.toml"  [no-file]\n'
        '  where: float/scenario.toml, field "catalogue" = "my.toml"\n'
        "  try:   name a file in the scenario folder, or leave the field out for the catalogue that ships"
    )
    (folder / "myy.toml").write_text("", encoding="utf-8")
    assert faults_text(folder).splitlines()[2] == '  try:   did you mean "myy.toml"?'
    (folder / "my.toml").mkdir()
    assert faults_text(folder).splitlines()[:2] == [
        'error: "my.toml" is a folder, not a file  [no-file]',
        '  where: float/scenario.toml, field "catalogue" = "my.toml"',
    ]


@pytest.mark.parametrize(
    ("name", "reason"),
    [("nowhere", "does not exist"), ("file", "is a file; a scenario is a folder"), ("x" * 900, "cannot be opened")],
)
def test_a_folder_that_is_none(name: str, reason: str) -> None:
    Path("file").write_text("", encoding="utf-8")
    assert faults_text(Path(name)) == (
        f"error: the scenario folder {reason}  [no-folder]\n"
        f"  where: {name}\n"
        "  try:   give the folder that holds scenario.toml"
    )


def test_one_circuits_file_and_no_more() -> None:
    folder = write(Path("float"), circuits=None)
    assert faults_text(folder) == ("error: there is neither circuits.csv nor circuits.xlsx  [no-file]\n  where: float")
    write(folder)
    (folder / "circuits.xlsx").write_bytes(b"")
    assert faults_text(folder) == (
        "error: there are both circuits.csv and circuits.xlsx, and only one can count  [two-circuits-files]\n"
        "  where: float\n"
        "  try:   remove one of them"
    )


@pytest.mark.parametrize("circuits", ["", "\n\n", CIRCUITS.splitlines()[0]])
def test_a_table_without_circuits(circuits: str) -> None:
    assert faults_text(write(Path("float"), circuits=circuits)) == (
        "error: the table has no circuits  [empty-table]\n"
        "  where: float/circuits.csv\n"
        "  known: expected a first row of column names, then circuits"
    )


def test_text_that_is_not_utf_8() -> None:
    folder = write(Path("float"), circuits=changed(CIRCUITS, ("Lamp", "Blinkl\xe4mp")).encode("latin-1"))
    assert faults_text(folder) == (
        "error: the file is not UTF-8 text (first seen in line 3)  [not-utf-8]\n"
        "  where: float/circuits.csv\n"
        '  try:   save it as UTF-8 (in a spreadsheet: "CSV UTF-8")'
    )


@pytest.mark.parametrize("cell", ['"Lamp', '"Lamp" front', "x" * 200_000])
def test_a_row_that_cannot_be_split(cell: str) -> None:
    assert faults_text(write(Path("float"), circuits=changed(CIRCUITS, (",Lamp", "," + cell)))) == (
        "error: the row cannot be split into cells: "
        "a quote is not closed, or has text behind it, or a cell is huge  [bad-csv]\n"
        "  where: float/circuits.csv, row 3\n"
        '  try:   put quotes around the whole cell, and write a quote within it twice: ""'
    )


def test_a_row_with_too_many_cells() -> None:
    assert faults_text(write(Path("float"), circuits=changed(CIRCUITS, ("lamp@row,,,", "lamp@row,,,1,extra")))) == (
        "error: the row has 16 cells, and the first row names 15 columns  [too-many-cells]\n"
        "  where: float/circuits.csv, row 4\n"
        "  try:   put quotes around a cell that holds the separator, and write numbers with a decimal point"
    )


def test_rows_with_too_many_cells_are_told_in_the_order_of_the_file() -> None:
    """Whether the cells that are too many are empty or not."""
    circuits = changed(CIRCUITS, ("2 m,,,,,,", "2,5 m,,,,,,"), ("lamp@row,,,", "lamp@row,,,1,extra"))
    circuits += "horn,Horn,5 A,inductive,battery,front,,,2,5 m,,,,,,\n"
    places = [line for line in faults_text(write(Path("float"), circuits=circuits)).splitlines() if "where" in line]
    assert places == [f"  where: float/circuits.csv, row {number}" for number in (2, 4, 5)]


def test_a_separator_too_many_at_the_end_of_a_sound_row_harms_nothing() -> None:
    load_scenario(write(Path("float"), circuits=changed(CIRCUITS, ("lamp@row,,,", "lamp@row,,,,"))))


def test_a_comma_that_a_variant_wrote_is_no_cell_of_the_semicolon_table() -> None:
    """Where it stands is the variant's file, although the table's own cells may hold none."""
    folder = write(Path("float"), circuits=CIRCUITS.replace(";", "|").replace(",", ";").replace("battery|key", "key"))
    (folder / "circuits.csv").write_text((folder / "circuits.csv").read_text().replace("front: 3 m| rear: 4 m", "3 m"))
    (folder / "long.toml").write_text('title = "long"\n[[circuits]]\nid = "pump"\nlength = "2,5 m"\n')
    load_scenario(folder)
    with pytest.raises(InputError) as caught:
        load_scenario(folder, "long.toml")
    assert "[decimal-comma]" in str(caught.value)
    assert "long.toml" in str(caught.value)


def test_sizes_have_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    many = CIRCUITS + "".join(f"c{n},L,1 A,led,battery,front,,,1 m,,,,,,\n" for n in range(tables.MOST_ROWS - 2))
    assert faults_text(write(Path("float"), circuits=many)) == (
        "error: the table has too many rows  [too-many-rows]\n"
        "  where: float/circuits.csv, row 5002\n"
        "  known: expected at most 5000 circuits"
    )
    monkeypatch.setattr(tables, "LARGEST_TABLE_BYTES", 1_000_000)
    folder = write(Path("float"), circuits=CIRCUITS + "\n" * 1_000_000)
    assert faults_text(folder) == (
        "error: the file is too large  [file-too-large]\n  where: float/circuits.csv\n  known: at most 1 MB"
    )


def test_too_many_tables_of_one_kind() -> None:
    case = '\n[[load_cases]]\nname = "x"\nengine_running = true\nhours = "1 h"\n'
    text = faults_text(write(Path("float"), scenario=SCENARIO + case * 2000))
    assert text == "error: there are more than 2000 tables [[load_cases]]  [too-many]\n  where: float/scenario.toml"


def test_a_file_that_may_not_be_read(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    folder = write(Path("float"))
    monkeypatch.setattr(os, "open", refuse)
    assert faults_text(folder) == (
        "error: the file cannot be read: Permission denied  [unreadable-file]\n  where: float/scenario.toml\n"
        "error: the file cannot be read: Permission denied  [unreadable-file]\n  where: float/circuits.csv\n"
        "error: the file cannot be read: Permission denied  [unreadable-file]\n  where: the catalogue that ships"
    )


def test_keeping_to_a_stock_that_nobody_counted() -> None:
    """A rule that could have no effect is a fault, because the user believes that it has one."""
    rules = '[rules]\nuse_stock = true\n\n[[load_cases]]\nname = "round"'
    scenario = 'catalogue = "parts.toml"\n' + changed(SCENARIO, ('[[load_cases]]\nname = "round"', rules))
    folder = write(Path("float"), scenario)
    lines = SHIPPED_CATALOGUE.read_text(encoding="utf-8").splitlines(keepends=True)
    uncounted = "".join(line for line in lines if not line.startswith("stock = "))
    (folder / "parts.toml").write_text(uncounted, encoding="utf-8")
    assert faults_text(folder) == (
        "error: the stock is to be kept to, "
        "and no module of the catalogue says how many are on the shelf  [stock-unknown]\n"
        '  where: float/scenario.toml, [rules], field "use_stock" = true\n'
        '  try:   give modules a "stock"'
    )


def test_only_the_circle_of_controls_is_named_and_not_what_hangs_on_it() -> None:
    """The key feed and the lamp wait for the pump, which waits for itself; each could be live but for that."""
    edits = (
        ("electronics,battery,front,,,", "electronics,key;battery,front,relay,pump,"),
        ("battery;key,,,,front", "battery;key,,relay,switch,front"),
        ("relay,switch,2.5 m", "relay,pump,2.5 m"),
    )
    assert faults_text(write(Path("float"), circuits=changed(CIRCUITS, *edits))) == (
        'error: circuit "pump" can never be switched on: '
        'its control circuit "pump" would need it to be on first  [control-loop]\n'
        '  where: float/circuits.csv, row 4, field "control" = "pump"\n'
        '  try:   name a circuit that is live without it, or leave "control" empty: the coil is then on its own fuse'
    )


def test_a_long_circle_of_feeds_is_cut_short() -> None:
    branch = 'name = "f{}"\nkind = "ignition"\nrating = "9 A"\nsource = "f{}"\nfuse_format = "E"\nhome = "front"\n'
    circle = "".join("[[feeds]]\n" + branch.format(number, (number + 1) % 60) for number in range(60))
    first_case = '[[load_cases]]\nname = "round"'
    folder = write(Path("float"), changed(SCENARIO, (first_case, circle + first_case)))
    names = " from ".join(f'"f{number}"' for number in range(12))
    assert faults_text(folder) == (
        f"error: feeds branch from each other in a circle: {names} and 49 more  [feed-cycle]\n"
        '  where: float/scenario.toml, [[feeds]] no. 3 "f0", field "source" = "f1"\n'
        "  try:   one of them must come from the supply: leave out its source"
    )


def test_a_lamp_that_is_not_known_for_the_net() -> None:
    net = (('"12 V"', '"24 V"'), ('"14 V"', '"28 V"'), ('"11 V"', '"22 V"'))
    folder = write(Path("float"), changed(SCENARIO, *net), changed(CIRCUITS, ("21 W", "2 x H11 + W5W")))
    assert faults_text(folder) == (
        'error: circuit "lamp" names lamp H11, whose watts are not known for 24 V  [lamp-for-other-net]\n'
        '  where: float/circuits.csv, row 3, field "load" = "2 x H11 + W5W"\n'
        "  known: known for 12 V\n"
        "  try:   give the load in watts"
    )


def test_a_bundle_larger_than_its_table() -> None:
    rules = changed(SCENARIO, ("[supply]", '[rules]\nbundle_table = "bunched"\n\n[supply]'))
    folder = write(
        Path("float"), rules, changed(CIRCUITS, ("pin,order", "pin,bundle"), ("lamp@row,,,", "lamp@row,,,21"))
    )
    assert faults_text(folder) == (
        'error: circuit "pump" shares its bundle with more circuits than table "bunched" knows  [bundle-past-table]\n'
        '  where: float/circuits.csv, row 4, field "bundle" = "21"\n'
        "  known: its last column is 20\n"
        "  try:   split the bundle, or choose another bundle_table"
    )
