"""The invented catalogue of the hand-built vehicle: every structural feature once, and no part more than that."""

from __future__ import annotations

from typing import Any

Table = dict[str, Any]


def part(name: str, price: str, **fields: Any) -> Table:
    return {"id": name, "label": name, "price": price} | fields


def _row(ways: int, fuse_format: str, bus: str, limit: str, tab: str, strip: str | None = None) -> Table:
    return {"ways": ways, "fuse_format": fuse_format, "bus": bus, "limit": limit, "tab": tab, "strip": strip}


_HOT = [{"ambient": "60 degC", "factor": "80 %"}]
_C4 = _row(4, "C", "strip", "45 A", "6.3 mm", "bridge-c")

_MODULES = [
    part("twin", "9.00", rows=[_C4, _C4], limit="60 A", derating=_HOT),
    part(
        "wide",
        "15.00",
        bays=2,
        rows=[_row(6, "C", "strip", "60 A", "6.3 mm", "bridge-c")],
        sockets=[{"relay_class": "standard", "count": 2}, {"relay_class": "micro", "count": 1}],
        limit="60 A",
        derating=_HOT,
        stock=1,
    ),
    part(
        "bus",
        "14.00",
        rows=[_row(3, "E", "stud", "80 A", "9.5 mm")],
        sockets=[{"relay_class": "heavy", "count": 1}],
        limit="80 A",
        stud="M6",
        stud_limit="100 A",
        derating=_HOT,
    ),
    part(
        "solo",
        "8.00",
        rows=[_row(2, "C", "single", "30 A", "6.3 mm")],
        sockets=[{"relay_class": "heavy", "count": 1}],
        limit="40 A",
        derating=_HOT,
    ),
]


def _relay(name: str, function: str, coil_ohm: int, amperes: tuple[int, int, int, int], **fields: Any) -> Table:
    contacts = dict(zip(("resistive", "lamp", "motor", "inductive"), (f"{a} A" for a in amperes), strict=True))
    relay = part(name, "3.00", relay_class=name.partition("-")[2], function=function, coil=f"{coil_ohm} ohm")
    return relay | {"voltage": "12 V"} | contacts | fields


_RELAYS = [
    _relay("weak-micro", "make", 100, (5, 3, 3, 3), price="1.00"),
    _relay("make-micro", "make", 100, (30, 17, 17, 15)),
    _relay("change-standard", "changeover", 80, (40, 22, 25, 20), break_share="75 %"),
    _relay("flash-standard", "flasher", 280, (20, 20, 10, 10)),
    _relay("make-heavy", "make", 70, (70, 45, 50, 40)),
    _relay("lorry-heavy", "make", 280, (70, 45, 50, 40)) | {"voltage": "24 V"},
]


def _tabs(relay_class: str, function: str, *tabs: tuple[str, str]) -> Table:
    widths = {name: width for names, width in tabs for name in names.split()}
    return {"relay_class": relay_class, "function": function, "tabs": widths}


_RELAY_TABS = [
    _tabs("micro", "make", ("30 87", "6.3 mm"), ("85 86", "4.8 mm")),
    _tabs("standard", "changeover", ("30 87 87a 85 86", "6.3 mm")),
    _tabs("standard", "flasher", ("49 49a 31", "6.3 mm")),
    _tabs("heavy", "make", ("30 87", "9.5 mm"), ("85 86", "6.3 mm")),
]

_WIRE_RANGES = (("0.5", "2.5", "24 A"), ("2.5", "6", "50 A"), ("6", "16", "90 A"), ("16", "50", "160 A"))
_TERMINAL_PLACES = (
    ("tab", "tab", "4.8 mm", 1),
    ("tab", "tab", "6.3 mm", 2),
    ("tab", "tab", "9.5 mm", 3),
    ("inlet", "tab", "12 mm", 4),
    ("ring", "stud", "M6", 4),
    ("ring", "stud", "M8", 4),
)


def _terminals() -> list[Table]:
    return [
        part(f"{kind}-{fit.split()[0]}-{largest}", "0.20", kind=kind, limit=limit)
        | {field: fit, "smallest_wire": f"{smallest} mm2", "largest_wire": f"{largest} mm2"}
        for kind, field, fit, num_sizes in _TERMINAL_PLACES
        for smallest, largest, limit in _WIRE_RANGES[:num_sizes]
    ]


def _fuses() -> list[Table]:
    ratings = {"C": (2, 3, 5, 10, 15, 20, 25, 30), "E": (20, 30, 40, 50), "SF30": (60, 80, 100)}
    rest = {"voltage": "32 V", "breaking_capacity": "1000 A"}
    odd = {"fuse_format": "E", "rating": "35 A"}
    weak = part("E-weak", "0.20", **odd, voltage="32 V", breaking_capacity="500 A")
    low = part("E-low", "0.20", **odd, voltage="12 V", breaking_capacity="1000 A")
    return [weak, low] + [
        part(f"{letter}-{a}", "0.30", fuse_format=letter, rating=f"{a} A") | rest
        for letter, amperes in ratings.items()
        for a in amperes
    ]


def catalogue_table() -> Table:
    """Return the catalogue as a file would hold it."""
    areas = ("1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50")
    per = ("carrier", "bay", "empty-bay", "module", "row", "socket", "relay", "unused-cavity", "feed-tail")
    return {
        "name": "hand-made",
        "notice": "invented",
        "currency": "EUR",
        "modules": _MODULES,
        "carriers": [
            part(f"frame-{n}", f"{4 * n}.50", bays=n, width=f"{20 + 50 * n} mm", height="120 mm") for n in (1, 2, 4)
        ],
        "strips": [part("bridge-c", "5.00", ways=20, limit="70 A", inlet_tab="12 mm", derating=_HOT)],
        "fuses": _fuses(),
        "relays": _RELAYS,
        "relay_tabs": _RELAY_TABS,
        "terminals": _terminals(),
        "wires": [
            *(part(f"w{a}", "0.40", area=f"{a} mm2", insulation="105 degC") for a in areas),
            part("g14", "0.40", area="14 AWG", insulation="105 degC"),
        ],
        "studs": [
            part("post-m8", "5.00", size="M8", limit="150 A", stack=4),
            part("post-m6", "4.00", size="M6", limit="100 A", stack=4),
        ],
        "holders": [
            part("holder-sf30", "6.00", fuse_format="SF30", limit="200 A"),
            part("holder-e", "4.00", fuse_format="E", limit="60 A"),
        ],
        "main_holders": [part("main-sf30", "9.00", fuse_format="SF30", limit="200 A", stud="M8", stack=2)],
        "accessories": [part(f"for-{name}", "0.10", per=name) for name in per],
    }
