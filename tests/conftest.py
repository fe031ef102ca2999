"""Hypothesis looks for new examples at the desk; the gate runs the same ones each time, to judge the change alone."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("gate", derandomize=True, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("gate")
