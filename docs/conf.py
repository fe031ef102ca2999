"""How Sphinx builds the documentation: Markdown pages, and a reference that is written from the code first."""

from __future__ import annotations

import sys
from importlib.metadata import version as installed
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from pages import write_pages

write_pages(Path(__file__).parent / "reference")

project = "The panel allocator"
release = installed("panel-allocator")
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
myst_enable_extensions = ["colon_fence"]
myst_heading_anchors = 3
html_theme = "furo"
html_title = "The panel allocator"
html_static_path = ["_static"]
html_css_files = ["tables.css"]
html_show_copyright = False
exclude_patterns = ["_build"]
autodoc_typehints = "description"
nitpicky = False
