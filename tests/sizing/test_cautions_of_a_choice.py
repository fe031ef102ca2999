"""Cautions of a plan: about what it has chosen, and nothing about what it has left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from allocator.sizing.cautions import cautions_of_choice
from allocator.sizing.sized import Option, Sized
from tests.sizing.vehicles import catalogue_table, circuit, feed, panel, part, relay, row, sized

FAN = circuit("fan", load="8 A", load_type="motor")
TWO_FEEDS = [feed(), feed("house")]


def choose(table: Sized, **letters: str) -> Mapping[str, tuple[Option, str]]:
    """Choose an option of each need by panel, fuse format and relay class, and a feed: "cabin C micro battery"."""
    found = {}
    for name, letter in letters.items():
        panel_name, fuse_format, relay_class, feed_name = letter.split()
        (option,) = [
            item
            for item in table.need_by_id[name].options
            if (item.panel, item.fuse_format, str(item.relay_class)) == (panel_name, fuse_format, relay_class)
        ]
        found[name] = option, feed_name
    return found


def texts(table: Sized, rule: str, modules: tuple[tuple[str, str], ...] = (), **letters: str) -> list[str]:
    found = cautions_of_choice(table, choose(table, **letters), modules)
    return [item.text for item in found if item.rule == rule]


def test_the_fuse_that_was_chosen_is_told_alone():
    table = sized(FAN, FAN | {"id": "pump"})
    (text,) = texts(table, "inrush-may-open-fuse", fan="cabin C None battery", pump="cabin F None battery")
    assert "(type C, F) of fan, pump" in text
    (text,) = texts(table, "inrush-may-open-fuse", fan="cabin E None battery")
    assert "(type E) of fan stay" in text


def test_the_panel_that_was_chosen_is_told_alone():
    two = [panel(), panel("rear")]
    far = circuit("lamp", critical=True, fuse_format="C", length={"cabin": "8 m", "rear": "1 m"})
    table = sized(far, panels=two)
    assert len(texts(table, "drop-decides-wire", lamp="cabin C None battery")) == 1
    assert texts(table, "drop-decides-wire", lamp="rear C None battery") == []


def test_the_relay_that_was_chosen_is_told_alone():
    table = sized(circuit("lamp", load="14 A", load_type="motor", switching="relay", fuse_format="C"))
    assert len(texts(table, "relay-near-limit", lamp="cabin C micro battery")) == 1
    assert texts(table, "relay-near-limit", lamp="cabin C standard battery") == []
    bare = [relay("bare", "micro", suppressed=False), relay("standard", "standard")]
    table = sized(circuit("lamp", switching="relay", fuse_format="C"), catalogue={"relays": bare})
    assert len(texts(table, "coil-unsuppressed", lamp="cabin C micro battery")) == 1
    assert texts(table, "coil-unsuppressed", lamp="cabin C standard battery") == []


def test_the_feed_that_was_chosen_is_told_alone():
    both = [circuit(name, critical=True, feeds=["battery", "house"], fuse_format="C") for name in ("left", "right")]
    table = sized(*both, feeds=TWO_FEEDS)
    (text,) = texts(table, "critical-share-feed", left="cabin C None house", right="cabin C None house")
    assert "left, right may all stand on feed house" in text
    assert texts(table, "critical-share-feed", left="cabin C None battery", right="cabin C None house") == []


def test_only_modules_in_use_are_told():
    hot = part("hot", rows=[row("C")], limit="90 A")
    one_row = part("one-row", rows=[row("C", limit="20 A")])
    modules = {"modules": [*catalogue_table()["modules"], hot, one_row]}
    table = sized(panels=[panel(), panel("engine", ambient="41 degC")], catalogue=modules)
    assert len(texts(table, "module-too-hot", (("engine", "hot"),), lamp="cabin C None battery")) == 1
    (text,) = texts(table, "module-too-hot", (("engine", "one-row"),), lamp="cabin C None battery")
    assert text.startswith("one-row carries nothing at panel engine")
    assert texts(table, "module-too-hot", (("cabin", "hot"), ("engine", "row-c")), lamp="cabin C None battery") == []


def test_a_need_of_which_nothing_was_chosen_keeps_all_that_it_may_use():
    table = sized(circuit("lamp", fuse_format="C", fuse_rating="40 A"), circuit("radio", fuse_format="C"))
    (text,) = texts(table, "branch-not-selective", radio="cabin C None battery")
    assert "a fault on lamp may open the 60 A fuse" in text


def test_a_table_without_the_figures_behind_it_keeps_all_its_cautions():
    table = sized(FAN)
    assert (
        cautions_of_choice(replace(table, sizings=()), choose(table, fan="cabin C None battery"), ()) == table.cautions
    )
