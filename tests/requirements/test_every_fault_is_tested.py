"""No kind of fault without a test of its whole text: the ids in the room's code against those in its tests."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCES = [*sorted((ROOT / "allocator" / "requirements").rglob("*.py")), ROOT / "allocator" / "units.py"]
TESTS = [*sorted(Path(__file__).parent.glob("test_*.py")), *sorted(Path(__file__).parent.glob("faults*.toml"))]
RAISED = re.compile(r'(?:fault|Fault|BadValue)\(\s*"([a-z0-9-]+)"')
TRANSLATED = re.compile(r'(?:": |= )\(\s*"([a-z0-9-]+)",')
NEVER_SEEN = "bad-value"
"""What the schema might refuse in a way that nobody thought of; ``test_no_traceback.py`` shows that there is none."""


def test_every_kind_of_fault_has_a_test_of_its_text() -> None:
    told = "".join(path.read_text(encoding="utf-8") for path in TESTS)
    rules = {rule for path in SOURCES for rule in RAISED.findall(path.read_text(encoding="utf-8"))}
    rules |= set(
        TRANSLATED.findall((ROOT / "allocator" / "requirements" / "translating.py").read_text(encoding="utf-8"))
    )
    assert len(rules) > 60
    assert sorted(rule for rule in rules - {NEVER_SEEN} if f"[{rule}]" not in told) == []
