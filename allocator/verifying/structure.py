"""Rules on carriers and modules: what may stand where, and how many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

from allocator.verifying.exact import number
from allocator.verifying.findings import Finding
from allocator.verifying.records import ModuleKey, quoted, read_module_place
from allocator.verifying.view import View

Span = tuple[int, int, str]
"""First bay, last bay, and what takes them."""


def carrier_allowed(view: View) -> Iterator[Finding]:
    """Report carriers that the catalogue or the panel does not know."""
    for placed in view.plan.carriers:
        panel = view.panels.get(placed.panel)
        if panel is None:
            known = quoted(view.panels)
            yield Finding("carrier-allowed", placed.panel, f'the scenario has no panel "{placed.panel}", only {known}')
        elif placed.carrier not in view.carrier_types:
            yield Finding("carrier-allowed", placed.panel, f'carrier "{placed.carrier}" is not in the catalogue')
        elif panel.carriers and placed.carrier not in panel.carriers:
            text = f'carrier "{placed.carrier}" is not allowed there, only {quoted(panel.carriers)}'
            yield Finding("carrier-allowed", placed.panel, text)


def _carrier_spans(view: View, panel: str) -> list[Span]:
    """Return the bays of a panel's carriers, in the order of their first bays."""
    spans = []
    for placed in view.plan.carriers:
        carrier = view.carrier_types.get(placed.carrier)
        if placed.panel == panel and carrier is not None:
            spans.append((placed.first_bay, placed.first_bay + carrier.bays - 1, placed.carrier))
    return sorted(spans)


def bays_within_panel(view: View) -> Iterator[Finding]:
    """Report panels with more bays than there is room for."""
    for name, panel in view.panels.items():
        bays = sum(last - first + 1 for first, last, _ in _carrier_spans(view, name))
        if bays > panel.max_bays:
            text = f"its carriers have {bays} bays; there is room for {panel.max_bays}"
            yield Finding("bays-within-panel", name, text)


def carriers_in_line(view: View) -> Iterator[Finding]:
    """Report carriers that leave a gap before them or lie over another."""
    for name in view.panels:
        expected = 1
        for first, last, carrier in _carrier_spans(view, name):
            if first != expected:
                text = f'carrier "{carrier}" starts in bay {number(first)}; the next free bay is {number(expected)}'
                yield Finding("carriers-in-line", name, text)
            expected = max(expected, last + 1)


def _module_spans(view: View) -> Iterator[tuple[ModuleKey, Span]]:
    """Yield the bays of every placed module whose place and type are known."""
    for placed in view.plan.modules:
        key, module = read_module_place(placed.at), view.module_types.get(placed.module)
        if key is not None and module is not None:
            yield key, (key[1], key[1] + module.bays - 1, placed.module)


def module_in_carrier(view: View) -> Iterator[Finding]:
    """Report modules that are nowhere, unknown, or not wholly in one carrier."""
    for placed in view.plan.modules:
        key, module = read_module_place(placed.at), view.module_types.get(placed.module)
        if module is None:
            yield Finding("module-in-carrier", placed.at, f'module "{placed.module}" is not in the catalogue')
        elif key is None:
            yield Finding("module-in-carrier", placed.at, "this is no bay; expected panel/bay, such as cabin/2")
        else:
            first, last = key[1], key[1] + module.bays - 1
            spans = _carrier_spans(view, key[0])
            if not any(start <= first and last <= end for start, end, _ in spans):
                text = f'no one carrier of panel "{key[0]}" holds bays {first} to {last} of module "{placed.module}"'
                yield Finding("module-in-carrier", placed.at, text)


def one_module_per_bay(view: View) -> Iterator[Finding]:
    """Report pairs of modules that take one bay."""
    spans = list(_module_spans(view))
    for (one, (first, last, name)), (other, (other_first, other_last, other_name)) in combinations(spans, 2):
        if one[0] == other[0] and first <= other_last and other_first <= last:
            where = f"{one[0]}/{max(first, other_first)}"
            yield Finding("one-module-per-bay", where, f'modules "{name}" and "{other_name}" both take this bay')


def module_count(view: View) -> Iterator[Finding]:
    """Report module types of which there are more than the rules allow."""
    used = Counter(placed.module for placed in view.plan.modules)
    for limit in view.rules.modules:
        if used[limit.module] > limit.most:
            text = f"{used[limit.module]} in the plan; the rules allow {limit.most}"
            yield Finding("module-count", f'module "{limit.module}"', text)


def module_stock(view: View) -> Iterator[Finding]:
    """Report module types of which there are more than on the shelf, where the rules ask for that."""
    used = Counter(placed.module for placed in view.plan.modules)
    for module in view.catalogue.modules if view.rules.use_stock else ():
        if module.stock is not None and used[module.id] > module.stock:
            text = f"{used[module.id]} in the plan; {module.stock} on the shelf"
            yield Finding("module-stock", f'module "{module.id}"', text)
