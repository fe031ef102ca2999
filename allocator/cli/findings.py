"""What a command says of rules that a plan breaks: lines of text, and plain data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from allocator.rulebook import RULES
from allocator.verifying import Finding


def findings_text(findings: Iterable[Finding]) -> str:
    """Return one line for each finding, and below each rule's first one what the rule asks for."""
    lines: list[str] = []
    rule = ""
    for finding in findings:
        lines.append(finding.text())
        if finding.rule != rule:
            rule = finding.rule
            lines.append(f"  the rule: {RULES[rule]}")
    return "".join(f"{line}\n" for line in lines)


def findings_data(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as plain data, each with the sentence of its rule."""
    return [{**asdict(finding), "requirement": RULES[finding.rule]} for finding in findings]


def times(number: int) -> str:
    """Return ``once``, ``2 times``, ..."""
    return "once" if number == 1 else f"{number} times"
