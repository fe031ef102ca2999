"""
Every file of a fleet's shelf, into a folder.

Comes in as a Stock; goes out as CSV lists, charts as SVG and PNG, and ``summary.txt``.
"""

from __future__ import annotations

from pathlib import Path

from allocator.notices import CAUTIONS
from allocator.outputs.records import records_csv
from allocator.outputs.stock.charts import stock_charts
from allocator.outputs.stock.lists import stock_lists
from allocator.outputs.stock.summary import stock_summary
from allocator.stocking.stock import Stock

STOCK_FILES = (
    "build-today.csv", "cut-pieces.csv", "cuts.csv", "open-orders.csv", "purchases.csv", "quantities.csv",
    "range-vehicles.csv", "range-without.csv", "range.csv", "range.png", "range.svg", "summary.txt",
)  # fmt: skip
"""What every fleet gives; the charts ``cover`` and ``service`` only where some vehicle is expected."""


def draw_stock(stock: Stock, folder: Path) -> None:
    """Write every file into a folder, which is made."""
    folder.mkdir(parents=True, exist_ok=True)
    for records in stock_lists(stock):
        text = records_csv(records, (stock.catalogue.notice, *CAUTIONS))
        (folder / f"{records.name}.csv").write_text(text, encoding="utf-8", newline="\n")
    for name, sheet in stock_charts(stock).items():
        sheet.save_svg(folder / f"{name}.svg")
        sheet.save_png(folder / f"{name}.png")
    (folder / "summary.txt").write_text(stock_summary(stock), encoding="utf-8", newline="\n")
