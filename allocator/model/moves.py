"""
What a new plan changes in a panel that is built: moved wires, new parts and strip pieces cut anew, as linear sums.

Comes from ``Places`` whose built rows are known way by way (``built_rows.py``); goes to ``revising/``, which minimises
the sums before the user's goals. Counted as "Changes to a built panel" in docs/definitions.md says.
"""

from __future__ import annotations

from collections import defaultdict

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.built_rows import order_built_rows
from allocator.model.frame import Instance, RowSlot
from allocator.model.goals import Term
from allocator.model.variables import Places
from allocator.plan.built import Built, BuiltEntry, BuiltNeed, Lead, has_history, leads_of, parts_that_count
from allocator.plan.plan import Change


class Moves:
    """
    The three sums of one model, and what must stay in it.

    Parameters
    ----------
    x
        Places of a frame that knows what is built.
    """

    def __init__(self, x: Places) -> None:
        if x.counts.frame.built is None:
            raise ValueError("nothing is built")
        self.built: Built = x.counts.frame.built
        self.x, self.rows = x, order_built_rows(x)
        self._model, self._frame = x.counts.model, x.counts.frame
        self._instance = {(i.panel, i.pinned_bay): i for i in x.counts.used if self._frame.is_built(i)}
        self._entry_stays = {entry.at: self._stays_cut(entry) for entry in self.built.entries}
        self._keep()

    def terms(self) -> dict[Change, Term]:
        """Return the changes in the order in which they are minimised."""
        return {
            "moved-wires": Term(self._moved_wires()),
            "new-parts": Term(self._new_parts()),
            "recut-strips": Term(len(self.built.entries) - LinearExpr.sum(list(self._entry_stays.values()))),
        }

    def places_left(self) -> LinearExprT:
        """Return how many ways and sockets are left by circuits and feeds that are still wanted."""
        wanted = [self.built.needs[n.id] for n in self._frame.sized.needs if has_history(n, self.built)]
        stays = [self.way_stays(need) for need in wanted if need.way is not None]
        stays += [self.socket_stays(need) for need in wanted if need.socket is not None]
        return len(stays) - LinearExpr.sum(stays)

    # what stays

    def _slot(self, panel: str, bay: int, row: int) -> RowSlot | None:
        instance = self._instance.get((panel, bay))
        if instance is None:
            return None
        groups = self._frame.groups_of(instance.module)
        return next((RowSlot(instance, row, group) for group, rows in enumerate(groups) if row in rows), None)

    def way_stays(self, need: BuiltNeed) -> LinearExprT:
        """Return whether a need is in the way that it has in the panel as built."""
        place = need.way
        if place is None or place.bay is None or place.row is None or place.first is None:
            return 0
        slot = self._slot(place.panel, place.bay, place.row)
        return 0 if slot is None else self.rows.in_way(slot, place.first, self.x.counts.class_of(need.id))

    def socket_stays(self, need: BuiltNeed) -> LinearExprT:
        """Return whether the relay of a need is in its socket: sockets of a class are alike, so one of the module."""
        instance = None if need.socket is None else self._instance.get((need.socket.panel, need.socket.bay))
        if instance is None or need.relay_class is None:
            return 0
        return self.x.relay_at.get((self.x.counts.class_of(need.id), instance, need.relay_class), 0)

    def _lead_stays(self, need: BuiltNeed, lead: Lead) -> IntVar:
        counts, model = self.x.counts, self._model
        stays = model.new_bool_var(f"stays {need.id} {lead}")
        if lead.ends_at_way:
            model.add(stays <= self.way_stays(need))
        if lead.ends_at_socket:
            model.add(stays <= self.socket_stays(need))
        index = counts.class_of(need.id)
        members = self._frame.classes[index]
        does = [
            counts.chosen[index, number]
            for number, choice in enumerate(members.choices)
            if any(lead.may_stay_as(new) for new in leads_of(choice.option, has_way=members.takes_way))
        ]
        model.add(stays <= LinearExpr.sum(does))
        return stays

    def _moved_wires(self) -> LinearExprT:
        wanted = [need for need in self._frame.sized.needs if has_history(need, self.built)]
        leads = [(self.built.needs[need.id], lead) for need in wanted for lead in self.built.needs[need.id].leads]
        return len(leads) - LinearExpr.sum([self._lead_stays(need, lead) for need, lead in leads])

    def _stays_cut(self, entry: BuiltEntry) -> IntVar:
        """Return whether a feed entry is there again: the same ways, the same feed, cut at the same places."""
        x, model = self.x, self._model
        stays = model.new_bool_var(f"stays {entry.at}")
        if entry.socket is not None:
            wanted = self._frame.sized.need_by_id.get(entry.need or "")
            same = wanted is not None and not wanted.takes_way and wanted.feeds == (entry.feed,)
            model.add(stays <= (self.socket_stays(self.built.needs[wanted.id]) if wanted is not None and same else 0))
            return stays
        if entry.row is None:
            instance = self._instance.get((entry.panel, entry.bay))
            enters = [
                variable
                for (at, group, feed), variable in x.counts.enters.items()
                if (at, feed) == (instance, entry.feed) and x.counts.frame.bus(x.counts.rows_of(at, group)[0]) == "stud"
            ]
            model.add(stays <= LinearExpr.sum(enters))
            return stays
        slot = self._slot(entry.panel, entry.bay, entry.row)
        for way in entry.ways:
            model.add(stays <= (0 if slot is None else x.way_feed.get((slot, way, entry.feed), 0)))
        if slot is not None and entry.kind == "strip":
            for way in entry.ways[:-1]:
                model.add(stays <= self.rows.joins(slot, way))
            for way in (entry.ways[0] - 1, entry.ways[-1]):
                model.add(LinearExpr.sum([stays, self.rows.joins(slot, way)]) <= 1)
        return stays

    # what is new

    def _new_parts(self) -> LinearExprT:
        most = self._most + 2 * sum(site.max_bays for site in self._frame.panels)
        counted = parts_that_count(self._frame.sized.requirements.catalogue)
        extras = []
        for part, numbers in self._parts().items():
            if part in counted:
                extra = self._model.new_int_var(0, most, f"new {part}")
                self._model.add(extra >= LinearExpr.sum(numbers) - self.built.parts.get(part, 0))
                extras.append(extra)
        return LinearExpr.sum(extras)

    @property
    def _most(self) -> int:
        """More than there can be of any fuse or holder."""
        return 4 * len(self._frame.sized.needs)

    def _parts(self) -> dict[str, list[LinearExprT]]:
        """Return at least how many of each part there are: paragraphs 1, 2 and 5 of the parts of a plan."""
        counts = self.x.counts
        placed: dict[str, list[LinearExprT]] = defaultdict(list)
        for _, module, number in counts.modules:
            placed[module].append(number)
        for (_, carrier), number in counts.carriers.items():
            placed[carrier].append(number)
        for (index, taken), chosen in counts.chosen.items():
            for part, number_each in self._frame.classes[index].choices[taken].option.parts.items():
                placed[part].append(number_each * chosen)
        present: dict[str, list[IntVar]] = defaultdict(list)
        for (feed, panel), number in counts.entries_at.items():
            present[feed].append(self._supply(feed, panel, number, placed))
        for feed, here in present.items():
            main = self._frame.sized.feeds[feed].main
            if main is not None:
                used = self._model.new_bool_var(f"main fuse of {feed}")
                for somewhere in here:
                    self._model.add_implication(somewhere, used)
                placed[main.fuse].append(used)
                placed[main.holder].append(used)
        return placed

    def _supply(self, name: str, panel: str, number: IntVar, placed: dict[str, list[LinearExprT]]) -> IntVar:
        """Add studs, and fuses and holders of tails, of a feed at a panel; return whether it comes there."""
        feed, model = self._frame.sized.feeds[name], self._model
        present = model.new_bool_var(f"{name} comes to {panel}")
        joined = model.new_bool_var(f"{name} is joined at {panel}")
        model.add(number <= self._most * present)
        model.add(number <= 1 + self._most * joined)
        if feed.tail_fuse is not None:
            model.add_implication(present, joined)
        own = [
            (entry.tail, entries)
            for fed, at, entry, entries in self.x.counts.fed_entries
            if (fed, at) == (name, panel) and entry.tail is not None
        ]
        for tail, entries in own:
            model.add(entries <= self._most * joined)
            for part in (tail.fuse, tail.holder):
                if part is not None:
                    placed[part].append(entries)
        for part in (feed.tail_fuse, feed.tail_holder):
            if part is not None:
                placed[part].append(number - LinearExpr.sum([entries for _, entries in own]))
        if feed.stud is not None:
            studs = model.new_int_var(0, self._most, f"studs of {name} at {panel}")
            model.add(studs >= joined)
            model.add(studs * (feed.stud_stack - 2) >= number - 1).only_enforce_if(joined)
            placed[feed.stud].append(studs)
        return present

    # what must stay

    def _keep(self) -> None:
        model, kept = self._model, self.built.kept
        for panel, carriers in self.built.carriers.items():
            self._keep_carriers(panel, carriers)
        for (panel, bay), instance in self._instance.items():
            if bay is not None and (panel, bay) in kept.modules:
                model.add(self.x.counts.used[instance] == 1)
        for instance in self.x.counts.used:
            if instance.copy >= 0:
                self._is_no_copy_of_a_built_one(instance)
        for name in sorted(kept.ways):
            model.add(self.way_stays(self.built.needs[name]) == 1)
        for name in sorted(kept.sockets):
            model.add(self.socket_stays(self.built.needs[name]) == 1)
        for at in sorted(kept.entries):
            model.add(self._entry_stays[at] == 1)

    def _keep_carriers(self, panel: str, carriers: tuple[str, ...]) -> None:
        counts = self.x.counts
        for carrier in dict.fromkeys(carriers):
            self._model.add(counts.carriers[panel, carrier] >= carriers.count(carrier))
        for number, carrier in enumerate(carriers):
            if (panel, number, carrier) in counts.carrier_slot:
                self._model.add(counts.carrier_slot[panel, number, carrier] == 1)

    def _is_no_copy_of_a_built_one(self, instance: Instance) -> None:
        """A new module of the same type in the same bay would be the one that is built."""
        for panel, bay in self._instance:
            same = self._instance[panel, bay].module == instance.module
            if same and panel == instance.panel and instance in self.x.start:
                self._model.add(self.x.start[instance] != bay).only_enforce_if(self.x.counts.used[instance])
