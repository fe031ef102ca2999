"""Every file that a command reads, each in every way that harms: one answer in words, and nothing is written."""

from __future__ import annotations

import csv
import os
import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest

from allocator.plan import read_plan
from tests.batch.folders import write_plain
from tests.cli.running import SCENARIOS, STARTER, plan_folder, planned, ran

FLEET = SCENARIOS / "example-fleet"
NOTES = "day,by,circuit,what,value,remark\n2026-03-02,JR,fan,removed,,\n"
KEEP = "circuit,place\nlamps,bench/1\n"
VARIANT = 'title = "Less"\n\n[rules]\nfeed_loading = "75 %"\n'


class Given:
    """A sound folder with one file of each kind, and the command that reads a kind of file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.out = folder / "out"
        plan_folder(folder / "built")
        shutil.copytree(STARTER, folder / "van")
        for name, text in (("notes.csv", NOTES), ("keep.csv", KEEP), ("van/variant.toml", VARIANT)):
            (folder / name).write_text(text, encoding="utf-8")

    def file(self, kind: str) -> Path:
        """Return where the file of a kind stands, which need not be there yet."""
        places = {"fleet": "fleet.toml", "variant": "van/variant.toml", "kept plan": "kept.json"}
        return self.folder / places.get(kind, f"{kind}.csv" if kind in ("notes", "keep") else f"{kind}.json")

    def answer(self, kind: str) -> tuple[int, str]:
        """Run the command that reads the file; return its status and all that it says."""
        file, van, built = self.file(kind), self.folder / "van", self.folder / "built"
        words: Mapping[str, tuple[str | Path, ...]] = {
            "fleet": ("stock", file, "--out", self.out),
            "variant": ("check", van, "--variant", file),
            "notes": ("verify", built, "--notes", file),
            "keep": ("plan", van, "--out", self.out, "--keep", file),
            "kept plan": ("plan", van, "--out", self.out, "--keep", file),
            "compared": ("compare", built, file, "--out", self.out),
            "revised": ("revise", file, van, "--out", self.out),
            "asked": ("why", file, "--out", self.out),
        }
        result = ran(*words[kind])
        return result.status, result.stdout + result.stderr


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Given:
    return Given(tmp_path_factory.mktemp("given"))


TOML, TABLE, PLAN = ("fleet", "variant"), ("notes", "keep"), ("kept plan", "compared", "revised", "asked")
HARM: Mapping[str, bytes] = {
    "nothing": b"",
    "UTF-16": 'name = "x"\n'.encode("utf-16"),
    "latin-1": "name,n\xe4me\n".encode("latin-1"),
    "zero bytes": b"\x00" * 100,
    "random bytes": bytes(range(256)),
    "lists without end": b"a = " + b"[" * 100_000,
    "lists as JSON": b"[" * 100_000 + b"]" * 100_000,
    "a huge number": b"a = " + b"9" * 5000,
    "no number": b'{"plan_format": NaN}',
    "an open quote": b'circuit,place\n"lamps,bench/1\n',
    "six megabytes": b"# " + b"x" * 6_000_000,
}


@pytest.mark.parametrize("kind", (*TOML, *TABLE, *PLAN))
def test_contents_that_nobody_meant(kind: str, given: Given) -> None:
    for harm, content in HARM.items():
        given.file(kind).write_bytes(content)
        status, said = given.answer(kind)
        assert status == 2 and said.startswith("error: "), f"{harm}: {status}\n{said}"
        assert "Traceback" not in said and len(said) < 5000, harm
        assert not given.out.exists(), harm
    given.file(kind).unlink()
    status, said = given.answer(kind)
    assert (status, said.count("error: ")) == (2, 1)


def put_no_file(path: Path, how: str) -> None:
    """Put something there that is no file: opening a pipe would wait for ever."""
    path.unlink(missing_ok=True)
    if how == "a pipe":
        os.mkfifo(path)
    else:
        path.symlink_to(path.name if how == "a link to itself" else "gone")


NO_FILES = ("a pipe", "a link to itself", "a link to nothing")


@pytest.mark.parametrize("how", NO_FILES)
@pytest.mark.parametrize("kind", (*TOML, *TABLE, *PLAN))
def test_what_is_no_regular_file(kind: str, how: str, given: Given) -> None:
    """It is there, so nobody is told that it is not, nor asked whether its own name was meant."""
    path = given.file(kind)
    put_no_file(path, how)
    status, said = given.answer(kind)
    path.unlink()
    known = "it is a pipe, a device or a socket" if how == "a pipe" else "it is a link that leads to no file"
    assert status == 2 and f'error: "{path.name}" is no regular file  [no-file]' in said, said
    assert f"  known: {known}" in said and "did you mean" not in said


@pytest.mark.parametrize("how", NO_FILES)
@pytest.mark.parametrize("name", ["scenario.toml", "circuits.csv"])
def test_a_scenario_of_what_is_no_regular_file(name: str, how: str, tmp_path: Path) -> None:
    van = shutil.copytree(STARTER, tmp_path / "van")
    put_no_file(van / name, how)
    result = ran("check", van)
    assert result.status == 2 and f'error: "{name}" is no regular file  [no-file]' in result.stderr, result.stderr
    assert "did you mean" not in result.stderr


@pytest.mark.parametrize("kind", TABLE)
def test_tables_as_spreadsheets_write_them(kind: str, given: Given) -> None:
    """With a byte order mark, semicolons, other line ends and rows without end."""
    text = {"notes": NOTES, "keep": KEEP}[kind]
    given.file(kind).write_bytes(b"\xef\xbb\xbf" + text.replace(",", ";").replace("\n", "\r\n").encode())
    assert given.answer(kind)[0] == 0
    shutil.rmtree(given.out, ignore_errors=True)
    head, row = text.splitlines()
    given.file(kind).write_text(f"{head}\n" + f"{row}\n" * 6000, encoding="utf-8")
    status, said = given.answer(kind)
    assert status == 2 and "[too-many-rows]" in said
    given.file(kind).write_text(f"{head}\n" + f"{row}{' ' * 30}\n" * 1_000_000, encoding="utf-8")
    status, said = given.answer(kind)
    assert status == 2 and "[file-too-large]" in said


@pytest.mark.parametrize("kind", TABLE)
@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Lamps", 'did you mean "lamps"?'),
        ("l\u0430mps", '"\u0430" is CYRILLIC SMALL LETTER A, not LATIN SMALL LETTER A'),
    ],
)
def test_ids_that_are_nearly_those_of_circuits(kind: str, name: str, told: str, given: Given) -> None:
    row = {"notes": f"2026-03-02,JR,{name},removed,,", "keep": f"{name},bench/1"}[kind]
    head = {"notes": NOTES, "keep": KEEP}[kind].splitlines()[0]
    given.file(kind).write_text(f"{head}\n{row}\n", encoding="utf-8")
    status, said = given.answer(kind)
    assert status == 2 and told in said


def test_decimal_commas_and_numbers_that_are_none_in_notes(given: Given) -> None:
    for value in ("7,5 A", "NaN A", "inf A", "1e99 A", "-5 A", "0 A", "5"):
        given.file("notes").write_text(NOTES + f'2026-03-03,JR,lamps,fuse,"{value}",\n', encoding="utf-8")
        status, said = given.answer("notes")
        assert status == 2 and said.startswith("error: ") and value in said, said


@pytest.mark.parametrize("name", ["../van", "/etc", "van/../../van", "link"])
@pytest.mark.parametrize("field", ["scenario", "plan"])
def test_a_fleet_stays_in_its_folder(field: str, name: str, tmp_path: Path) -> None:
    folder = tmp_path / "fleet"
    folder.mkdir()
    (folder / "link").symlink_to(tmp_path)
    text = f'name = "Fleet"\n\n[[vehicles]]\nname = "van"\n{field} = "{name}"\norders_per_month = 1\n'
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    result = ran("stock", folder, "--out", tmp_path / "out")
    assert result.status == 2 and "[outside-fleet]" in result.stderr
    assert not (tmp_path / "out").exists()


def test_names_of_folders_in_a_batch_are_only_names(tmp_path: Path) -> None:
    """A formula, markup, an option and a way out of the folder; a link leads nowhere else."""
    names = ["=1+1", "<b>bold</b>", "--out", "..hidden", "-3"]
    for name in names:
        write_plain(tmp_path / "in", name.replace("/", "\u2215"))
    result = ran("batch", tmp_path / "in", "--out", tmp_path / "out", "--jobs", "1")
    assert result.status == 0, result.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["in", "out"]
    table = (tmp_path / "out" / "summary.csv").read_text(encoding="utf-8")
    first = [row[0] for row in csv.reader(table.splitlines()) if row]
    assert not [cell for cell in first if cell[:1] in tuple("=+-@")]


def test_what_a_note_says_is_only_text(given: Given) -> None:
    """On lists no formula, on the page no markup."""
    said = '"=HYPERLINK(""http://x"") <script>alert(1)</script>"'
    way = next(way.at for way in read_plan(given.folder / "built" / "plan.json").ways if way.need == "fan")
    rows = [
        "2026-03-02,=JR,fan,removed,,",
        f"2026-03-03,@x,siren,added,{way}; 2 A; electronics; 3 m; 1 mm2; 5 A,{said}",
    ]
    given.file("notes").write_text(NOTES.splitlines()[0] + "\n" + "\n".join(rows) + "\n", encoding="utf-8")
    result = ran("draw", given.folder / "built", "--notes", given.file("notes"), "--out", given.out)
    assert result.status == 0, result.stderr
    assert "<script>alert" not in (given.out / "report.html").read_text(encoding="utf-8")
    for path in given.out.glob("*.csv"):
        cells = [cell for row in csv.reader(path.read_text(encoding="utf-8-sig").splitlines()) for cell in row]
        assert not [cell for cell in cells if cell[:1] in tuple("=@+")], path.name
    shutil.rmtree(given.out)
    assert planned()[0].status == 0
