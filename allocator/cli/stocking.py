"""
``allocator stock``: a fleet file in, a folder with what to keep, to order, to build and to cut out.

Whatever stops it, the output folder holds a whole result or is as it was.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from allocator.batch.engines import usable_cores, worker_processes
from allocator.cli.answers import Answer, whole
from allocator.cli.folder import RECORD, out_folder, written
from allocator.cli.interrupts import current
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.notices import CAUTIONS
from allocator.outputs.stock.files import STOCK_FILES, draw_stock
from allocator.outputs.stock.summary import proof_of, stock_summary
from allocator.requirements.fleet_reading import load_fleet
from allocator.stocking.book_cuts import BookCut
from allocator.stocking.curve import RangePoint
from allocator.stocking.members import members_of
from allocator.stocking.spreading import Submit
from allocator.stocking.stock import Stock, plan_stock

_FEWEST_TO_SPREAD = 8
_STOPPING = b"stopping: a shelf that is not worked out to its end is not written; interrupt again to abort at once\n"


def stock(path: Path, out: Path, time_limit_s: float, plan_limit_s: float, jobs: int) -> Answer:
    """
    Work out the shelf of a fleet, and write it with charts and lists.

    Parameters
    ----------
    path
        The fleet file, or the folder that holds ``fleet.toml``.
    out
        Folder for the results.
    time_limit_s
        Wall time of the range.
    plan_limit_s
        Wall time of each plan.
    jobs
        Vehicles that are worked on at once; 0: one for each core.
    """
    run = Run("stock", path)
    interrupts = current()
    with out_folder(out, [*STOCK_FILES, RECORD]) as folder:
        with run.step("reading and sizing"):
            file = load_fleet(path)
            members = members_of(file)
        with run.step("range, plans and shelf"):
            stop = interrupts.note(_STOPPING)
            with _workers(jobs or usable_cores(), len(members)) as submit:
                found = plan_stock(
                    file,
                    members,
                    time_limit_s=time_limit_s,
                    plan_limit_s=plan_limit_s,
                    submit=submit,
                    stop=stop,
                    progress=progress(),
                )
        with run.step("drawing"):
            draw_stock(found, folder.files)
        interrupts.hold()
        run.write(folder, next(iter(found.takes.values())).plan, {"time_limit_s": time_limit_s})
        names = folder.place()
    data = {**_data(found), "out": str(out), "files": names}
    return whole(
        Answer(f"{stock_summary(found, brief=True)}\n{written(out, ', '.join(names))}", data), interrupts.stop.is_set()
    )


@contextmanager
def _workers(jobs: int, num_vehicles: int) -> Iterator[Submit | None]:
    """Give out work where there are so many vehicles that it pays to start processes."""
    if jobs == 1 or num_vehicles < _FEWEST_TO_SPREAD:
        yield None
        return
    with worker_processes(jobs) as submit:
        yield submit


def _data(stock: Stock) -> dict[str, Any]:
    """Return the result as plain data; exact numbers as text, money in cents."""
    return {
        "fleet": stock.fleet.name,
        "range": [_point(point) for point in stock.range.points],
        "plans_made": stock.range.num_plans,
        "cut_by_time": stock.range.was_cut,
        "fewest_types_proven": stock.range.has_fewest,
        "must_stay": {
            item.module: {"without_it_unbuildable": item.unbuildable, "only_source_of": item.only_source_of}
            for item in stock.range.without
            if item.point is None
        },
        "shelf": [
            {
                "part": line.part.id,
                "unit": line.unit,
                "policy": line.kind,
                "reorder_at": line.reorder,
                "quantity": line.quantity,
                "order_up_to": line.order_up_to,
                "service": line.judged.service,
                "mean_on_hand": line.judged.on_hand,
                "money_cents": line.money_cents,
                "order_now": line.order_now,
            }
            for line in stock.lines
        ],
        "money_cents": stock.money_cents,
        "service_curve": [{"service": item.service, "money_cents": item.money_cents} for item in stock.service],
        "build_today": [
            {"vehicle": item.vehicle, "number": item.number, "lacking": item.lacking} for item in stock.buildable
        ],
        "open_orders": [
            order.model_dump(mode="json") | {"build_now": number in stock.book.picked.orders}
            for number, order in enumerate(stock.book.orders)
        ],
        "open_orders_proven": stock.book.picked.is_best,
        "open_orders_lacking": stock.book.lacking,
        "purchases": [
            {"needed_by": item.month, "part": item.part, "quantity": item.pieces, "lead_days": item.lead_days}
            for item in stock.purchases
        ],
        "ordered_together": None
        if stock.rhythm is None
        else {"every_days": stock.rhythm.days, "each_nth_time": stock.rhythm.every_by_part},
        "cuts": [_cut(item) for item in stock.cuts],
        "cautions": [stock.catalogue.notice, *CAUTIONS],
    }


def _cut(cut: BookCut) -> dict[str, Any]:
    """Return how one strip, or wire of one colour, is cut; lengths are in ``unit``."""
    return {
        "part": cut.part.id,
        "colour": cut.colour,
        "unit": cut.unit,
        "stock_length": cut.stock_length,
        "lengths": cut.cutting.num_stock,
        "one_by_one": cut.one_by_one,
        "usable_from": cut.usable,
        "leftovers": cut.leftovers,
        "scrap": cut.scrap,
        "known": cut.proof,
        "cut_from": [
            {"offcut": length.is_offcut, "of": length.of, "pieces": length.pieces, "left": length.leftover}
            for length in cut.cutting.lengths
        ],
    }


def _point(point: RangePoint) -> dict[str, Any]:
    return {
        "module_types": point.most,
        "kept": point.kept,
        "bays_per_year": str(point.bays),
        "bays_at_least": str(point.least_bays),
        "cents_per_year": str(point.cents),
        "cents_at_least": str(point.least_cents),
        "exact": point.is_exact,
        "known": proof_of(point),
    }
