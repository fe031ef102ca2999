"""Cautions about circuits: whom each names among several, what it says, and from where on it is given."""

from __future__ import annotations

import pytest

from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, fuse, panel, part, told

MOTOR = {"load_type": "motor"}
LAMP = {"load_type": "filament-lamp"}


def test_starts_are_told_by_kind_of_load_with_figure_formats_and_names():
    """10 x for 5 ms, 6 x for 0.5 s, 20 A for 1 s; a heater has no start, and 100 A of type E stay whole."""
    found = told(
        "inrush-may-open-fuse",
        circuit("wiper", load="8 A", fuse_rating="20 A", **MOTOR),
        circuit("fan", fuse_rating="20 A", **MOTOR),
        circuit("rear", load="1 A", **LAMP),
        circuit("front", **LAMP),
        circuit("beam", load="D1S", load_type="electronics"),
        circuit("heater", load_type="heater"),
        circuit("large", load="1 A", fuse_rating="100 A", fuse_format="E", **LAMP),
        feeds=[feed(rating="200 A")],
    )
    assert [about for about, _ in found] == ["beam", "front, rear", "fan, wiper"]
    beam, lamps, motors = (text for _, text in found)
    assert "up to 20 A each for about 1 s" in beam and "(type C, F) of beam" in beam
    assert "filament-lamp circuits start with up to 10 x their current for about 0.005 s" in lamps
    assert "(type C, F) of front, rear" in lamps
    assert "motor circuits start with up to 6 x their current for about 0.5 s" in motors
    assert "(type C, E, F) of fan, wiper" in motors


def test_a_fuse_that_opens_during_the_start_is_told_with_the_rating_that_does():
    """
    30 A for half a second: 7.5 A are at 400 %, and 350 % open type C within 0.5 s (ISO 8820-3).

    10 A are at 300 %, between two gates; of 20 A the data sheet has a melting integral of 520 A2s, the start 450 A2s.
    """
    fan = circuit("fan", fuse_format="C", **MOTOR)
    ((about, text),) = told("fuse-opens-at-start", fan, circuit("lamp", **LAMP), circuit("heat", load_type="heater"))
    assert about == "fan"
    assert ": fan 7.5 A type C, within 0.5 s at 30 A (take 10 A and try it; 20 A is shown to stay whole). " in text
    assert told("inrush-may-open-fuse", fan) == []
    only = catalogue_table()
    only["fuses"] = [item for item in only["fuses"] if item["fuse_format"] != "C" or item["rating"] == "7.5 A"]
    ((_, text),) = told("fuse-opens-at-start", fan, catalogue=only)
    assert "(no larger type C on offer would do)" in text
    only["fuses"].append(fuse("C", 20))
    ((_, text),) = told("fuse-opens-at-start", fan, catalogue=only)
    assert "(take 20 A)" in text
    ((_, text),) = told("fuse-opens-at-start", fan | {"stall": "26.25 A"})
    assert "7.5 A type C, within 0.5 s at 26.2 A" in text
    assert told("fuse-opens-at-start", fan | {"stall": "26.2 A"}) == []
    ((about, text),) = told(
        "fuse-opens-at-start", circuit("lamp", **LAMP), fan, circuit("pump", fuse_format="F", **MOTOR)
    )
    assert about == "fan, pump" and "20 A is shown to stay whole); pump 7.5 A type F, " in text


def test_a_larger_fuse_is_one_that_does_not_open_too():
    """35 A are 350 % of 10 A, which open within 0.5 s as well; 30 A for 0.5 s are 450 A2s."""
    fan = circuit("fan", fuse_format="C", **MOTOR)
    ((_, text),) = told("fuse-opens-at-start", fan | {"stall": "35 A"})
    assert "(take 15 A and try it; 30 A is shown to stay whole)" in text
    few = [item for item in catalogue_table()["fuses"] if item["fuse_format"] != "C" or item["rating"] == "7.5 A"]
    ((_, text),) = told("fuse-opens-at-start", fan, catalogue={"fuses": [*few, fuse("C", 10)]})
    assert "(take 10 A and try it). " in text


def test_every_motor_whose_fuse_is_slow_is_told_with_what_it_draws():
    """
    Five times its current, for the others what is stated.

    Type E opens at 125 % within no published time, at twice its rating within 50 s; type C at twice within 5 s.
    """
    slow = [
        circuit("fan", fuse_format="E", **MOTOR),
        circuit("winch", load="8 A", stall="40 A", fuse_format="E", **MOTOR),
    ]
    others = [circuit("lamp", **LAMP), circuit("pump", fuse_format="C", fuse_rating="10 A", stall="20 A", **MOTOR)]
    found = told("fuse-slow-at-stall", *slow, *others)
    assert [about for about, _ in found] == ["fan", "winch"]
    assert "fan draws about 25 A, at which its 20 A type E fuse opens within no published time" in found[0][1]
    assert "winch draws about 40 A, at which its 20 A type E fuse opens only within 50 s" in found[1][1]


def test_the_run_with_the_least_drop_to_spare_is_the_tightest():
    """3 % of 12 V are 0.36 V; left may lose more volts, and has more to spare."""
    found = told(
        "drop-decides-wire",
        circuit("left", length="17 m"),
        circuit("right", critical=True, length="9 m"),
        circuit("near", length="1 m"),
    )
    ((about, text),) = found
    assert about == "left, right" and "the tightest, right from panel cabin, loses " in text and " of 0.36 V" in text


@pytest.mark.parametrize(
    ("upstream", "metres", "given"), [("0 %", 1, True), ("0 %", 0.2, False), ("50 %", 1, True), ("50 %", 0.75, False)]
)
def test_the_cables_before_a_circuit_count_against_its_whole_limit(upstream: str, metres: float, given: bool) -> None:
    """
    5 % of 12 V are 0.6 V, with what is kept for the cables before it.

    Cable and tail of 6 mm2 for 48 A, 2 m and 0.4 m at 105 degC: 2.4 m x 3.3 mohm/m x 1.334 x 48 A = 0.507 V. To that
    comes 0.12 V for each metre of 1 mm2.
    """
    found = told("drop-with-feed", circuit(length=f"{metres} m", drop="5 %"), rules={"upstream_drop": upstream})
    assert bool(found) == given


def test_the_circuit_that_loses_most_of_its_limit_is_told_and_how_many_others_there_are():
    """4 mm2 over 9 m lose 0.258 V, and the cables before them 0.507 V: 0.765 V of 3 % of 12 V."""
    loud = [
        circuit("a", critical=True, length="8 m"),
        circuit("b", critical=True, length="9 m"),
        circuit("c", length="9 m"),
    ]
    ((about, text),) = told("drop-with-feed", *loud, circuit("near", length="0.2 m"))
    assert about == "b" and text.startswith(
        "with feed battery loaded as far as it may be and its cables hot, b may lose "
    )
    assert "lose 0.765 V of the 0.36 V that it is allowed; 2 more may lose more than theirs: keep a share" in text
    ((_, text),) = told("drop-with-feed", loud[1], circuit("near", length="0.2 m"))
    assert "0.36 V that it is allowed: keep a share" in text


def test_what_is_lost_counts_at_the_panel_where_the_circuit_is():
    """At the rear panel, 6 m from the supply, three times as much is lost before it as at the front."""
    two = [panel("front"), panel("rear", supply_distance="6 m")]
    at = {name: circuit(panels=[name], length="0.2 m", drop="10 %") for name in ("front", "rear")}
    assert told("drop-with-feed", at["front"], panels=two) == []
    assert len(told("drop-with-feed", at["rear"], panels=two)) == 1


def test_cautions_go_by_the_vehicle_s_own_figures():
    """Each of these says of the published figures that there is nothing to tell, or tells of another number."""

    def texts(rule: str, item: Table, own: Table, **tables: Table) -> list[list[str]]:
        return [[text for _, text in told(rule, item, rules=rules, **tables)] for rules in ({}, {"figures": own})]

    twice = {"fuse_gates": {"C": {"200 %": {"latest": "6 s"}}}}
    early = {"fuse_gates": {"C": {"350 %": {"earliest": "0.004 s", "latest": "0.5 s"}}}}
    pump = circuit(fuse_format="C", fuse_rating="10 A", stall="20 A", **MOTOR)
    assert [len(found) for found in texts("fuse-slow-at-stall", pump, twice)] == [0, 1]
    lamp = circuit(fuse_format="C", fuse_rating="15 A", **LAMP)  # 50 A for 5 ms
    assert [len(found) for found in texts("inrush-may-open-fuse", lamp, early)] == [0, 1]
    assert [len(found) for found in texts("inrush-may-open-fuse", lamp, {"lamp_inrush": 60})] == [0, 1]
    short = {"supply": {"fault_current": "15 A"}}
    blade = circuit(fuse_format="C", length="0 m")
    assert [len(found) for found in texts("withstand-unproven", blade, twice, **short)] == [0, 1]
    plain, own = texts("fuse-slow-at-far-end", blade, twice, **short)
    assert "only within 5 s" in plain[0] and "only within 6 s" in own[0]


@pytest.mark.parametrize(
    ("own", "says"),
    [
        ({}, "within 0.5 s at 30 A (take 10 A and try it; 20 A is shown to stay whole)"),
        ({"fuse_gates": {"C": {"350 %": {"latest": "0.4 s"}}}}, "within 0.4 s at 30 A (take 10 A and try it; 20 A"),
        ({"fuse_gates": {"C": {"350 %": {"latest": "0.6 s"}}}}, None),
        ({"fuse_gates": {"C": {"200 %": {"latest": "0.5 s"}}}}, "within 0.5 s at 30 A (take 20 A)"),
        ({"fuse_melting": {"C": {"10 A": "451 A2s"}}}, "within 0.5 s at 30 A (take 10 A)"),
    ],
)
def test_a_start_is_held_against_the_vehicle_s_own_gates_and_melting_integrals(own: Table, says: str | None) -> None:
    """30 A for 0.5 s, 450 A2s, are 400 % of 7.5 A, 300 % of 10 A, 200 % of 15 A and 150 % of 20 A."""
    found = [text for _, text in told("fuse-opens-at-start", circuit(fuse_format="C", **MOTOR), rules={"figures": own})]
    assert found == [] if says is None else says in found[0]


def test_a_fuse_is_slow_below_three_times_its_rating_at_the_far_end():
    """ECSS-Q-ST-30-11C 6.17.3 c: three times 7.5 A are 22.5 A, and the run of no length leaves what is at the panel."""
    near = circuit("near", fuse_format="C", length="0 m")
    assert told("fuse-slow-at-far-end", near, supply={"fault_current": "22.5 A"}) == []
    ((about, text),) = told("fuse-slow-at-far-end", near, supply={"fault_current": "22.4 A"})
    assert about == "near" and "draws about 22.4 A, less than 3 x its 7.5 A fuse" in text and "within 5 s" in text


def test_every_circuit_with_a_slow_fuse_at_its_far_end_is_told_once():
    """In each of three formats; all but the one without length."""
    far = [circuit(name, length=length) for name, length in (("a", "9 m"), ("b", "60 m"), ("c", "0 m"))]
    found = told(
        "fuse-slow-at-far-end", *(item | {"fuse_format": "C"} for item in far), supply={"fault_current": "24 A"}
    )
    assert [about for about, _ in found] == ["a", "b"]
    both = told("fuse-slow-at-far-end", far[1], supply={"fault_current": "24 A"})
    assert [about for about, _ in both] == ["b"]


@pytest.mark.parametrize(("ambient_c", "melts_a"), [(30, 287), (60, 277)])
def test_of_wires_behind_unproven_fuses_the_thinnest_is_told_with_what_melts_it(ambient_c: int, melts_a: int) -> None:
    """Onderdonk: 1974 cmil x sqrt(log10(1 + (1083 - Ta) / (234 + Ta)) / 33) for 1 s; 1 A opens its fuse soon enough."""
    ((about, text),) = told(
        "withstand-unproven",
        circuit("thick", load="20 A", fuse_format="C"),
        circuit("thin", fuse_format="C"),
        circuit("proven", load="1 A", fuse_format="C"),
        supply={"fault_current": "14 A"},
        panels=[panel(ambient=f"{ambient_c} degC")],
    )
    assert about == "thick, thin" and f"w1 of thin, melts within 1 s at {melts_a} A" in text


def test_thin_wires_are_told_where_they_are_longer_than_200_mm():
    """ISO 10133:2012: separate conductors of at least 1 mm2 where longer than 200 mm."""
    gauges = {"wires": [part("g18", area="18 AWG"), *catalogue_table()["wires"]]}
    many = [
        circuit(name, load="1 A", length=length) for name, length in (("a", "0.2 m"), ("b", "0.201 m"), ("c", "1 m"))
    ]
    thick = circuit("d", load="9 A")
    assert [about for about, _ in told("wire-below-usual", *many, thick, catalogue=gauges)] == ["b, c"]
    only_1_mm2 = {"wires": [item for item in catalogue_table()["wires"] if item["id"] != "w0.75"]}
    assert told("wire-below-usual", *many, catalogue=only_1_mm2) == []


def test_a_wanted_fuse_is_large_above_twice_the_load():
    """10 A carry 7.5 A; a fuse that nobody wanted is not told, however much larger the smallest on offer is."""
    wanted = [
        circuit(name, load=load, fuse_rating="10 A") for name, load in (("a", "3.75 A"), ("b", "3.749 A"), ("c", "1 A"))
    ]
    found = told("wanted-fuse-large", *wanted, circuit("chosen", load="1 A", fuse_format="E"))
    assert [about for about, _ in found] == ["b", "c"] and "more than twice its 3.749 A" in found[0][1]


def test_what_a_wanted_fuse_carries_is_what_its_own_curve_leaves_where_it_stands():
    """10 A of type C carry 6.6 A at 85 degC, and 6 A at 30 degC by a curve of the vehicle's own."""
    own = {"figures": {"fuse_share": {"C": {"65 degC": "60 %"}}}}
    for most_a, ambient_c, rules in ((3.3, 85, {}), (3, 30, own)):
        items = [circuit(load=f"{most_a - less} A", fuse_rating="10 A", fuse_format="C") for less in (0, 0.001)]
        found = [
            told("wanted-fuse-large", item, panels=[panel(ambient=f"{ambient_c} degC")], rules=rules) for item in items
        ]
        assert [len(texts) for texts in found] == [0, 1]


def test_every_unusual_rating_in_use_is_told_once():
    odd = [fuse("C", 9.5), fuse("F", 12), fuse("C", 12), fuse("C", 27)]
    loads = [circuit(name, load=load) for name, load in (("a", "6 A"), ("b", "7 A"), ("c", "8.5 A"))]
    found = told("rating-unusual", *loads, catalogue={"fuses": [*catalogue_table()["fuses"], *odd]})
    assert [about for about, _ in found] == ["C12", "C9.5", "F12"]  # nothing needs the one of 27 A
    assert "12 A is no usual rating of type F" in found[2][1]


def test_usual_ratings_are_those_of_the_type():
    """7.5 A is one of types C and F, and none of type E; 60 A is one of E, and none of C."""
    offered = {"fuses": [*catalogue_table()["fuses"], fuse("E", 7.5)]}
    assert [about for about, _ in told("rating-unusual", catalogue=offered)] == ["E7.5"]
    assert told("rating-unusual", circuit(load="40 A", fuse_format="E")) == []


METRIC = catalogue_table()["wires"]
SMALL = circuit("small", load="1 A", fuse_format="C")
SMALL_TAIL = {"feeds": [feed(rating="100 A", tail_fuse="20 A")]}
STRIP_FUSES = {"holders": [part("maxi", fuse_format="E", limit="100 A")]}


@pytest.mark.parametrize(
    ("gauge", "item", "tables", "holders"),
    [
        (16, circuit(load="8 A", fuse_format="C"), {}, {}),
        (14, circuit(load="22 A", switching="relay", relay_class="standard", fuse_format="C"), {}, {}),
        (6, circuit(), SMALL_TAIL, {}),
        (16, circuit(), SMALL_TAIL, {}),
        (8, circuit(), {"feeds": [feed(rating="100 A")]}, STRIP_FUSES),
    ],
    ids=["run", "jumper", "cable", "tail", "tail of one entry"],
)
def test_one_gauge_among_metric_wires_is_told_wherever_it_is(gauge: int, item: Table, tables: Table, holders: Table):
    """
    Table 5 of 33 CFR 183.425 at 105 degC, of gauges that carry enough and are thinner than the next metric size.

    16 AWG in a bundle 17.5 A, alone 25 A; 14, 8 and 6 AWG alone 35, 80 and 120 A.
    """
    assert told("wires-mixed", item, SMALL, catalogue=holders, **tables) == []
    both = holders | {"wires": [*METRIC, part("z", area=f"{gauge} AWG")]}
    ((about, text),) = told("wires-mixed", item, SMALL, catalogue=both, **tables)
    assert about == "wires" and "(z among the others)" in text


def test_the_fewer_of_the_wires_that_are_mixed_are_named_thinnest_first():
    gauges = [part(f"g{gauge}", area=f"{gauge} AWG") for gauge in (8, 16)]
    many = [circuit(f"c{load}", load=f"{load} A") for load in (1, 8, 14, 18)]
    ((_, text),) = told("wires-mixed", *many, feeds=[feed(rating="80 A")], catalogue={"wires": [*METRIC, *gauges]})
    assert "(g16, g8 among the others)" in text
