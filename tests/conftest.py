"""Hypothesis looks for new examples at the desk; the gate runs the same ones each time, to judge the change alone."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# How fast examples are made says something of the machine, not of the change.
settings.register_profile("gate", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
if os.environ.get("CI"):
    settings.load_profile("gate")
