"""
The module of every need where amperes run out before ways: modules are filled, panel by panel.

Comes from the choices of a counted solution; goes to ``search.py`` as a smaller frame with what lies in each of its
modules, for placing to find rows, pieces and sockets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from math import floor

from allocator.model.frame import Frame, Instance
from allocator.requirements.scenario import Goal
from allocator.solving.engine import Clock
from allocator.solving.hints import IN_MODULE
from allocator.solving.levels import Said
from allocator.solving.models import Models, Targets
from allocator.solving.panel_filling import Chosen, PanelFilling

FILLED_FOR: tuple[Goal, ...] = ("bays", "module-types", "price")
"""Goals that say which modules are filled."""
Filled = tuple[Frame, Said]


@dataclass
class ModuleFillings:
    """The fillings of one search; the same question is answered once."""

    models: Models
    clock: Clock
    _asked: set[object] = field(default_factory=set)

    def filled(self, targets: Targets, said: Said | None) -> Filled | None:
        """
        Fill modules as cheaply as the goals with a target ask.

        Parameters
        ----------
        targets
            Goals in the user's order with the values that are looked for.
        said
            A counted solution, whose choices are kept; none: every need has but one.

        Returns
        -------
        tuple of Frame and mapping, or None
            Modules that do, and what is chosen and lies in which of them; None where amperes are not what modules run
            out of, where pins or a built panel say what lies where, where nothing was found, or what was found before.
        """
        frame = self.models.frame(targets)
        chosen = _chosen(frame, said)
        if chosen is None or frame.pins or frame.built is not None:
            return None
        asked = tuple((goal, value) for goal, value in targets if goal in FILLED_FOR)
        question = tuple(goal for goal, _ in asked), frozenset(chosen.items())
        if question in self._asked:
            return None
        self._asked.add(question)
        types = {instance.module for instance in frame.instances}
        if said is not None and "module-types" in question[0]:
            types = {instance.module for instance in frame.instances if said.get(("used", instance), 0)}
        return _filled(frame, asked, chosen, types, self.clock)


def _filled(frame: Frame, asked: Targets, chosen: Chosen, types: Collection[str], clock: Clock) -> Filled | None:
    goals = [goal for goal, _ in asked]
    # Of several panels none has bays of its own to keep to; a price is that of more than modules.
    enough = floor(dict(asked)["bays"]) if "bays" in goals and "price" not in goals and not frame.panels[1:] else 0
    copies = Counter((instance.panel, instance.module) for instance in frame.instances)
    told: dict[tuple[str, object], int] = {}
    for site in frame.panels:
        panel = PanelFilling(frame, site.name, chosen, sorted(types), goals)
        if not panel.amperes_run_out:
            continue
        filled = panel.fill(clock, enough)
        in_use = Counter(module for module, _ in filled)
        if not filled or any(number > copies[site.name, module] for module, number in in_use.items()):
            return None
        for module in {module for name, module in copies if name == site.name}:
            if not frame.sized.module_by_id[module].sockets:
                copies[site.name, module] = in_use[module]
        number_of: Counter[str] = Counter()
        for module, needs in filled:
            instance = Instance(site.name, module, number_of[module])
            number_of[module] += 1
            told |= {(IN_MODULE, (index, instance)): number for index, number in needs.items()}
    if not told:
        return None
    return Frame(frame.sized, copies), told | {("chosen", key): number for key, number in chosen.items()}


def _chosen(frame: Frame, said: Said | None) -> Chosen | None:
    if said is None and any(len(members.choices) != 1 for members in frame.classes):
        return None
    return {
        (index, number): len(members.needs) if said is None else said.get(("chosen", (index, number)), 0)
        for index, members in enumerate(frame.classes)
        for number in range(len(members.choices))
    }
