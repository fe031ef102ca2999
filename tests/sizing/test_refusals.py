"""Circuits that cannot be sized, compared whole: what is said, what is known, and how to mend it."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.errors import InputError
from allocator.requirements.places import Origins, Spot
from allocator.sizing import size
from tests.sizing.vehicles import (
    AREAS,
    Table,
    catalogue_table,
    circuit,
    faults,
    feed,
    fuse,
    panel,
    part,
    requirements,
    terminal,
    wire,
)

BLADE = circuit(fuse_format="C")
SMALL = {"feeds": [{"name": "battery", "kind": "permanent", "rating": "15 A"}]}
"""A feed for which even a thin wire does."""
ALONE = SMALL | {"rules": {"bundle_factor": "100 %"}}
MAXI = circuit(load="11 A", fuse_format="E", length="0.5 m")
"""Behind 20 A type E, which 120 A open within 1 s: 14,400 A2s, for which copper of 87.6 A s^0.5/mm2 takes 1.37 mm2."""
TWO = [panel("front"), panel("rear")]
THICK = {"wires": [wire(area) for area in AREAS if area >= 10]}
WIRES, FUSES = (catalogue_table()[table] for table in ("wires", "fuses"))
THIN_TABS = [terminal("tab", 6.3, 0.5, 4, 40), terminal("ring", "M8", 1, 50, 250), terminal("inlet", 9.5, 1, 25, 100)]
NOT_F = [item for item in FUSES if item["fuse_format"] != "F"]


def case(*circuits: Table, **tables: Any) -> tuple[tuple[Table, ...], dict[str, Any]]:
    return circuits, tables


CIRCUITS = {
    "no-run-length": (
        case(BLADE | {"length": {"roof": "1 m", "front": "1 m"}, "panels": ["rear"]}, panels=[*TWO, panel("roof")]),
        "has no run length from panel rear",
        "panel rear, format C: lengths are given from front, roof",
        'add "rear: 3 m" to its length, or leave the panel out of its panels',
    ),
    "wanted-wire-not-offered": (
        case(BLADE | {"wire": "3 mm2"}, catalogue={"wires": [*WIRES, part("other", area="1 mm2")]}),
        "wants a wire of 3 mm2, which is not on offer",
        "panel cabin, format C: areas on offer: 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50 mm2",
        "want a wire on offer, or leave the choice open",
    ),
    "wanted-wire-not-offered in metric": (
        case(BLADE | {"wire": "14 AWG"}, catalogue={"wires": [*THICK["wires"], part("g", area="14 AWG")]},
             rules={"wire_system": "metric"}),
        "wants a wire of 2.081 mm2, which is not on offer",
        "panel cabin, format C: areas on offer: 10, 16, 25, 35, 50 mm2",
        "drop wire_system, want a wire on offer, or leave the choice open",
    ),
    "wanted-wire-too-thin": (
        case(BLADE | {"load": "11 A", "wire": "1 mm2"}),
        "the wanted wire may not stand behind a fuse of 15 A at 30 °C in bundle",
        "panel cabin, format C: w1 carries 14 A; with its insulation it takes 1.308 mm2",
        "want a thicker wire",
    ),
    "wanted-wire-too-thin for a wanted fuse": (
        case(BLADE | {"load": "11 A", "wire": "1.5 mm2", "fuse_rating": "30 A"}),
        "the wanted wire may not stand behind a fuse of 30 A at 30 °C in bundle",
        "panel cabin, format C: w1.5 carries 17.5 A; with its insulation it takes 3.308 mm2",
        "want a thicker wire, or a smaller fuse",
    ),
    "wanted-wire-too-thin for any table": (
        case(BLADE | {"wire": "0.75 mm2"}),
        "the wanted wire may not stand behind a fuse of 7.5 A at 30 °C in bundle",
        "panel cabin, format C: w0.75 is below the ampacity table; with its insulation it takes 0.823 mm2",
        "want a thicker wire",
    ),
    "no-wire-for-fuse": (
        case(BLADE | {"load": "20 A"}, catalogue={"wires": [wire(1), wire(1.5)]}, **SMALL),
        "no wire on offer may stand behind a fuse of 30 A at 30 °C in bundle",
        "panel cabin, format C: w1.5 carries 17.5 A; with its insulation it takes 3.308 mm2",
        "offer thicker wire or hotter insulation, or split the load",
    ),
    "no-wire-for-fuse by the small-craft rule": (  # 50 A / 150 % / 70 % takes 47.6 A, hence 10 AWG
        case(circuit(load="35 A", fuse_format="E"), catalogue={"wires": [wire(1), wire(1.5)]}, feeds=SMALL["feeds"],
             rules={"fuse_over_wire": "small-craft-150"}),
        "no wire on offer may stand behind a fuse of 50 A at 30 °C in bundle",
        "panel cabin, format E: w1.5 carries 17.5 A; with its insulation it takes 5.261 mm2",
        "offer thicker wire or hotter insulation, or split the load",
    ),
    "wanted-wire-melts": (
        case(MAXI | {"wire": "1 mm2"}, catalogue={"wires": [wire(1), wire(50)]}, **ALONE),
        "the wanted wire does not outlive a short circuit behind a 20 A type E fuse",
        "panel cabin, format E: the fuse lets by up to 14400 A²s; with the insulation of w1 it takes 1.37 mm2",
        "want a thicker wire",
    ),
    "no-wire-for-fault": (
        case(MAXI, catalogue={"wires": [wire(1)]}, **ALONE),
        "no wire on offer outlives a short circuit behind a 20 A type E fuse",
        "panel cabin, format E: the fuse lets by up to 14400 A²s; with the insulation of w1 it takes 1.37 mm2",
        "offer thicker wire, or accept a faster fuse format",
    ),
    "wanted-wire-drops": (  # 19.95 mohm mm2/m x 5 A x 9 m / 0.36 V = 2.49 mm2
        case(BLADE | {"wire": "1 mm2", "critical": True, "length": {"": "9 m"}}),
        "the wanted wire does not keep the drop over 9 m within 0.36 V",
        "panel cabin, format C: w1 loses 1.07 V; more than 2.49 mm2 is needed",
        "shorten the run, allow more drop, or want a thicker wire",
    ),
    "no-wire-for-drop": (  # 19.95 mohm mm2/m x 20 A x (60 + 30) m / 0.36 V = 99.75 mm2
        case(BLADE | {"load": "20 A", "critical": True, "length": {"": "60 m"}, "return_length": "30 m"}),
        "no wire on offer keeps the drop over 90 m within 0.36 V",
        "panel cabin, format C: w50 loses 0.792 V; more than 99.8 mm2 is needed",
        "shorten the run, allow more drop, or offer a thicker wire",
    ),
    "no-wire-for-drop that terminals take": (  # 6 mm2 lose 20 x 7 x 3.83 mohm
        case(BLADE | {"load": "7 A", "critical": True, "length": {"": "20 m"}}),
        "no wire that terminals on offer take keeps the drop over 20 m within 0.36 V",
        "panel cabin, format C: w6, the thickest that they take, loses 0.536 V; w10 would do",
        "shorten the run, allow more drop, or offer terminals for w10",
    ),
    "no-wire-for-drop that terminals take, there and back": (  # 4 mm2 lose 7 x (12 + 8) x 5.83 mohm; 6 mm2 do not do
        case(BLADE | {"load": "7 A", "critical": True, "length": {"": "12 m"}, "return_length": "8 m"},
             catalogue={"terminals": THIN_TABS}),
        "no wire that terminals on offer take keeps the drop over 20 m within 0.36 V",
        "panel cabin, format C: w4, the thickest that they take, loses 0.817 V; w10 would do",
        "shorten the run, allow more drop, or offer terminals for w10",
    ),
    "no-terminal": (
        case(BLADE | {"load": "7 A"}, catalogue=THICK),
        "no terminals on offer take w10, the thinnest wire that would do, behind a fuse of 10 A",
        "panel cabin, format C: a terminal fits by tab width and wire, and carries the rating of the fuse",
        "offer such terminals, accept another fuse format or relay class, or split the load",
    ),
    "unreachable": (
        case(
            circuit(feeds=["battery", "house"], panels=["rear", "roof"]),
            feeds=[feed(panels=["front"]), feed("house", panels=["front"])],
            panels=[*TWO, panel("roof")],
        ),
        "is on no panel: none that it accepts is reached by a feed that it accepts",
        "it accepts feeds battery, house and panels rear, roof",
        "let it accept a panel that one of these feeds reaches, or a feed that reaches one of these panels",
    ),
    "no-relay-large-enough": (
        case(circuit(load="45 A", load_type="motor", switching="relay")),
        "no make relay on offer switches 45 A of kind motor",
        "micro switches 15 A; standard switches 24 A; heavy switches 44 A",
        "offer a relay with a 12 V coil that switches 45 A of kind motor, or split the load",
    ),
    "format-not-offered": (
        case(circuit(fuse_format="A")),
        "wants format A, which no module on offer takes",
        "panel cabin, format A: formats on offer: C, E, F",
        "want a format on offer, or leave the choice open",
    ),
    "no-jumper": (
        case(BLADE | {"load": "20 A", "switching": "relay", "relay_class": "micro"}, catalogue=THICK),
        "no wire on offer makes a jumper from way to socket behind a fuse of 30 A",
        "panel cabin, format C, micro relay: tabs of 6.3 and 6.3 mm; w10 is the thinnest that bears the fuse",
        "accept a larger relay class or fuse format, or offer terminals for that wire",
    ),
    "no-jumper for a short circuit": (  # 1 mm2 carries 20 A alone
        case(MAXI | {"switching": "relay", "relay_class": "heavy"}, catalogue={"wires": [wire(1)]}, **ALONE),
        "no wire on offer makes a jumper from way to socket behind a fuse of 20 A",
        "panel cabin, format E, heavy relay: tabs of 9.5 and 9.5 mm; no wire outlives a short circuit",
        "accept a larger relay class or fuse format, or offer terminals for that wire",
    ),
    "no-wire-for-jumper": (
        case(BLADE | {"load": "20 A", "switching": "relay", "relay_class": "micro"}, catalogue={"wires": [wire(1)]},
             **SMALL),
        "no wire on offer may stand as a jumper behind a fuse of 30 A at 30 °C",
        "panel cabin, format C, micro relay: wires on offer carry up to 20 A there; the hottest insulation is for "
        "105 °C",
        "offer thicker wire or hotter insulation, accept a cooler panel, or split the load",
    ),
    "no-fuse-for-net": (
        case(circuit(fuse_format="F"), catalogue={
            "fuses": [*NOT_F, fuse("F", 10, breaking=500), fuse("F", 15, 12), fuse("F", 20, breaking=500)]
        }),
        "no type F fuse on offer is rated for 16 V and breaks 1000 A",
        "panel cabin, format F: 32 V and 500 A; 12 V and 1000 A",
        "offer fuses of a higher voltage or breaking capacity, or accept another format",
    ),
    "no-fuse-for-net of that format": (
        case(circuit(fuse_format="F"), catalogue={"fuses": NOT_F}),
        "no type F fuse on offer is rated for 16 V and breaks 1000 A",
        "panel cabin, format F: none of this format is on offer",
        "offer fuses of a higher voltage or breaking capacity, or accept another format",
    ),
    "key-out": (
        case(circuit(feeds=["one", "two"], key_out=True),
             feeds=[feed("one", kind="ignition"), feed("two", kind="ignition")]),
        "must work with the key out, and accepts no such feed",
        "it accepts one, two",
        "let it accept a permanent feed that no relay switches",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CIRCUITS)
def test_a_circuit_that_cannot_be_sized(name: str) -> None:
    (circuits, tables), message, known, hint = CIRCUITS[name]
    fault = faults(*circuits, **tables)[0]
    assert (fault.rule, fault.where) == (name.partition(" ")[0], 'circuits table, circuit "lamp"')
    assert (fault.message, fault.known, fault.hint) == (f'circuit "lamp": {message}', known, hint)


def test_of_several_formats_the_refusal_that_came_nearest_is_told_and_one_of_each_other_kind():
    """Type F fails at its jumper, C and E at the leads of the coil: without a jumper there is nothing to lead to."""
    found = faults(circuit(load="20 A", switching="relay", relay_class="standard"), catalogue={"holders": []})
    (fault,) = found
    assert fault.rule == "no-jumper"
    assert fault.known == (
        "panel cabin, format F, standard relay: tabs of 2.8 and 6.3 mm; w2.5 is the thinnest that bears the fuse; "
        "panel cabin, format C, standard relay: the coil leads of its relay hang on a fuse of 30 A, and no wire and "
        "terminal on offer bear that"
    )


def test_a_wish_without_which_a_format_would_do_is_told_before_a_format_that_would_not_do_anyway():
    """Type F fails at its jumper whatever the run is; type C does with a thicker wire."""
    horn = circuit(load="20 A", switching="relay", relay_class="standard", wire="1 mm2")
    (fault,) = faults(horn)
    assert fault.rule == "wanted-wire-too-thin" and fault.known.startswith("panel cabin, format C, standard relay: w1 ")
    assert "format F, standard relay: no wire on offer makes a jumper" in fault.known
    (alone,) = faults(horn, catalogue={"fuses": [item for item in FUSES if item["fuse_format"] in ("F", "SF51")]})
    assert alone.rule == "no-jumper"


def test_a_wish_without_which_a_place_would_not_do_either_is_not_told_before_others():
    """From the rear no wire at all keeps the drop; at the front it is the wish alone, though earlier in the sums."""
    far = BLADE | {"load": "11 A", "wire": "1.5 mm2", "critical": True, "length": {"front": "1 m", "rear": "300 m"}}
    hot = [panel("front", ambient="60 degC"), panel("rear")]
    (fault,) = faults(far, panels=hot)
    assert fault.rule == "wanted-wire-too-thin" and fault.known.startswith("panel front, format C: ")
    (fault,) = faults(far, panels=hot[1:])
    assert fault.rule == "wanted-wire-drops"


def test_a_wish_without_which_the_circuit_would_do_if_only_it_had_no_relay_is_not_told_before_others():
    """With a thicker wire types C and E fail at the leads of the coil; type F has no jumper."""
    horn = circuit(load="20 A", switching="relay", relay_class="standard", wire="1 mm2")
    (fault,) = faults(horn, catalogue={"holders": []})
    assert fault.rule == "no-jumper" and "the wanted wire may not stand behind a fuse of" in fault.known


def test_a_drop_that_asks_for_more_than_terminals_take_is_told_at_the_field_that_states_it():
    """A tab of 6.3 mm takes up to 6 mm2, and the drop asks for 10 mm2."""
    read = requirements(circuit(load="7 A", length="20 m", drop="3 %", fuse_format="C"))
    spot = Spot("circuits.csv", "row 2", "", (), {"drop": "3 %", "length": "20 m"})
    with pytest.raises(InputError) as caught:
        size(read.read_from(Origins({("circuits", "lamp"): spot})))
    (fault,) = caught.value.faults
    assert (fault.rule, fault.where) == ("no-wire-for-drop", 'circuits.csv, row 2, field "drop" = "3 %"')
    by_rule = requirements(circuit(load="7 A", length="20 m", critical=True, fuse_format="C"))
    with pytest.raises(InputError) as caught:
        size(by_rule.read_from(Origins({("circuits", "lamp"): spot})))
    assert caught.value.faults[0].where == 'circuits.csv, row 2, field "length" = "20 m"'


def test_in_a_panel_as_hot_as_the_insulation_it_is_the_panel_that_is_told():
    (fault,) = faults(
        circuit(switching="relay", fuse_format="E"), panels=[panel(ambient="105 degC")], feeds=[feed(rating="20 A")]
    )[:1]
    assert fault.rule == "no-wire-for-jumper" and fault.message.endswith("behind a fuse of 20 A at 105 °C")
    assert "carry up to 0 A there; the hottest insulation is for 105 °C" in fault.known


def test_of_several_fuses_without_a_wire_the_smallest_is_told():
    """Type C of 20 A stands before type F of 7.5 A in the list, and is farther from what there is."""
    fuses = [item for item in FUSES if item["fuse_format"] == "SF51"] + [fuse("C", 20), fuse("F", 7.5)]
    tables = {"catalogue": {"wires": [wire(1)], "fuses": fuses}, "rules": {"bundle_factor": "30 %"}}
    (fault,) = faults(circuit(load="1 A"), feeds=[feed(rating="20 A")], **tables)
    assert fault.rule == "no-wire-for-fuse" and "behind a fuse of 7.5 A" in fault.message


def test_of_several_fuses_without_a_jumper_the_smallest_is_told():
    """At 75 degC 1 mm2 carries 12.6 A alone; type C of 20 A stands before type F of 15 A in the list."""
    fuses = [item for item in FUSES if item["fuse_format"] == "SF51"] + [fuse("C", 20), fuse("F", 15)]
    tables = {"catalogue": {"wires": [wire(1)], "fuses": fuses}, "panels": [panel(ambient="75 degC")]}
    (fault,) = faults(circuit(load="7 A", switching="relay"), feeds=[feed(rating="10 A")], **tables)
    assert fault.rule == "no-wire-for-jumper" and "behind a fuse of 15 A at 75" in fault.message


def test_of_several_runs_whose_terminals_are_too_small_the_one_that_loses_least_is_told():
    lengths = {"front": "30 m", "rear": "20 m", "roof": "25 m"}
    (fault,) = faults(BLADE | {"load": "7 A", "critical": True, "length": lengths}, panels=[*TWO, panel("roof")])
    assert fault.rule == "no-wire-for-drop" and "terminals on offer take keeps the drop over 20 m" in fault.message


def test_of_several_runs_that_lose_too_much_the_one_that_loses_least_is_told():
    lengths = {"front": "90 m", "rear": "60 m", "roof": "120 m"}
    (fault,) = faults(BLADE | {"load": "20 A", "critical": True, "length": lengths}, panels=[*TWO, panel("roof")])
    assert fault.rule == "no-wire-for-drop" and "over 60 m" in fault.message


def test_what_a_fuse_takes_goes_by_the_vehicle_s_own_ampacities_and_is_not_told_past_the_table():
    def known(**rules: Any) -> str:
        return faults(BLADE | {"wire": "1 mm2", "load": "11 A"}, rules=rules)[0].known

    own = {"ampacity": {"1.2 mm2": {"105 degC": "22 A"}}}
    assert known(figures=own).endswith("with its insulation it takes 1.2 mm2")
    # 15 A at 1 % of what a wire carries alone would be 1500 A, and the table ends at 445 A for 4/0.
    assert known(bundle_factor="1 %") == "panel cabin, format C: w1 carries 0.2 A"


def test_a_refusal_late_in_the_sums_is_nearer_than_one_at_the_fuse():
    """31 A are too much for any type C or F; behind 50 A of type E the run loses too much."""
    (fault,) = faults(circuit(load="31 A", critical=True, length="90 m"), feeds=[feed(rating="100 A")])
    assert fault.rule == "no-wire-for-drop" and fault.known.startswith("panel cabin, format E: w50 loses ")
    others = fault.known.split("; panel")[1:]
    assert others == [
        " cabin, format C: needs 31 A; no fuse on offer carries it at 30 °C",
    ]


def test_a_wanted_wire_too_thin_is_nearer_than_a_wanted_fuse_that_another_format_has_not():
    """5 A is of types C and F; of type E, the first on offer, there is none so small."""
    (fault,) = faults(circuit(load="2 A", fuse_rating="5 A", wire="0.75 mm2"))
    assert fault.rule == "wanted-wire-too-thin"
    assert "format E: no type E fuse of 5 A is on offer" in fault.known
