"""Paper for the bench: what to cut, crimp, insert and close, in building order; legends, labels and test sheets."""

from allocator.outputs.workshop.sheets import bench_documents, build_sheets

__all__ = ["bench_documents", "build_sheets"]
