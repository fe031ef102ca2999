"""
Every engineering figure that the sums use, once: value, unit, source, confidence.

Nothing comes in; the rooms below read figures, and reports print where each comes from. ``PUBLISHED`` holds the figures
of the sources. A vehicle's own figures go into ``[rules.figures]`` of its scenario and are laid over them
(``Requirements.figures``), so that every sum takes the ``Figures`` in force for its vehicle. Confidence marks:

C   read in the text of the source itself.
C2  read in a page that quotes the source; the source itself was not opened.
X   computed from C and C2 figures; the source says how.
M   from memory, confirmed by nothing that was read.
P   common practice of the trade.
U   the user's own, from the rules of the scenario.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, Generic, Literal, TypeVar

from allocator.units import SAE_CIRCULAR_MILS, awg_area_mm2

Confidence = Literal["C", "C2", "X", "M", "P", "U"]
Value = TypeVar("Value", covariant=True)
Steps = Mapping[float, float]
"""Columns of a table, ascending: value by column, such as the largest ambient temperature for which it holds, degC."""
Gate = tuple[float | None, float | None]
"""Earliest and latest time at which a fuse opens, s; None: not published."""


@dataclass(frozen=True, slots=True)
class Figure(Generic[Value]):
    """
    One figure or one table.

    Attributes
    ----------
    value
        The number, or the rows of the table: a mapping, or one of mappings.
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


_INSULATIONS_C = (60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0)
_TABLE_5_A = {
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
}
"""33 CFR 183.425 Table 5: amperes by AWG number and, in a row, by temperature of the insulation."""
_BLADE_GATES: Mapping[float, Gate] = {
    110: (360_000, None), 135: (0.75, 600), 160: (0.25, 50), 200: (0.15, 5), 350: (0.08, 0.5),
}  # fmt: skip
_BY_NAME = {
    "P21W": 21, "PY21W": 21, "P21/5W": 21, "P21/5W major": 21, "P21/5W minor": 5, "P21/4W": 21, "P21/4W major": 21,
    "P21/4W minor": 4, "W16W": 16, "R10W": 10, "R5W": 5, "W5W": 5, "C5W": 5, "T4W": 4,
    "W3W": 3,
}  # fmt: skip


def whole_thousandths(area_mm2: float) -> float:
    """Return an area rounded down to 0.001 mm2, so that a wire of the very gauge meets its own row of a table."""
    return math.floor(area_mm2 * 1000) / 1000


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures in force for one vehicle; as they stand here, those of the sources."""

    # --- copper
    copper_alpha: Figure[float] = Figure(
        0.00393, "1/K", "IEC 60028, temperature coefficient of annealed copper at 20 degC", "C"
    )
    copper_density: Figure[float] = Figure(8.89, "g/cm3", "IEC 60028 (1913), density of standard annealed copper", "C2")
    metric_resistance: Figure[Steps] = Figure(
        {
            0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21,
            25.0: 0.780, 35.0: 0.554, 50.0: 0.386,
        },
        "mohm/m", "IEC 60228 class 5, plain copper, largest resistance at 20 degC by mm2", "C2",
    )  # fmt: skip
    gauge_resistance: Figure[Mapping[int, float]] = Figure(
        {
            22: 16.20, 20: 9.88, 18: 6.23, 16: 4.81, 14: 3.06, 12: 2.02, 10: 1.26, 8: 0.70, 6: 0.44, 4: 0.28, 2: 0.18,
            1: 0.15, 0: 0.12, -1: 0.09, -2: 0.07, -3: 0.06,
        },
        "mohm/ft",
        "FAA AC 43.13-1B chapter 11, tinned copper, largest resistance at 20 degC by AWG number (printed by 1000 ft)",
        "C",
    )  # fmt: skip
    other_resistivity: Figure[float] = Figure(
        19.95, "mohm mm2/m", "largest product of area and resistance in IEC 60228 class 5 from 0.5 to 50 mm2", "X"
    )
    sae_area: Figure[Mapping[int, int]] = Figure(
        SAE_CIRCULAR_MILS,
        "cmil",
        "boat-wiring charts: areas of SAE gauges, 3 to 11 % below AWG of the same number",
        "C2",
    )
    foot_m: Figure[float] = Figure(0.3048, "m", "international foot, exact", "C")

    # --- what a wire may carry
    ampacity: Figure[Mapping[float, Steps]] = Figure(
        {
            whole_thousandths(awg_area_mm2(gauge)): dict(zip(_INSULATIONS_C, row, strict=True))
            for gauge, row in _TABLE_5_A.items()
        },
        "A", "33 CFR 183.425 Table 5, allowable amperage by temperature of the insulation, degC, and by mm2 (ASTM B258 "
        "area of the gauge)", "C",
    )  # fmt: skip
    ampacity_ambient: Figure[float] = Figure(
        30.0, "degC", "33 CFR 183.425 Table 5, ambient temperature of the table", "C"
    )
    ambient_factor_step: Figure[float] = Figure(
        0.01, "1", "sqrt((Tmax - Ta) / (Tmax - 30)) rounded down to this step: gives the .85 of 33 CFR 183.425", "X"
    )
    bundles: Figure[Mapping[str, Steps]] = Figure(
        {
            "steps": {1: 1.0, 3: 0.70, 6: 0.60, 24: 0.50, math.inf: 0.40},
            "bunched": {
                1: 1.0, 2: 0.80, 3: 0.70, 4: 0.65, 5: 0.60, 6: 0.57, 7: 0.54, 8: 0.52, 9: 0.50, 12: 0.45, 16: 0.41,
                20: 0.38,
            },
        },
        "1", "share left by loaded circuits in a bundle, up to each count: steps, ISO 13297 and 33 CFR 183.425 note 2; "
        "bunched, BS 7671 Table 4C1", "C2",
    )  # fmt: skip
    smallest_separate: Figure[float] = Figure(1.0, "mm2", "ISO 10133:2012, separate conductor longer than 200 mm", "C")

    # --- short circuits
    adiabatic_copper: Figure[float] = Figure(
        226.0, "A s^0.5/mm2", "IEC 60949 for copper: k = 226 sqrt(ln((234.5 + final) / (234.5 + initial)))", "C2"
    )
    copper_inferred_zero: Figure[float] = Figure(
        234.5, "degC", "IEC 60949: 234.5 below zero the resistance of copper would vanish", "C2"
    )
    final_temperature: Figure[Steps] = Figure(
        {60.0: 160.0, 125.0: 250.0},
        "degC", "BS 7671 54.2: PVC stands 160 degC at the end of a short circuit, cross-linked insulation 250 degC; by "
        "least temperature of the insulation's class, run hot beforehand", "C2",
    )  # fmt: skip
    adiabatic_longest: Figure[float] = Figure(
        5.0, "s", "BS 7671 chapter 54: up to here no heat leaves the conductor", "M"
    )
    copper_melts: Figure[float] = Figure(1083.0, "degC", "Onderdonk's equation, melting temperature of copper", "C2")
    onderdonk: Figure[tuple[float, float]] = Figure(
        (33.0, 234.0), "1", "Onderdonk: I = cmil sqrt(log10(1 + (Tm - Ta) / (234 + Ta)) / (33 t))", "C2"
    )
    coil_lead_largest: Figure[float] = Figure(
        2.5, "mm2", "leads of a relay coil are thin; behind a larger fuse they get one of their own", "P"
    )

    # --- fuses
    system_maximum: Figure[Steps] = Figure(
        {6.0: 8.0, 12.0: 16.0, 24.0: 32.0, 48.0: 58.0},
        "V", "ISO 16750-2 supply codes (12 and 24 V), SAE J2576 class (48 V); 6 V in the ratio of 12 V", "C2",
    )  # fmt: skip
    system_maximum_ratio: Figure[float] = Figure(
        4 / 3, "1", "16 V / 12 V and 32 V / 24 V of ISO 16750-2, for nets above 48 V", "X"
    )
    fuse_share: Figure[Mapping[str, Steps]] = Figure(
        {
            "C": {20: 0.92, 65: 0.76, 85: 0.66},
            "F": {20: 0.86, 40: 0.80, 60: 0.73, 80: 0.68, 100: 0.60},
            "E": {20: 1.00, 65: 0.85, 85: 0.75, 110: 0.62, 125: 0.55},
        },
        "1", "smallest share of the rating that published data sheets of the type allow, by ambient temperature, degC, "
        "rounded down", "X",
    )  # fmt: skip
    fuse_published: Figure[Mapping[str, Mapping[float, Steps]]] = Figure(
        {
            "C": {10: {20: 10, 65: 8, 85: 7}, 25: {20: 23, 65: 19}},
            "F": {2: {20: 1.9, 40: 1.7}, 5: {40: 4.0}, 7.5: {40: 6.0, 60: 5.5, 80: 5.1}, 15: {20: 13, 100: 9}},
            "E": {40: {20: 40, 65: 34, 85: 30, 110: 25, 125: 22}},
        },
        "A", "data sheets of blade fuses, allowed continuous current by type, rating and ambient temperature, degC",
        "C2",
    )  # fmt: skip
    fuse_ratings: Figure[Mapping[str, tuple[float, ...]]] = Figure(
        {
            "C": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
            "E": (20, 25, 30, 35, 40, 50, 60, 70, 80, 100),
        },
        "A", "ratings sold as ISO 8820-3 type C and E, within the 100 A of its scope", "C2",
    )  # fmt: skip
    fuse_ratings_recalled: Figure[Mapping[str, tuple[float, ...]]] = Figure(
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
    fuse_gates: Figure[Mapping[str, Mapping[float, Gate]]] = Figure(
        {
            "C": {**_BLADE_GATES, 600: (None, 0.15)},
            "F": {**_BLADE_GATES, 600: (0.03, 0.1)},
            "E": {110: (360_000, None), 135: (60, 1800), 200: (2, 50), 350: (0.2, 7), 600: (0.04, 1)},
        },
        "s", "ISO 8820-3 operating-time gates by % of rating as quoted in data sheets: (earliest, latest)", "C2",
    )  # fmt: skip
    fuse_cold_resistance: Figure[Mapping[str, Steps]] = Figure(
        {
            "C": {1: 123.0, 2: 53.5, 4: 22.8, 10: 7.70, 20: 3.38, 40: 1.44},
            "F": {7.5: 10.85, 15: 4.58},
            "E": {30: 1.9, 35: 1.7, 40: 1.4},
        },
        "mohm", "data sheets of blade fuses, cold resistance by type and rating, A", "C2",
    )  # fmt: skip
    fuse_drop: Figure[Mapping[str, Steps]] = Figure(
        {"C": {1: 176, 2: 141, 4: 136, 10: 109, 20: 98, 40: 96}, "E": {40: 75}},
        "mV", "data sheets of blade fuses, drop at the rated current by type and rating, A, read at the next smaller "
        "rating of the type, else of type C", "C2",
    )  # fmt: skip
    fuse_melting: Figure[Mapping[str, Steps]] = Figure(
        {"C": {20: 520, 40: 3300}, "F": {15: 308, 20: 380}, "E": {30: 4100, 35: 6000, 40: 8500}},
        "A2s", "data sheets of blade fuses, melting integral by type and rating, A", "C2",
    )  # fmt: skip
    small_craft_share: Figure[float] = Figure(
        1.5, "1", "33 CFR 183.455(c), 46 CFR 183.380(d): below 50 V a fuse up to 150 % of what its wire may carry", "C"
    )
    small_craft_below: Figure[float] = Figure(50.0, "V", "33 CFR 183.455(c): the net for which 150 % holds", "C")
    clearing_multiple: Figure[float] = Figure(
        3.0, "1", "ECSS-Q-ST-30-11C 6.17.3 c: the source must deliver 3 x the rating", "C2"
    )
    main_fuse_lead: Figure[float] = Figure(
        0.1778,
        "m",
        "33 CFR 183.455(b)(1): where it cannot be at the source, a fuse within 7 in along the conductor",
        "C",
    )
    main_fuse_lead_sheathed: Figure[float] = Figure(
        1.016, "m", "33 CFR 183.455(b)(2): within 40 in, if sheathed or enclosed all the way", "C"
    )
    selectivity: Figure[float] = Figure(1.6, "1", "main fuse over its largest branch, for selectivity", "P")

    # --- loads
    lamp_watts: Figure[Mapping[float, Mapping[str, float]]] = Figure(
        {12.0: {"H1": 55, "H3": 55, "H7": 55, "H8": 35, "H11": 55} | _BY_NAME, 24.0: {"H1": 70, "H3": 70} | _BY_NAME},
        "W", "UN R37 lamp categories, nominal watts by nominal voltage, V; of two filaments the larger, major and "
        "minor by name", "C2",
    )  # fmt: skip
    lamp_watts_recalled: Figure[Mapping[float, Mapping[str, float]]] = Figure(
        {
            12.0: {"H4": 60, "H4 main": 60, "H4 dipped": 55, "HB3": 60, "HB4": 51},
            24.0: {"H4": 75, "H4 main": 75, "H4 dipped": 70, "H7": 70},
        },
        "W", "UN R37 lamp categories, nominal watts by nominal voltage, V; of two filaments the larger, main and "
        "dipped beam by name", "M",
    )  # fmt: skip
    discharge_watts: Figure[Mapping[str, float]] = Figure(
        {"D1S": 35, "D3S": 35},
        "W",
        "UN R99 gas-discharge lamps, nominal watts of the lamp, as lamp lists print them",
        "C2",
    )
    discharge_watts_recalled: Figure[Mapping[str, float]] = Figure(
        {"D2S": 35, "D4S": 35}, "W", "UN R99 gas-discharge lamps, nominal watts of the lamp", "M"
    )
    discharge_ballast: Figure[float] = Figure(
        0.83, "1", "watts of a gas-discharge lamp over what its ballast draws: 35 W of about 42 W", "M"
    )
    discharge_start: Figure[float] = Figure(
        20.0, "A", "a gas-discharge lamp with its ballast draws 10 to 20 A to start, by lighting pages", "C2"
    )
    discharge_start_time: Figure[float] = Figure(
        1.0, "s", "a gas-discharge lamp with its ballast starts in less than 1 s, by lighting pages", "C2"
    )
    lamp_inrush: Figure[float] = Figure(10.0, "1", "cold resistance of a filament is one tenth of hot", "C")
    lamp_inrush_time: Figure[float] = Figure(0.005, "s", "a few ms at the peak, settled within 0.2 s", "M")
    motor_inrush: Figure[float] = Figure(
        6.0, "1", "starting over running current of a DC motor, component maker's rule", "C"
    )
    motor_stall: Figure[float] = Figure(
        5.0, "1", "stalled over running current of a DC motor: 5 to 10, the least opens a fuse last", "M"
    )
    motor_inrush_time: Figure[float] = Figure(0.5, "s", "start of a DC motor, 50 to 500 ms", "M")

    # --- relays
    relay_operates: Figure[float] = Figure(
        0.70, "1", "relay data sheets: operates at 70 % of the nominal voltage", "C2"
    )
    contact_factors: Figure[Mapping[str, Steps]] = Figure(
        {"lamp": {12: 5, 28: 8}, "inductive": {12: 2, 28: 4}, "motor": {12: 2, 28: 3}, "resistive": {12: 1, 28: 2}},
        "1", "FAA AC 43.13-1B Table 11-4: resistive rating over load, by kind and nominal voltage, V", "C",
    )  # fmt: skip
    coil_resistor: Figure[float] = Figure(
        8.0, "1", "resistor across a relay coil over the coil itself: its peak is so many times the supply", "P"
    )
    relay_near_limit: Figure[float] = Figure(
        0.90, "1", "a contact used above this share of its rating is worth a word", "P"
    )

    # --- supply
    charger_share: Figure[float] = Figure(
        0.80, "1", "FAA AC 43.13-1B par. 11-35: steady load up to 80 % of the alternator's rating", "C"
    )
    quiescent_limit: Figure[float] = Figure(
        0.050, "A", "drain with everything off: 20 to 120 mA is normal, 50 mA a usual limit", "P"
    )
    battery_share: Figure[float] = Figure(
        0.40, "1", "an engine no longer starts when about 40 % of the usable charge is gone", "C2"
    )

    def by_name(self) -> Mapping[str, Figure[Any]]:
        """Return every figure by its name, in the order above."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def with_own(self, own: Mapping[str, Any]) -> Figures:
        """
        Lay a user's own figures over these.

        Parameters
        ----------
        own
            Values by name of the figure: a number, or the cells of a table that are replaced or added.

        Returns
        -------
        Figures
            The figures in force; those that the user gave bear the mark U.
        """
        return replace(self, **{name: _laid_over(getattr(self, name), value) for name, value in own.items()})


def _laid_over(figure: Figure[Any], own: Any) -> Figure[Any]:
    rest = f"; other rows: {figure.source}" if isinstance(own, Mapping) else ""
    return Figure(_merged(figure.value, own), figure.unit, f"[rules.figures] of the scenario{rest}", "U")


def _merged(value: Any, own: Any) -> Any:
    """Return a table with the cells of another replaced or added, ascending; of a number or list the other one."""
    if not isinstance(own, Mapping):
        return own
    table = value if isinstance(value, Mapping) else {}
    cells = {**table, **{key: _merged(table.get(key), cell) for key, cell in own.items()}}
    return dict(sorted(cells.items()))


PUBLISHED = Figures()
"""The figures of the sources."""
