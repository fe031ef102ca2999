"""
The most memory that this process has held since a moment of one's choice.

Linux only for the moment of choice (``/proc/self/clear_refs``); elsewhere it is the most since the process began.
"""

from __future__ import annotations

import resource
import sys
from pathlib import Path

_CLEAR = Path("/proc/self/clear_refs")
_STATUS = Path("/proc/self/status")


def forget_peak() -> None:
    """Begin to count anew from what the process holds now."""
    if _CLEAR.exists():
        _CLEAR.write_text("5", encoding="ascii")  # 5: reset the high-water mark of resident memory


def held_mib() -> float:
    """Return the resident memory now, MiB."""
    return _status_mib("VmRSS") if _STATUS.exists() else peak_mib()


def peak_mib() -> float:
    """Return the most resident memory since ``forget_peak``, MiB."""
    if _STATUS.exists():
        return _status_mib("VmHWM")
    unit = 1024**2 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit


def _status_mib(name: str) -> float:
    line = next(line for line in _STATUS.read_text(encoding="utf-8").splitlines() if line.startswith(f"{name}:"))
    return int(line.split()[1]) / 1024
