"""
The schema of a fleet: which vehicles are built how often, and what keeping, ordering and owing parts costs.

Comes in as a TOML file (``fleet_reading.py``), goes out as frozen models. Each field's description feeds the reference
page.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from allocator.requirements.catalogue import Count, Identifier, Strict, Text, Whole, YesNo
from allocator.requirements.markings import Day
from allocator.requirements.quantities import Cents, Metre, Share
from allocator.units import BadValue

_MOST_A_MONTH = 10_000
PathText = Annotated[str, Field(min_length=1, max_length=300)]


class _Rate:
    """How often something happens: a number without a unit, kept exact."""

    def read(self, value: object) -> Fraction:
        if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
            raise BadValue("not-a-number", "is no number", "a number such as 1.5")
        try:
            number = Fraction(value)
        except (ValueError, OverflowError, ZeroDivisionError):
            raise BadValue("not-a-number", "is no number", "a number such as 1.5") from None
        if not 0 <= number <= _MOST_A_MONTH:
            raise BadValue("out-of-range", "is out of range", f"a number from 0 to {_MOST_A_MONTH}")
        return number

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(
            str, return_schema=core_schema.str_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(self.read, serialization=writer)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "number"}


Rate = Annotated[Fraction, _Rate()]
"""A number by the month, exact."""


class FleetVehicle(Strict):
    """One kind of vehicle that is built again and again."""

    name: Identifier = Field(description="name by which orders refer to it")
    scenario: PathText | None = Field(None, description="its scenario folder, beside the fleet file")
    plan: PathText | None = Field(None, description="in place of a scenario: the plan.json that it is built by")
    orders_per_month: Rate | None = Field(
        None, description="orders expected in a month; none: as the dated orders of the record say"
    )
    order_sizes: tuple[Count, ...] = Field(
        (),
        max_length=1000,
        description="vehicles in an order: sizes that are each as likely, such as [1, 1, 4]; none: as the record says, "
        "else one",
    )


class FleetOrder(Strict):
    """An order with its day: one of the record, or an open one that is still to be built."""

    vehicle: Identifier = Field(description="name of the vehicle")
    day: Day = Field(description="of the record: when it came in; open: when it is due")
    vehicles: Count = Field(1, description="vehicles in this order")
    open: YesNo = Field(False, description="still to be built")
    worth: Cents | None = Field(
        None, description="what building it is worth; where no open order says so, each vehicle counts one"
    )


class Record(Strict):
    """The time of which all orders are listed."""

    first: Day = Field(description="first day of the record")
    last: Day = Field(description="last day of the record")


class PriceBreak(Strict):
    """A lower price of all pieces from some quantity on."""

    quantity: Annotated[int, Field(strict=True, ge=2, le=1_000_000)] = Field(
        description="pieces from which on the price holds"
    )
    price: Cents = Field(description="unit price from that quantity on")


class PartStock(Strict):
    """What holds for one part in place of what holds for all."""

    part: Identifier = Field(description="id of the part")
    keep: YesNo = Field(True, description="kept on the shelf; false: ordered for each vehicle")
    service: Share | None = Field(None, description="share of orders that find all pieces on the shelf")
    shortage: Cents | None = Field(None, description="cost of owing one piece for a month")
    price_breaks: tuple[PriceBreak, ...] = Field((), max_length=10, description="lower prices of larger quantities")


class StockTerms(Strict):
    """What keeping, ordering and owing parts costs."""

    service: Share = Field(95.0, description="share of orders that find all pieces of a part on the shelf")
    shortage: Cents | None = Field(
        None, description="cost of owing one piece for a month; then the cheapest shelf is sought, whatever its service"
    )
    holding: Share = Field(20.0, description="cost of keeping a piece for a year, as a share of its price")
    line_cost: Cents = Field(0, description="cost of one line of an order to a supplier")
    order_cost: Cents = Field(0, description="cost of an order to a supplier, however many lines it has")
    review_days: Annotated[int, Field(strict=True, ge=0, le=365)] = Field(
        0, description="days between two looks at the shelf; 0: always in view"
    )
    usable_wire: Metre = Field(1.0, description="length from which a leftover of wire is of use")
    parts: tuple[PartStock, ...] = Field((), description="parts for which something else holds")


class Fleet(Strict):
    """A fleet file."""

    name: Text = Field(min_length=1, max_length=80, description="as lists say it")
    catalogue: Text = Field(
        "",
        max_length=200,
        description="catalogue beside the fleet file, with the stock on hand; none: the one that ships",
    )
    modules: tuple[Identifier, ...] = Field(
        (), max_length=1000, description="module types to choose among; none named: all of the catalogue"
    )
    module_types: Whole | None = Field(
        None, ge=1, le=1000, description="how many of them the shelf is planned for; none: as many as are of use"
    )
    record: Record | None = Field(
        None, description="days between which all orders are listed; needed where a rate comes from the orders"
    )
    stock: StockTerms = Field(StockTerms(), description="terms of the shelf")
    vehicles: tuple[FleetVehicle, ...] = Field(min_length=1, description="kinds of vehicle that are built")
    orders: tuple[FleetOrder, ...] = Field((), description="orders of the record, and open ones")
