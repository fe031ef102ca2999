"""Files that change while they are read, folders that are links, rights and names that nobody expects."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from allocator.batch import tasks
from allocator.cli.folder import OutFolder
from tests.batch.folders import write_plain
from tests.cli.running import COMMAND, ROOT, STARTER, Ran, plan_folder, ran
from tests.hostile.test_every_file import VARIANT

CATALOGUE = ROOT / "allocator" / "requirements" / "data" / "catalogue.toml"


def to_pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def to_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def to_nothing(path: Path) -> None:
    path.unlink()


CHANGES: Mapping[Callable[[Path], None], str] = {
    to_pipe: 'error: "{}" is no regular file  [no-file]\n  where: {}\n  known: it is a pipe, a device or a socket\n',
    to_folder: "error: the file cannot be read: Is a directory  [unreadable-file]\n  where: {1}\n",
    to_nothing: "error: the file cannot be read: No such file or directory  [unreadable-file]\n  where: {1}\n",
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("name", ["scenario.toml", "circuits.csv", "parts.toml", "variant.toml", "plan.json"])
def test_a_file_that_changes_between_the_look_and_the_opening(
    name: str, change: Callable[[Path], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    van = shutil.copytree(STARTER, tmp_path / "van")
    shutil.copyfile(CATALOGUE, van / "parts.toml")
    text = (van / "scenario.toml").read_text(encoding="utf-8")
    (van / "scenario.toml").write_text(f'catalogue = "parts.toml"\n{text}', encoding="utf-8")
    (van / "variant.toml").write_text(VARIANT, encoding="utf-8")
    plan_folder(tmp_path / "built")
    looked = Path.is_file

    def is_file(path: Path) -> bool:
        found = looked(path)
        if found and path.name == name:
            change(path)
        return found

    monkeypatch.setattr(Path, "is_file", is_file)
    words = {"plan.json": ("verify", tmp_path / "built")}.get(name, ("check", van, "--variant", van / "variant.toml"))
    result = ran(*words)
    file = (tmp_path / "built" if name == "plan.json" else van) / name
    said = CHANGES[change].format(name, file)
    if (name, change) == ("parts.toml", to_pipe):  # told at the field that names it
        said = said.replace(str(file), f'{van / "scenario.toml"}, field "catalogue" = "parts.toml"') + (
            "  try:   name a file in the scenario folder, or leave the field out for the catalogue that ships\n"
        )
    assert (result.status, result.stderr) == (2, said)


def test_a_file_that_waits_for_more_to_say_is_not_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As logs of the system do, which are regular files by their own account; here a pipe stands in for one."""
    van = shutil.copytree(STARTER, tmp_path / "van")
    log = van / "circuits.csv"
    to_pipe(log)
    monkeypatch.setattr(Path, "is_file", Path.exists)
    monkeypatch.setattr("stat.S_ISREG", lambda mode: True)
    writer = os.open(log, os.O_RDWR)
    result = ran("check", van)
    os.close(writer)
    assert (result.status, result.stderr) == (
        2,
        f"error: the file cannot be read: Resource temporarily unavailable  [unreadable-file]\n  where: {log}\n",
    )


@pytest.mark.parametrize("change", [to_folder, to_nothing, lambda path: shutil.rmtree(path.parent)])
def test_a_scenario_of_a_batch_that_goes_while_it_is_listed(
    change: Callable[[Path], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The others are planned all the same."""
    for name in "ab":
        write_plain(tmp_path / "in", name)
    read = tasks._head

    def head(path: Path) -> bytes:
        if (path.parent.name, path.name) == ("b", "circuits.csv"):
            change(path)
        return read(path)

    monkeypatch.setattr(tasks, "_head", head)
    result = ran("batch", tmp_path / "in", "--out", tmp_path / "out", "--jobs", "1")
    assert result.status == 2 and "2 scenarios: 1 done, 1 bad input" in result.stdout, result.stderr
    assert (tmp_path / "out" / "results" / "a" / "plan.json").exists()


def init(out: Path) -> Ran:
    """Write a starter scenario, the quickest of the commands that fill a folder."""
    return ran("init", out)


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_an_output_folder_that_is_a_link(tmp_path: Path) -> None:
    """The files go where it leads, again and again, and it stays a link."""
    real, link = tmp_path / "real", tmp_path / "link"
    real.mkdir()
    link.symlink_to(real)
    for _ in range(2):
        assert init(link).status == 0
        assert link.is_symlink() and names_in(tmp_path) == ["link", "real"]
        assert names_in(real) == ["circuits.csv", "no-sharing.toml", "scenario.toml"]
        shutil.rmtree(real)
        real.mkdir()


@pytest.mark.parametrize("leads_to", ["gone", "out", "file"])
def test_an_output_folder_that_leads_to_no_folder(leads_to: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    out = tmp_path / "out"
    out.symlink_to(tmp_path / leads_to)
    result = init(out)
    assert (result.status, result.stderr) == (
        2,
        "error: the output folder cannot be where a file is  [not-a-folder]\n"
        f"  where: {out}\n"
        "  known: it is a link that leads to no folder\n"
        "  try:   give a folder, or a name that is not taken\n",
    )
    assert names_in(tmp_path) == ["file", "out"] and (tmp_path / "file").read_text(encoding="utf-8") == "mine"


def put_file(out: Path) -> None:
    out.write_text("mine", encoding="utf-8")


def put_folder_of_another(out: Path) -> None:
    out.mkdir()
    (out / "scenario.toml").write_text("mine", encoding="utf-8")


@pytest.mark.parametrize("put", [put_file, put_folder_of_another])
def test_what_comes_to_stand_in_the_way_during_a_run_stays(
    put: Callable[[Path], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, place = tmp_path / "out", OutFolder.place

    def too_late(folder: OutFolder) -> list[str]:
        put(out)
        return place(folder)

    monkeypatch.setattr(OutFolder, "place", too_late)
    result = init(out)
    assert result.status == 2 and f"  where: {out}" in result.stderr, result.stderr
    assert names_in(tmp_path) == ["out"]
    mine = out if out.is_file() else out / "scenario.toml"
    assert mine.read_text(encoding="utf-8") == "mine" and (out.is_file() or names_in(out) == ["scenario.toml"])


def test_a_folder_that_is_moved_away_during_a_run_gets_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out, place = tmp_path / "out", OutFolder.place
    out.mkdir()

    def too_late(folder: OutFolder) -> list[str]:
        out.rename(tmp_path / "away")
        return place(folder)

    monkeypatch.setattr(OutFolder, "place", too_late)
    result = init(out)
    assert result.status == 2 and f"  where: {out}" in result.stderr
    assert names_in(tmp_path) == ["away"]
    assert not [name for name in names_in(tmp_path / "away") if not name.startswith(".")]


@pytest.mark.parametrize("umask", [0o777, 0o577, 0o377, 0o277])
def test_rights_that_shut_the_owner_out(umask: int, tmp_path: Path) -> None:
    """Nothing is written, and nothing is left. Root gives up its way round rights first (setpriv, of util-linux)."""
    done = with_umask(umask, "init", tmp_path / "out")
    assert (done.status, done.stderr) == (
        2,
        "error: nothing can be written there: the umask shuts owners out of their new folders  [out-folder]\n"
        f"  where: {tmp_path / 'out'}\n",
    )
    assert names_in(tmp_path) == []


def test_rights_that_shut_all_others_out(tmp_path: Path) -> None:
    assert with_umask(0o077, "init", tmp_path / "out").status == 0
    assert {oct(path.stat().st_mode & 0o777) for path in (tmp_path / "out").iterdir()} == {"0o600"}
    assert oct((tmp_path / "out").stat().st_mode & 0o777) == "0o700"


@pytest.mark.parametrize("mode", [0o600, 0o000])
def test_a_folder_that_must_not_be_entered(mode: int, tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    assert init(closed).status == 0
    closed.chmod(mode)
    ran = with_umask(0o022, "check", closed)
    closed.chmod(0o755)
    assert ran == Ran(
        2,
        "",
        "error: the scenario folder cannot be opened  [no-folder]\n"
        f"  where: {closed}\n  try:   give the folder that holds scenario.toml\n",
    )


def with_umask(umask: int, *words: str | Path) -> Ran:
    rights = "-dac_override,-dac_read_search"
    humbly = ["setpriv", f"--bounding-set={rights}", f"--inh-caps={rights}"] if os.geteuid() == 0 else []
    done = subprocess.run(
        [*humbly, *COMMAND, *map(str, words)],
        env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
        umask=umask,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


@pytest.mark.parametrize(
    "name", ["two\nlines", "\x1b[31mred", "\u202ebackwards", os.fsdecode(b"no\xfftext"), "-o", " "]
)
def test_folders_of_any_name(name: str, tmp_path: Path) -> None:
    """They are read and written, and whatever is said of them is said in lines that can be printed."""
    out = tmp_path / name
    done = init(out)
    assert done.status == 0 and names_in(tmp_path) == [name]
    assert ran("check", out, "--brief").status == 0
    (out / "circuits.csv").write_text("id\n", encoding="utf-8")
    refused = [
        ran("check", out),
        ran("verify", out),
        ran("init", out / "circuits.csv"),
        ran("batch", out, "--out", out),
    ]
    assert [result.status for result in refused] == [2, 2, 2, 2]
    for result in (done, *refused):
        lines = (result.stdout + result.stderr).split("\n")
        assert all(map(str.isprintable, lines)), lines
        assert not [line for line in lines if line.startswith("lines")], lines
