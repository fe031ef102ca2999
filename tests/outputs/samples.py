"""
Sample requirements for the outputs, by number of circuits and kind of label, with the modules that hold them.

No solver and no scenario files are involved: ``packer.py`` places what stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from allocator.requirements.reading import load_catalogue
from allocator.requirements.scenario import Circuit, Requirements, Scenario

Label = Callable[[int, str], str]

NAMES = (
    "Dipped beam left", "Dipped beam right", "Main beam", "Horn", "Wiper", "Washer pump", "Deck lights", "Bilge pump",
    "Cabin heater", "Radio", "Fridge", "Step light", "Reading lamps", "Work lamp rear", "Roof fan", "Water pump",
    "Charger socket", "Door motor", "Tail lights left", "Tail lights right",
)  # fmt: skip
FEEDS: Sequence[dict[str, Any]] = (
    {"name": "battery", "label": "Battery, always live", "kind": "permanent", "rating": "125 A", "tail_fuse": "60 A"},
    {"name": "ignition", "label": "Live with the key", "kind": "ignition", "rating": "60 A", "source": "battery",
     "fuse_format": "E", "relay_class": "heavy", "tail_fuse": "40 A"},
    {"name": "lights", "label": "Live with the light switch", "kind": "switched", "rating": "40 A", "source": "battery",
     "fuse_format": "E"},
    {"name": "house", "label": "House battery", "kind": "permanent", "rating": "100 A", "tail_fuse": "40 A"},
)  # fmt: skip


def plain_label(number: int, name: str) -> str:
    """Return a name of the usual length."""
    return f"{name} {number}"


def long_label(number: int, name: str) -> str:
    """Return a label of 60 signs and more, every third without a space to break at."""
    if number % 3 == 0:
        return f"{name.replace(' ', '')}{'SupplementaryEquipmentConnection' * 2}{number}"
    return f"{name} number {number}, supplementary equipment behind the third cover plate on the left"


def any_script_label(number: int, name: str) -> str:
    """Return labels in scripts of the world, right-to-left ones included, and one that no font draws."""
    return (
        f"Фара ближнего света левая {number}",
        f"مصباح أمامي أيسر رقم {number}",
        f"左前照灯近光继电器 {number}",
        f"Προβολέας ομίχλης {number}",
        f"מנורת חניה שמאלית {number}",
        f"ไฟหน้าด้านซ้าย {number}",
        f"हेडलाइट बायाँ {number}",
        f"Éclairage de l’échelle à bâbord n° {number}",
        f"\U000f0000\U000f0001 {number}",
    )[number % 9]


def usual_amperes(number: int) -> float:
    """Return the load of a circuit, A, for plans that need not mind the amperes of their feeds."""
    return 1.0 + number % 6


def light_amperes(number: int) -> float:
    """Return a load that lets 160 circuits share four feeds, A."""
    return round(0.4 + 0.2 * (number % 6), 1)


@dataclass(frozen=True)
class Sample:
    """
    What to build: circuits, their labels, and the modules (by panel) to put them into.

    ``panel_bound``: eight circuits after each other accept one panel alone, the next eight the next one.
    """

    num_circuits: int
    modules: Mapping[str, Sequence[str]]
    carriers: Mapping[str, Sequence[str]]
    label: Label = plain_label
    return_path: str = "chassis"
    feeds: Sequence[str] = tuple(feed["name"] for feed in FEEDS)
    formats: Sequence[str] = ("F", "C")
    spares: Sequence[dict[str, Any]] = ({"fuse_format": "F", "count": 2},)
    relays: bool = True
    voltages: tuple[str, str, str] = ("12 V", "14 V", "11 V")
    """Nominal, operating, minimum."""
    more_cases: int = 0
    """Load cases beside the three that circuits name."""
    amperes: Callable[[int], float] = usual_amperes
    panel_bound: bool = False


SMALL = Sample(
    8,
    {"dash": ("wide-c13-standard2-micro2",)},
    {"dash": ("mount-2",)},
    feeds=("battery", "house"),
    formats=("C",),
    spares=({"fuse_format": "C", "count": 2},),
)
LARGE = Sample(
    60,
    {
        "front": ("twin-f9", "twin-c7", "c6-micro2", "e2-heavy1", "bus-e5", "micro6"),
        "rear": ("single-c8-e1", "wide-c13-standard2-micro2", "twin-f9", "standard1-micro3"),
    },
    {"front": ("frame-6",), "rear": ("mount-1", "frame-4", "mount-1")},
)
WIDE = Sample(
    60,
    {"deck": ("twin-f9", "wide-c15", "standard4", "e2-heavy1", "bus-c5-c5", "micro6", "single-c8-e1", "twin-f9")},
    {"deck": ("frame-9", "frame-3")},
    return_path="wire",
)


MANY = Sample(
    160,
    {
        "nose": ("twin-f9", "wide-c15", "e2-heavy1", "micro6", "micro6", "micro6"),
        "left side": ("twin-f9", "twin-c7", "wide-c15", "micro6", "twin-f9"),
        "roof": ("twin-f9", "twin-c7", "micro6"),
        "tail": ("twin-f9", "micro6"),
    },
    {"nose": ("frame-9",), "left side": ("frame-6",), "roof": ("frame-3",), "tail": ("mount-2",)},
)


SPREAD = replace(MANY, amperes=light_amperes, panel_bound=True)
"""160 circuits in four panels for the search, which minds amperes and chooses modules and carriers itself."""


def requirements_of(sample: Sample) -> Requirements:
    """Build the requirements of a sample on the catalogue that ships."""
    panels = list(sample.modules)
    scenario = {
        "vehicle": {
            "name": "Sample vehicle", "return_path": sample.return_path, "nominal_voltage": sample.voltages[0],
            "operating_voltage": sample.voltages[1], "minimum_voltage": sample.voltages[2],
        },
        "supply": {"charger_rating": "90 A", "battery_capacity": "110 Ah", "fault_current": "900 A"},
        "panels": [
            {"name": name, "ambient": "40 degC", "max_bays": 20, "supply_distance": f"{2 + 3 * number} m"}
            for number, name in enumerate(panels)
        ],
        "feeds": [{**feed, **({"home": panels[0]} if "source" in feed else {})} for feed in FEEDS
            if feed["name"] in sample.feeds
        ],
        "load_cases": [
            {"name": "parked", "engine_running": False, "hours": "8 h"},
            {"name": "night-drive", "engine_running": True, "hours": "3 h"},
            {"name": "at-work", "engine_running": True, "hours": "5 h"},
            *({"name": f"more-{n}", "engine_running": True, "hours": "1 h"} for n in range(1, sample.more_cases + 1)),
        ],
        "rules": {"spares": list(sample.spares)},
    }  # fmt: skip
    return Requirements(
        scenario=Scenario.model_validate(scenario),
        circuits=tuple(Circuit.model_validate(row) for row in _circuit_rows(sample)),
        catalogue=load_catalogue(),
    )


def _circuit_rows(sample: Sample) -> Iterator[dict[str, Any]]:
    for number in range(1, sample.num_circuits + 1):
        row: dict[str, Any] = {
            "id": f"circuit-{number:02}",
            "order": number,
            "label": sample.label(number, NAMES[(number - 1) % len(NAMES)]),
            "load": f"{sample.amperes(number):g} A",
            "load_type": ("resistive", "filament-lamp", "motor", "led", "electronics")[number % 5],
            "load_cases": [["parked", "at-work"], ["night-drive"], []][number % 3],
            "feeds": [sample.feeds[number % len(sample.feeds)]],
            "length": {"": "3 m"},
            "fuse_format": sample.formats[number % len(sample.formats)],
        }
        if sample.panel_bound:
            row["panels"] = [list(sample.modules)[(number - 1) // 8 % len(sample.modules)]]
        if not sample.relays:
            yield row
            continue
        if number % 8 == 5:
            row |= {"switching": "changeover" if number % 16 == 5 else "relay", "control": "circuit-01"}
        if number == 3:
            row |= {"switching": "relay", "relay_class": "micro"}
        yield row
