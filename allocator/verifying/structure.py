"""Rules on carriers and modules: what may stand where, and how many."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

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


def _carrier_spans(view: View) -> dict[str, list[Span]]:
    """Return the bays of the carriers of each panel, in the order of their first bays."""
    spans: dict[str, list[Span]] = {panel: [] for panel in view.panels}
    for placed in view.plan.carriers:
        carrier = view.carrier_types.get(placed.carrier)
        if placed.panel in spans and carrier is not None:
            spans[placed.panel].append((placed.first_bay, placed.first_bay + carrier.bays - 1, placed.carrier))
    return {panel: sorted(found) for panel, found in spans.items()}


def bays_within_panel(view: View) -> Iterator[Finding]:
    """Report panels with more bays than there is room for."""
    for name, spans in _carrier_spans(view).items():
        bays, room = sum(last - first + 1 for first, last, _ in spans), view.panels[name].max_bays
        if bays > room:
            text = f"its carriers have {bays} bays; there is room for {room}"
            yield Finding("bays-within-panel", name, text)


def carriers_in_line(view: View) -> Iterator[Finding]:
    """Report carriers that leave a gap before them or lie over another."""
    for name, spans in _carrier_spans(view).items():
        expected = 1
        for first, last, carrier in spans:
            if first != expected:
                text = f'carrier "{carrier}" starts in bay {number(first)}; the next free bay is {number(expected)}'
                yield Finding("carriers-in-line", name, text)
            expected = max(expected, last + 1)


def module_in_carrier(view: View) -> Iterator[Finding]:
    """Report modules that are nowhere, unknown, or not wholly in one carrier."""
    carriers = _carrier_spans(view)
    for placed in view.plan.modules:
        key, module = read_module_place(placed.at), view.module_types.get(placed.module)
        if module is None:
            yield Finding("module-in-carrier", placed.at, f'module "{placed.module}" is not in the catalogue')
        elif key is None:
            yield Finding("module-in-carrier", placed.at, "this is no bay; expected panel/bay, such as cabin/2")
        else:
            first, last = key[1], key[1] + module.bays - 1
            if not any(start <= first and last <= end for start, end, _ in carriers.get(key[0], ())):
                text = f'no one carrier of panel "{key[0]}" holds bays {first} to {last} of module "{placed.module}"'
                yield Finding("module-in-carrier", placed.at, text)


def one_module_per_bay(view: View) -> Iterator[Finding]:
    """Report bays that several modules take."""
    modules_by_bay: defaultdict[ModuleKey, list[str]] = defaultdict(list)
    for placed in view.plan.modules:
        key, module = read_module_place(placed.at), view.module_types.get(placed.module)
        if key is not None and module is not None:
            for bay in range(key[1], key[1] + module.bays):
                modules_by_bay[key[0], bay].append(placed.module)
    for (panel, bay), modules in modules_by_bay.items():
        if len(modules) > 1:
            yield Finding("one-module-per-bay", f"{panel}/{bay}", f"modules {quoted(modules)} take this bay")


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
