"""
The schema of a scenario: a vehicle (``vehicle.py``), its rules and its circuits.

Comes in as ``scenario.toml`` and ``circuits.csv`` or ``circuits.xlsx`` (``reading.py``), goes out as frozen models.
Each field's description feeds the reference page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from math import floor
from typing import Annotated, Literal

from pydantic import Discriminator, Field, PrivateAttr, Tag, ValidationInfo, field_validator

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.amounts import MORE_IS_BETTER, Amount, cap_in, is_count, sense, tolerance_in
from allocator.requirements.catalogue import (
    Catalogue,
    FuseFormat,
    Identifier,
    LoadType,
    RelayClass,
    Strict,
    Text,
    YesNo,
)
from allocator.requirements.markings import Issue, WireColour
from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.places import Origins
from allocator.requirements.quantities import Ampere, Area, Duty, Load, Metre, Rating, Reserve, Share
from allocator.requirements.vehicle import Feed, LoadCase, PanelSite, Supply, Vehicle
from allocator.units import BadValue

Level = Literal["feed", "row", "module", "panel"]
Switching = Literal["none", "relay", "changeover", "flasher"]
Goal = Literal[
    "bays",
    "module-types",
    "strip-pieces",
    "peak-utilisation",
    "long-jumpers",
    "price",
    "carriers",
    "footprint",
    "panels",
    "wire-length",
    "copper",
    "spare-ways",
]
BundleTable = Literal["steps", "bunched"]
FuseOverWire = Literal["never", "small-craft-150"]
WireChoice = Literal["any", "metric", "awg"]
DEFAULT_GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces", "peak-utilisation", "long-jumpers", "price")


class Spare(Strict):
    """Spare ways that the plan must hold: free, fed, of one format."""

    fuse_format: FuseFormat = Field(description="format of their fuses")
    count: Annotated[int, Field(strict=True, ge=1, le=100)] = Field(description="how many ways")
    feed: Identifier | None = Field(None, description="feed they must be on; none: any that circuits may use")
    panel: Identifier | None = Field(None, description="panel they must be at; none: any")
    reserve: Ampere = Field(0.0, description="current kept free for each in every load case")


class Bond(Strict):
    """Circuits that must be apart or together."""

    circuits: tuple[Identifier, ...] = Field(min_length=2, description="ids of the circuits, two or more")
    level: Level = Field(description="what they must not share, or must: feed, row, module or panel")


class ModuleLimit(Strict):
    """How many modules of one type a plan may hold; 0 forbids the type."""

    module: Identifier = Field(description="id of the module type")
    most: Annotated[int, Field(strict=True, ge=0, le=1000)] = Field(description="over all panels; 0: none at all")


class Aim(Strict):
    """A goal with how far the goals after it may move it, and what it must never be worse than."""

    goal: Goal = Field(description="what is made as small as it can be; spare-ways: as large")
    tolerance: int | str | None = Field(
        None, description='how far from its best value the goals after it may take it: 1, "25.00" or "5 %" of it'
    )
    cap: int | str | None = Field(None, description='no plan may have more: 3, "600.00" for a price, "80 %", "40 m"')
    at_least: int | str | None = Field(None, description="no plan may have fewer spare ways; only of this goal")

    @field_validator("tolerance", "cap", "at_least", mode="before")
    @classmethod
    def _readable(cls, value: object, info: ValidationInfo) -> object:
        goal = info.data.get("goal")
        if value is None or goal is None:
            return value
        limit = "at_least" if goal in MORE_IS_BETTER else "cap"
        if info.field_name not in ("tolerance", limit):
            better = "more" if goal in MORE_IS_BETTER else "less"
            raise BadValue("wrong-limit", f"limits a goal of which {better} is better", f'"{limit}" instead')
        (tolerance_in if info.field_name == "tolerance" else cap_in)(goal, value)
        return value if isinstance(value, int) else str(value)

    @classmethod
    def within(cls, goal: Goal, limit: int | str | None) -> Aim:
        """Return a goal with a limit: a cap, or the least that there must be where more is better."""
        return cls(goal=goal, at_least=limit) if goal in MORE_IS_BETTER else cls(goal=goal, cap=limit)

    @property
    def limit(self) -> int | str | None:
        """The cap, or the least where more is better, as it is written."""
        return self.cap if self.at_least is None else self.at_least

    @property
    def most(self) -> Fraction | None:
        """The limit as a cost (``amounts.sense``): a count, cents, mm, mm2, mm3, or a share of the allowed current."""
        return None if self.limit is None else sense(self.goal) * cap_in(self.goal, self.limit)

    @property
    def slack(self) -> Amount | None:
        """The tolerance in the goal's own unit, or as a share of its best value."""
        return None if self.tolerance is None else tolerance_in(self.goal, self.tolerance)

    def allowed(self, best: Fraction) -> Fraction:
        """Return up to which cost the goals after this one may move it from its best one."""
        slack = self.slack or Amount(Fraction(0))
        allowed = best + (abs(best) * slack.value if slack.is_share else slack.value)
        if is_count(self.goal):
            allowed = Fraction(floor(allowed))
        return allowed if self.most is None else max(best, min(allowed, self.most))


def _word_or_table(value: object) -> str:
    return "[aim]" if isinstance(value, dict | Aim) else "[goal]"


GoalOrAim = Annotated[
    Annotated[Goal, Tag("[goal]")] | Annotated[Aim, Tag("[aim]")],
    Discriminator(_word_or_table),
]
"""A goal by its name alone, or a table with its tolerance and cap."""


class Rules(Strict):
    """What this customer and this workshop want."""

    loading_factor: Share = Field(75.0, description="share of a fuse's rating that a steady load may use")
    feed_loading: Share = Field(80.0, description="share of a feed's rating that a load case may use")
    drop_critical: Share = Field(3.0, description="voltage drop allowed to critical circuits")
    drop_other: Share = Field(10.0, description="voltage drop allowed to other circuits")
    upstream_drop: Reserve = Field(
        0.0, description="share of each circuit's allowed drop that is kept for cable and tail of its feed"
    )
    run_allowance: Reserve = Field(
        0.0,
        description="share by which wires that leave the panel are cut longer than their run; drops do not count it",
    )
    bundle_factor: Share = Field(70.0, description="share of a wire's ampacity left in a bundle")
    bundle_table: BundleTable = Field("steps", description="table for circuits that say how many share their bundle")
    fuse_over_wire: FuseOverWire = Field(
        "never",
        description="whether a fuse may stand above what the load wire behind it carries: never, or up to 150 % as "
        "33 CFR 183.455 allows small craft below 50 V",
    )
    wire_system: WireChoice = Field("any", description="sizes of all wires: any on offer, metric only, or gauges only")
    fuse_outlasts_start: YesNo = Field(
        False, description="circuits get no fuse that is shown to open at the start of their load, but a larger one"
    )
    strict_contacts: YesNo = Field(
        False, description="relays also by the switch factors of FAA AC 43.13-1B Table 11-4, which ask far more"
    )
    one_piece_per_feed_and_row: YesNo = Field(False, description="a feed has at most one strip piece in a row")
    hot_share: Share | None = Field(
        None,
        description="share of its fuse's rating above which the load of a way makes it hot, common practice 60 %; ways "
        "side by side in a row are not both hot in one load case; none: no such rule",
    )
    hot_from: Ampere = Field(10.0, description="with hot_share: load from which a way can be hot at all")
    relay_beside_fuse_from: Rating | None = Field(
        None, description="rating of a fuse from which its relay must be in the same module; none: no such rule"
    )
    use_stock: YesNo = Field(False, description="no more modules of a type than are on the shelf")
    objective: tuple[GoalOrAim, ...] = Field(
        DEFAULT_GOALS, min_length=1, description="goals, first one first; a table names tolerance and cap as well"
    )
    modules: tuple[ModuleLimit, ...] = Field((), description="how many modules of a type there may be")
    spares: tuple[Spare, ...] = Field((), description="ways kept free and fed for later")
    apart: tuple[Bond, ...] = Field((), description="circuits that must not share a feed, row, module or panel")
    together: tuple[Bond, ...] = Field((), description="circuits that must share a feed, row, module or panel")
    figures: OwnFigures = Field(OwnFigures(), description="engineering figures of this vehicle's own")

    @property
    def aims(self) -> tuple[Aim, ...]:
        """Every goal of the objective with its tolerance and cap, first one first."""
        return tuple(aim if isinstance(aim, Aim) else Aim(goal=aim) for aim in self.objective)

    @property
    def goals(self) -> tuple[Goal, ...]:
        """Names of the goals, first one first."""
        return tuple(aim.goal if isinstance(aim, Aim) else aim for aim in self.objective)


class Circuit(Strict):
    """One load with its protection, switching and wire run: one row of the circuits table."""

    id: Identifier = Field(description="short name, unlike all others; by it everything refers to the circuit")
    order: Annotated[int, Field(strict=True, ge=0, le=1_000_000)] | None = Field(
        None, description="place in lists; else by id"
    )
    label: Text = Field(max_length=120, description="words for drawings, lid and lists")
    load: Load = Field(description='what it draws: "55 W", "12 A", "2 x 21 W + 5 W"; lamps also as "2 x P21W + W5W"')
    load_type: LoadType = Field(description="how the load starts and wears contacts")
    duty: Duty = Field(100.0, description="share of the time it draws, for charge and drain only")
    load_cases: tuple[Identifier, ...] = Field((), description="load cases in which it runs; none named: all")
    feeds: tuple[Identifier, ...] = Field(min_length=1, description="feeds it accepts")
    panels: tuple[Identifier, ...] = Field((), description="panels it accepts; none named: all")
    switching: Switching = Field(
        "none", description="relay of its own; of a changeover 30 is the supply, 87a live at rest: no reversing pair"
    )
    control: Identifier | None = Field(
        None, description="circuit that supplies the coil; none: own fuse, switched on the earth side"
    )
    length: dict[Annotated[str, Field(max_length=60)], Metre] = Field(
        description='run from the panel: "3.2 m", or "front: 3.2 m; rear: 7 m"; key "": any panel it accepts'
    )
    return_length: Metre | None = Field(None, description="wire back, where not the chassis; none given: as the run")
    bundle: Annotated[int, Field(strict=True, ge=1, le=1000)] | None = Field(
        None, description="loaded circuits in its bundle, itself included; none given: bundle_factor of the rules"
    )
    drop: Share | None = Field(None, description="voltage drop allowed; none given: as the rules say")
    stall: Rating | None = Field(None, description="current of a motor that is held fast; it starts with as much")
    quiescent: Ampere | None = Field(None, description="drawn with everything switched off; none given: not stated")
    critical: YesNo = Field(False, description="drop limit for critical circuits; warned about when it shares its feed")
    key_out: YesNo = Field(False, description="must work with the key out: only permanent feeds")
    fuse_format: FuseFormat | None = Field(None, description="wanted fuse format")
    fuse_rating: Rating | None = Field(None, description="wanted fuse rating")
    wire: Area | None = Field(None, description="wanted wire")
    relay_class: RelayClass | None = Field(None, description="wanted relay class")
    pin: Text | None = Field(
        None,
        max_length=100,
        description="place: panel, panel/bay, panel/bay/row or panel/bay/row/way, such as cabin/2/A/3",
    )
    note: Text = Field("", max_length=300, description="free words, shown beside the circuit")


class Scenario(Strict):
    """``scenario.toml`` without the catalogue and the circuits."""

    catalogue: Text = Field(
        "", max_length=200, description="catalogue file beside scenario.toml; none: the catalogue that ships"
    )
    vehicle: Vehicle = Field(description="name and voltages")
    supply: Supply = Field(description="charger, battery and fault currents")
    panels: tuple[PanelSite, ...] = Field(min_length=1, description="where carriers may be fixed")
    feeds: tuple[Feed, ...] = Field(min_length=1, description="supply conductors, a tree of them")
    load_cases: tuple[LoadCase, ...] = Field(min_length=1, description="ways in which the vehicle is used")
    rules: Rules = Field(Rules(), description="what is allowed, wanted and minimised")
    document: Issue = Field(Issue(), description="revision, day and predecessor, for every sheet")
    wire_colours: tuple[WireColour, ...] = Field((), description="colours of wires; none: a plain default")


class Requirements(Strict):
    """One vehicle's requirements, complete and cross-checked: what every later room reads."""

    scenario: Scenario
    circuits: tuple[Circuit, ...] = Field(min_length=1)
    catalogue: Catalogue
    _origins: Origins = PrivateAttr(default_factory=Origins)

    def where(self, table: str, name: str, field: str | None = None) -> str:
        """
        Say where an entry was written.

        Parameters
        ----------
        table, name
            ``"circuits"`` and an id, ``"feeds"`` and a name, ``"rules.spares"`` and a number from 1; ``"vehicle"`` and
            ``"supply"`` have an empty name.
        field
            Field of it, shown with what the user wrote.
        """
        return self._origins.where(table, name, field)

    def read_from(self, origins: Origins) -> Requirements:
        """Return the same requirements, knowing where they were written."""
        copy = self.model_copy()
        copy._origins = origins
        return copy

    def said_elsewhere(self, fields: Mapping[tuple[str, str, str], str]) -> Requirements:
        """Return the same requirements, knowing which fields (table, name, field) another file says, and where."""
        return self.read_from(replace(self._origins, elsewhere={**self._origins.elsewhere, **fields}))

    @property
    def figures(self) -> Figures:
        """The engineering figures in force: the vehicle's own, else the published ones."""
        return self.scenario.rules.figures.over(PUBLISHED)
