"""
Every engineering figure that the sums use, once: value, unit, source, confidence.

Nothing comes in; the rooms below read figures, and reports print where each comes from. A user's own figure goes into
the scenario's ``[rules]`` or the catalogue, never here. Confidence marks:

C   read in the text of the source itself.
C2  read in a page that quotes the source; the source itself was not opened.
X   computed from C and C2 figures; the source says how.
M   from memory, confirmed by nothing that was read.
P   common practice of the trade.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

from allocator.units import SAE_CIRCULAR_MILS, awg_area_mm2

Confidence = Literal["C", "C2", "X", "M", "P"]
Value = TypeVar("Value")
Steps = tuple[tuple[float, float], ...]
"""Columns of a table, ascending: (largest ambient temperature, degC; value there)."""


@dataclass(frozen=True, slots=True)
class Figure(Generic[Value]):
    """
    One figure or one table.

    Attributes
    ----------
    value
        The number, or the rows of the table.
    unit
        Unit of the value; of the last column where it is a table.
    source
        Standard and clause, regulation, handbook, page, or practice.
    confidence
        One of the marks above.
    """

    value: Value
    unit: str
    source: str
    confidence: Confidence


# --- copper ---------------------------------------------------------------------------------------------------------

COPPER_ALPHA = Figure(0.00393, "1/K", "IEC 60028, temperature coefficient of annealed copper at 20 degC", "C")
METRIC_RESISTANCE = Figure(
    {
        0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21,
        25.0: 0.780, 35.0: 0.554, 50.0: 0.386,
    },
    "mohm/m", "IEC 60228 class 5, plain copper, largest resistance at 20 degC by mm2", "C2",
)  # fmt: skip
GAUGE_RESISTANCE = Figure(
    {
        22: 16.20, 20: 9.88, 18: 6.23, 16: 4.81, 14: 3.06, 12: 2.02, 10: 1.26, 8: 0.70, 6: 0.44, 4: 0.28, 2: 0.18,
        1: 0.15, 0: 0.12, -1: 0.09, -2: 0.07, -3: 0.06,
    },
    "ohm/1000 ft", "FAA AC 43.13-1B chapter 11, tinned copper, largest resistance at 20 degC by AWG number", "C",
)  # fmt: skip
OTHER_RESISTIVITY = Figure(
    19.95, "mohm.mm2/m", "largest product of area and resistance in IEC 60228 class 5 from 0.5 to 50 mm2", "X"
)
SAE_AREA: Figure[Mapping[int, int]] = Figure(
    SAE_CIRCULAR_MILS, "cmil", "boat-wiring charts: areas of SAE gauges, 3 to 11 % below AWG of the same number", "C2"
)
FOOT_M = Figure(0.3048, "m", "international foot, exact", "C")

# --- what a wire may carry ------------------------------------------------------------------------------------------

AMPACITY_COLUMNS = Figure(
    (60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0),
    "degC",
    "33 CFR 183.425 Table 5, temperature rating of insulation",
    "C",
)
AMPACITY_BY_GAUGE: Figure[Mapping[int, tuple[float, ...]]] = Figure(
    {
        18: (10, 10, 15, 20, 20, 25, 25),
        16: (15, 15, 20, 25, 25, 30, 35),
        14: (20, 20, 25, 30, 35, 40, 45),
        12: (25, 25, 35, 40, 45, 50, 55),
        10: (40, 40, 50, 55, 60, 70, 70),
        8: (55, 65, 70, 70, 80, 90, 100),
        6: (80, 95, 100, 100, 120, 125, 135),
        4: (105, 125, 130, 135, 160, 170, 180),
        3: (120, 145, 150, 155, 180, 195, 210),
        2: (140, 170, 175, 180, 210, 225, 240),
        1: (165, 195, 210, 210, 245, 265, 280),
        0: (195, 230, 245, 245, 285, 305, 325),
        -1: (225, 265, 285, 285, 330, 355, 370),
        -2: (260, 310, 330, 330, 385, 410, 430),
        -3: (300, 360, 385, 385, 445, 475, 510),
    },
    "A", "33 CFR 183.425 Table 5, allowable amperage at 30 degC by AWG number", "C",
)  # fmt: skip
AMPACITY_ROWS: Figure[tuple[tuple[float, tuple[float, ...]], ...]] = Figure(
    # Areas are rounded down, so that a wire of the very gauge meets its own row.
    tuple((math.floor(awg_area_mm2(gauge) * 1000) / 1000, row) for gauge, row in AMPACITY_BY_GAUGE.value.items()),
    "A", "33 CFR 183.425 Table 5 by mm2 (ASTM B258 area of the gauge), thinnest first", "X",
)  # fmt: skip
AMPACITY_AMBIENT = Figure(30.0, "degC", "33 CFR 183.425 Table 5, ambient temperature of the table", "C")
AMBIENT_FACTOR_STEP = Figure(
    0.01, "1", "sqrt((Tmax - Ta) / (Tmax - 30)) rounded down to this step: gives the .85 of 33 CFR 183.425", "X"
)
BUNDLES: Figure[Mapping[str, Steps]] = Figure(
    {
        "steps": ((1, 1.0), (3, 0.70), (6, 0.60), (24, 0.50), (math.inf, 0.40)),
        "bunched": (
            (1, 1.0), (2, 0.80), (3, 0.70), (4, 0.65), (5, 0.60), (6, 0.57), (7, 0.54), (8, 0.52), (9, 0.50),
            (12, 0.45), (16, 0.41), (20, 0.38),
        ),
    },
    "1", "share left by loaded circuits in a bundle, up to each count: steps, ISO 13297 and 33 CFR 183.425 note 2; "
    "bunched, BS 7671 Table 4C1", "C2",
)  # fmt: skip
SMALLEST_SEPARATE = Figure(1.0, "mm2", "ISO 10133:2012, separate conductor longer than 200 mm", "C")

# --- short circuits ---------------------------------------------------------------------------------------------------

ADIABATIC_COPPER = Figure(
    226.0, "A.s^0.5/mm2", "IEC 60949 for copper: k = 226 sqrt(ln((234.5 + final) / (234.5 + initial)))", "C2"
)
COPPER_INFERRED_ZERO = Figure(234.5, "degC", "IEC 60949: 234.5 below zero the resistance of copper would vanish", "C2")
FINAL_TEMPERATURE: Figure[Steps] = Figure(
    ((60.0, 160.0), (125.0, 250.0)),
    "degC", "BS 7671 54.2: PVC stands 160 degC at the end of a short circuit, cross-linked insulation 250 degC; by "
    "least temperature of the insulation's class, run hot beforehand", "C2",
)  # fmt: skip
ADIABATIC_LONGEST = Figure(5.0, "s", "BS 7671 chapter 54: up to here no heat leaves the conductor", "M")
COPPER_MELTS = Figure(1083.0, "degC", "Onderdonk's equation, melting temperature of copper", "C2")
ONDERDONK = Figure((33.0, 234.0), "1", "Onderdonk: I = cmil sqrt(log10(1 + (Tm - Ta) / (234 + Ta)) / (33 t))", "C2")

COIL_LEAD_LARGEST = Figure(
    2.5, "mm2", "leads of a relay coil are thin; behind a larger fuse they get one of their own", "P"
)

# --- fuses ----------------------------------------------------------------------------------------------------------

SYSTEM_MAXIMUM: Figure[Steps] = Figure(
    ((6.0, 8.0), (12.0, 16.0), (24.0, 32.0), (48.0, 58.0)),
    "V", "ISO 16750-2 supply codes (12 and 24 V), SAE J2576 class (48 V); 6 V in the ratio of 12 V", "C2",
)  # fmt: skip
SYSTEM_MAXIMUM_RATIO = Figure(4 / 3, "1", "16 V / 12 V and 32 V / 24 V of ISO 16750-2, for nets above 48 V", "X")
FUSE_SHARE: Figure[Mapping[str, Steps]] = Figure(
    {
        "C": ((20, 0.92), (65, 0.76), (85, 0.66)),
        "F": ((20, 0.86), (40, 0.80), (60, 0.73), (80, 0.68), (100, 0.60)),
        "E": ((20, 1.00), (65, 0.85), (85, 0.75), (110, 0.62), (125, 0.55)),
    },
    "1", "smallest share of the rating that published data sheets of the type allow, rounded down", "X",
)  # fmt: skip
FUSE_PUBLISHED: Figure[Mapping[tuple[str, float], Steps]] = Figure(
    {
        ("C", 10): ((20, 10), (65, 8), (85, 7)),
        ("C", 25): ((20, 23), (65, 19)),
        ("F", 2): ((20, 1.9), (40, 1.7)),
        ("F", 5): ((40, 4.0),),
        ("F", 7.5): ((40, 6.0), (60, 5.5), (80, 5.1)),
        ("F", 15): ((20, 13), (100, 9)),
        ("E", 40): ((20, 40), (65, 34), (85, 30), (110, 25), (125, 22)),
    },
    "A", "data sheets of blade fuses, allowed continuous current by type and rating", "C2",
)  # fmt: skip
FUSE_RATINGS: Figure[Mapping[str, tuple[float, ...]]] = Figure(
    {
        "C": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
        "E": (20, 25, 30, 35, 40, 50, 60, 70, 80, 100),
    },
    "A", "ratings sold as ISO 8820-3 type C and E, within the 100 A of its scope", "C2",
)  # fmt: skip
FUSE_RATINGS_RECALLED: Figure[Mapping[str, tuple[float, ...]]] = Figure(
    {
        "A": (20, 25, 30, 40, 50, 60, 80, 100, 120, 140),
        "F": (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30),
        "N": (3, 5, 7.5, 10, 15, 20, 25, 30),
        "P": (5, 7.5, 10, 15),
        "SF30": (30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200),
        "SF51": (100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    },
    "A", "ratings of ISO 8820-3 type F, -4 type A, -12, -13, -5, within the limits of their scopes", "M",
)  # fmt: skip
FUSE_GATES: Figure[Mapping[str, Mapping[float, tuple[float | None, float | None]]]] = Figure(
    {
        "C": {110: (360_000, None), 135: (0.75, 600), 160: (0.25, 50), 200: (0.15, 5), 350: (0.08, 0.5), 600: (None,
        0.15)}, "F": {110: (360_000, None), 135: (0.75, 600), 160: (0.25, 50), 200: (0.15, 5), 350: (0.08, 0.5), 600:
        (0.03, 0.1)}, "E": {110: (360_000, None), 135: (60, 1800), 200: (2, 50), 350: (0.2, 7), 600: (0.04, 1)},
    },
    "s", "ISO 8820-3 operating-time gates by % of rating as quoted in data sheets: (earliest, latest)", "C2",
)  # fmt: skip
FUSE_COLD_RESISTANCE: Figure[Mapping[tuple[str, float], float]] = Figure(
    {
        ("C", 1): 123.0, ("C", 2): 53.5, ("C", 4): 22.8, ("C", 10): 7.70, ("C", 20): 3.38, ("C", 40): 1.44,
        ("F", 7.5): 10.85, ("F", 15): 4.58, ("E", 30): 1.9, ("E", 35): 1.7, ("E", 40): 1.4,
    },
    "mohm", "data sheets of blade fuses, cold resistance by type and rating", "C2",
)  # fmt: skip
FUSE_MELTING: Figure[Mapping[str, tuple[tuple[float, float], ...]]] = Figure(
    {
        "C": ((20, 520), (40, 3300)),
        "F": ((15, 308), (20, 380)),
        "E": ((30, 4100), (35, 6000), (40, 8500)),
    },
    "A2s", "data sheets of blade fuses, melting integral by rating, A", "C2",
)  # fmt: skip
SMALL_CRAFT_SHARE = Figure(
    1.5, "1", "33 CFR 183.455(c), 46 CFR 183.380(d): below 50 V a fuse up to 150 % of what its wire may carry", "C"
)
SMALL_CRAFT_BELOW = Figure(50.0, "V", "33 CFR 183.455(c): the net for which 150 % holds", "C")
CLEARING_MULTIPLE = Figure(3.0, "1", "ECSS-Q-ST-30-11C 6.17.3 c: the source must deliver 3 x the rating", "C2")
SELECTIVITY = Figure(1.6, "1", "main fuse over its largest branch, for selectivity", "P")

# --- loads ----------------------------------------------------------------------------------------------------------

_BY_NAME = {
    "P21W": 21, "PY21W": 21, "P21/5W": 21, "P21/4W": 21, "W16W": 16, "R10W": 10, "R5W": 5, "W5W": 5, "C5W": 5, "T4W": 4,
    "W3W": 3,
}  # fmt: skip
LAMP_WATTS: Figure[Mapping[float, Mapping[str, int]]] = Figure(
    {12.0: {"H1": 55, "H3": 55, "H7": 55, "H8": 35, "H11": 55} | _BY_NAME, 24.0: {"H1": 70, "H3": 70} | _BY_NAME},
    "W", "UN R37 lamp categories, nominal watts by nominal voltage; of two filaments the larger", "C2",
)  # fmt: skip
LAMP_WATTS_RECALLED: Figure[Mapping[float, Mapping[str, int]]] = Figure(
    {12.0: {"H4": 60, "HB3": 60, "HB4": 51}, 24.0: {"H4": 75, "H7": 70}},
    "W", "UN R37 lamp categories, nominal watts; of two filaments the larger", "M",
)  # fmt: skip
LAMP_INRUSH = Figure(10.0, "1", "cold resistance of a filament is one tenth of hot", "C")
LAMP_INRUSH_TIME = Figure(0.005, "s", "a few ms at the peak, settled within 0.2 s", "M")
MOTOR_INRUSH = Figure(6.0, "1", "starting over running current of a DC motor, component maker's rule", "C")
MOTOR_STALL = Figure(5.0, "1", "stalled over running current of a DC motor: 5 to 10, the least opens a fuse last", "M")
MOTOR_INRUSH_TIME = Figure(0.5, "s", "start of a DC motor, 50 to 500 ms", "M")

# --- relays ---------------------------------------------------------------------------------------------------------

RELAY_OPERATES = Figure(0.70, "1", "relay data sheets: operates at 70 % of the nominal voltage", "C2")
CONTACT_FACTORS: Figure[Mapping[str, tuple[float, float]]] = Figure(
    {"lamp": (5, 8), "inductive": (2, 4), "motor": (2, 3), "resistive": (1, 2)},
    "1", "FAA AC 43.13-1B Table 11-4: resistive rating over load, by kind, at 12 V and at 24 to 28 V", "C",
)  # fmt: skip
RELAY_NEAR_LIMIT = Figure(0.90, "1", "a contact used above this share of its rating is worth a word", "P")

# --- supply ---------------------------------------------------------------------------------------------------------

CHARGER_SHARE = Figure(0.80, "1", "FAA AC 43.13-1B par. 11-35: steady load up to 80 % of the alternator's rating", "C")
QUIESCENT_LIMIT = Figure(0.050, "A", "drain with everything off: 20 to 120 mA is normal, 50 mA a usual limit", "P")
BATTERY_SHARE = Figure(0.40, "1", "an engine no longer starts when about 40 % of the usable charge is gone", "C2")

ALL: Mapping[str, Figure[object]] = {
    name: figure for name, figure in sorted(globals().items()) if isinstance(figure, Figure)
}
"""Every figure by its name, for reports."""
