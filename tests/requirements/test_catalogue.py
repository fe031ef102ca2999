"""The catalogue that ships: it shows every structural feature, no module is best at all, and trade practice holds."""

from __future__ import annotations

from itertools import pairwise, permutations
from pathlib import Path

import pytest

from allocator.requirements import load_catalogue
from allocator.requirements.catalogue import Module, Terminal
from allocator.requirements.reading import SHIPPED_CATALOGUE
from tests.requirements.folders import SCENARIO, changed, faults_text, write

CATALOGUE = load_catalogue()
TABS: dict[tuple[str, str], dict[str, float]] = {
    (tabs.relay_class, tabs.function): {str(name): width for name, width in tabs.tabs.items()}
    for tabs in CATALOGUE.relay_tabs
}


def test_it_says_that_it_is_invented() -> None:
    assert "invented" in CATALOGUE.notice.lower()


def _bus_kinds(module: Module) -> list[str]:
    return [row.bus for row in module.rows]


@pytest.mark.parametrize(
    ("feature", "found"),
    [
        ("two rows that take strips", lambda m: _bus_kinds(m) == ["strip", "strip"] and not m.sockets),
        ("two formats", lambda m: len({row.fuse_format for row in m.rows}) == 2),
        ("ways and sockets", lambda m: m.rows and m.sockets),
        ("micro sockets only", lambda m: not m.rows and [s.relay_class for s in m.sockets] == ["micro"]),
        ("standard sockets only", lambda m: not m.rows and [s.relay_class for s in m.sockets] == ["standard"]),
        ("heavy sockets only", lambda m: not m.rows and [s.relay_class for s in m.sockets] == ["heavy"]),
        ("sockets of two classes", lambda m: len(m.sockets) == 2),
        ("singly fed rows", lambda m: "single" in _bus_kinds(m)),
        ("a solid bus of maxi ways", lambda m: m.stud and [row.fuse_format for row in m.rows] == ["E"]),
        ("two bays", lambda m: m.bays == 2),
    ],
)
def test_a_module_shows_each_feature(feature: str, found: object) -> None:
    assert callable(found)
    assert [module.id for module in CATALOGUE.modules if found(module)], feature


def test_carriers_of_several_sizes() -> None:
    bays = [carrier.bays for carrier in CATALOGUE.carriers]
    assert {1, 2} < set(bays)
    assert len(set(bays)) == len(bays) >= 5
    assert max(bays) >= 2 * max(module.bays for module in CATALOGUE.modules)


def test_accessories_of_every_kind_are_there() -> None:
    kinds = {accessory.per for accessory in CATALOGUE.accessories}
    assert kinds == {"carrier", "bay", "empty-bay", "module", "row", "socket", "relay", "unused-cavity", "feed-tail"}


def _offer(module: Module) -> dict[str, float]:
    """What a module has of each kind, price and width turned round so that more is better everywhere."""
    offer: dict[str, float] = {"width": -module.bays, "price": -module.price, "limit": module.limit or 0}
    for row in module.rows:
        key = f"{row.fuse_format} {row.bus}"
        offer[key] = offer.get(key, 0) + row.ways
    for sockets in module.sockets:
        offer[sockets.relay_class] = sockets.count
    return offer


def test_no_module_is_better_than_another_in_everything() -> None:
    """Else one type would never be used, and the number of bays would be no puzzle."""
    for one, other in permutations(CATALOGUE.modules, 2):
        have, want = _offer(one), _offer(other)
        assert any(have.get(key, 0) < amount for key, amount in want.items()), f"{one.id} against {other.id}"


def _terminals(kind: str, tab: float | None = None, stud: str | None = None) -> list[Terminal]:
    found = [t for t in CATALOGUE.terminals if (t.kind, t.tab, t.stud) == (kind, tab, stud)]
    return sorted(found, key=lambda terminal: terminal.smallest_wire)


def _ladders() -> list[tuple[str, list[Terminal]]]:
    tabs = sorted(
        {row.tab for module in CATALOGUE.modules for row in module.rows}
        | {w for t in TABS.values() for w in t.values()}
    )
    inlets = sorted({strip.inlet_tab for strip in CATALOGUE.strips})
    studs = sorted({stud.size for stud in CATALOGUE.studs} | {m.stud for m in CATALOGUE.modules if m.stud})
    return [
        *((f"tab {tab}", _terminals("tab", tab)) for tab in tabs),
        *((f"inlet {tab}", _terminals("inlet", tab)) for tab in inlets),
        *((f"ring {stud}", _terminals("ring", stud=stud)) for stud in studs),
    ]


@pytest.mark.parametrize(("place", "terminals"), _ladders(), ids=lambda value: value if isinstance(value, str) else "")
def test_terminals_fit_every_place_without_a_gap_between_wires(place: str, terminals: list[Terminal]) -> None:
    """A larger terminal starts where the smaller one ends, and carries more."""
    assert terminals, place
    for smaller, larger in pairwise(terminals):
        assert smaller.largest_wire == larger.smallest_wire
        assert smaller.limit < larger.limit


def test_strips_and_studs_take_thick_tails_where_they_are_strong() -> None:
    for strip in CATALOGUE.strips:
        thickest = _terminals("inlet", strip.inlet_tab)[-1]
        assert thickest.largest_wire >= (25 if strip.limit >= 90 else 10)
        assert thickest.limit >= strip.limit
    assert max(strip.limit for strip in CATALOGUE.strips) >= 100


def test_every_rating_of_the_three_blade_formats_is_on_offer() -> None:
    """ISO 8820-3 ratings, and bodies for 58 V of each format."""
    ratings = {
        letter: sorted({fuse.rating for fuse in CATALOGUE.fuses if fuse.fuse_format == letter and fuse.voltage == 32})
        for letter in "CEF"
    }
    assert ratings == {
        "C": [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40],
        "E": [20, 25, 30, 35, 40, 50, 60, 70, 80, 100],
        "F": [2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30],
    }
    assert {fuse.fuse_format for fuse in CATALOGUE.fuses if fuse.voltage == 58} >= {"C", "E", "F"}


def test_every_socket_class_has_relays_for_both_common_nets() -> None:
    on_offer = {(relay.relay_class, relay.function, relay.voltage) for relay in CATALOGUE.relays}
    assert on_offer == {(*key, voltage) for key in TABS for voltage in (12.0, 24.0)}


# Common practice, no source: what the trade expects of strips, relays and terminals. Everyday speech calls a tab of
# 6.3 mm "about 6.5" and one of 4.8 mm "about 5".


def test_a_strip_row_is_cut_to_any_length_and_its_other_side_takes_single_terminals() -> None:
    """Common practice, no source: a strip is longer than a row, and every way takes terminals by wire size."""
    strip_by_id = {strip.id: strip for strip in CATALOGUE.strips}
    rows = [row for module in CATALOGUE.modules for row in module.rows if row.bus == "strip"]
    assert rows
    for row in rows:
        assert strip_by_id[row.strip or ""].ways >= row.ways
        assert len(_terminals("tab", row.tab)) >= 2


def test_micro_relay_tabs() -> None:
    """Common practice, no source: two tabs of 6.3 mm and two of 4.8 mm, three of 4.8 mm in a changeover."""
    assert sorted(TABS["micro", "make"].values()) == [4.8, 4.8, 6.3, 6.3]
    assert sorted(TABS["micro", "changeover"].values()) == [4.8, 4.8, 4.8, 6.3, 6.3]


def test_standard_relay_tabs() -> None:
    """Common practice, no source: 6.3 mm throughout; four, five in a changeover, two or three (31) in a flasher."""
    for function, designations in (
        ("make", {"30", "85", "86", "87"}),
        ("changeover", {"30", "85", "86", "87", "87a"}),
        ("flasher", {"49", "49a", "31"}),
    ):
        tabs = TABS["standard", function]
        assert set(tabs) == designations
        assert set(tabs.values()) == {6.3}


def test_heavy_relay_tabs_and_rating() -> None:
    """Common practice, no source: about 70 A, two tabs of 9.5 mm for the load and two of 6.3 mm for the coil."""
    tabs = TABS["heavy", "make"]
    assert tabs == {"30": 9.5, "87": 9.5, "85": 6.3, "86": 6.3}
    heavy = [relay for relay in CATALOGUE.relays if relay.relay_class == "heavy" and relay.voltage == 12]
    assert [relay.resistive for relay in heavy] == [70]


def test_a_standard_changeover_relay_carries_about_30_a() -> None:
    """Common practice, no source."""
    ratings = [
        relay.resistive
        for relay in CATALOGUE.relays
        if (relay.relay_class, relay.function, relay.voltage) == ("standard", "changeover", 12)
    ]
    assert ratings == [30]


def test_coils_draw_about_two_watts() -> None:
    """Typical data: 80 ohm at 12 V and 320 ohm at 24 V, 1.8 W; a flasher has no coil."""
    for relay in CATALOGUE.relays:
        if relay.function != "flasher":
            assert 1.2 <= relay.voltage**2 / relay.coil <= 2.4


def test_a_solid_bus_comes_with_its_stud_and_leaves_only_output_terminals_to_choose() -> None:
    """Common practice, no source."""
    solid = [module for module in CATALOGUE.modules if module.stud is not None]
    assert solid
    for module in solid:
        assert set(_bus_kinds(module)) == {"stud"}
        assert all(row.strip is None for row in module.rows)
        assert _terminals("ring", stud=module.stud)


def test_retainers_go_in_after_all_terminals() -> None:
    """Common practice, no source."""
    notes = [accessory.note for accessory in CATALOGUE.accessories if accessory.per in ("row", "socket")]
    assert notes
    assert all(note.startswith("goes in after all terminals") for note in notes)


def test_limits_fall_with_heat_up_to_about_85_degrees() -> None:
    tables = [strip.derating for strip in CATALOGUE.strips]
    tables += [module.derating for module in CATALOGUE.modules if module.rows]
    for steps in tables:
        assert steps[-1].ambient == 85
        assert 50 <= steps[-1].factor < steps[0].factor < 100


def test_a_system_that_no_wire_is_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    scenario = changed(SCENARIO, ("[vehicle]", 'catalogue = "parts.toml"\n[rules]\nwire_system = "awg"\n\n[vehicle]'))
    folder = write(Path("float"), scenario)
    parts = SHIPPED_CATALOGUE.read_text(encoding="utf-8")
    for gauge, area in (("16 AWG", "1.2 mm2"), ("14 AWG", "2 mm2"), ("12 AWG", "3 mm2")):
        parts = changed(parts, (f'area = "{gauge}"', f'area = "{area}"'))
    (folder / "parts.toml").write_text(parts, encoding="utf-8")
    assert faults_text(folder) == (
        'error: "wire_system" of [rules] is "awg", and no wire of the catalogue is of that system  '
        "[no-wire-of-system]\n"
        '  where: float/scenario.toml, [rules], field "wire_system" = "awg"'
    )
