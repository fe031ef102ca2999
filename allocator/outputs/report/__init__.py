"""The report page: one HTML file that holds the whole plan, for screen and paper."""

from allocator.outputs.report.page import report_html

__all__ = ["report_html"]
