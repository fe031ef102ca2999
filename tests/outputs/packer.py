"""
A simple deterministic packer: needs into the modules that a sample names, feed by feed.

It minds places, formats and feeds, not amperes: a sample may overload its feeds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from allocator.address import Place, SocketPlace, StudPlace
from allocator.plan.cautions import cautions_about
from allocator.plan.measures import measure
from allocator.plan.plan import GoalResult, Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Module
from allocator.sizing import size
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from tests.outputs.samples import Sample, requirements_of
from tests.plan.tails import with_tail_fuses


class Packer:
    """Places the needs of a sample one after the other; each row keeps its ways of one feed side by side."""

    def __init__(self, sized: Sized, sample: Sample) -> None:
        self.sized, self.sample = sized, sample
        self.at = tuple(self._module_places())
        self.ways: dict[Place, tuple[Need, Option, str]] = {}
        self.sockets: dict[SocketPlace, tuple[Need, Option]] = {}
        self.direct: list[Piece] = []

    def plan(self) -> Plan:
        """Place everything and return the plan, goals measured and claimed as best so far."""
        feeds = list(self.sized.feeds)
        # relays that only one class of socket takes go first, before others fill those sockets
        order = sorted(
            self.sized.needs,
            key=lambda need: (
                not (need.takes_socket and len(need.options) == len(self.sample.modules)),
                feeds.index(need.feeds[0]),
                need.kind != "feed",
            ),
        )
        for need in order:
            self._place(need)
        plan = with_tail_fuses(self.sized, self._written())
        values = measure(self.sized, plan)
        goals = tuple(
            GoalResult(goal=goal, value=values[goal], bound=Fraction(0), outcome="best so far", closed_by="not closed")
            for goal in self.sized.requirements.scenario.rules.goals
        )
        return plan.model_copy(update={"goals": goals, "cautions": cautions_about(self.sized, plan)})

    def _module_places(self) -> Iterator[tuple[str, int, Module]]:
        for panel, names in self.sample.modules.items():
            carriers = {carrier.id: carrier for carrier in self.sized.requirements.catalogue.carriers}
            ends = [0]
            for name in self.sample.carriers[panel]:
                ends.append(ends[-1] + carriers[name].bays)
            bay = 1
            for name in names:
                module = self.sized.module_by_id[name]
                if any(bay - 1 < end < bay - 1 + module.bays for end in ends):
                    bay += 1
                yield panel, bay, module
                bay += module.bays

    def _place(self, need: Need) -> None:
        for option in need.options:
            socket = self._free_socket(option) if option.relay_class else None
            if option.relay_class and socket is None:
                continue
            way = None
            if need.takes_way:
                way = self._free_way(option, need.feeds[0]) or self._free_way(option, need.feeds[0], again=True)
            if need.takes_way and way is None:
                continue
            if way is not None:
                self.ways[way] = (need, option, need.feeds[0])
            if socket is not None:
                self.sockets[socket] = (need, option)
                if way is None:
                    self.direct.append(Piece(at=str(socket), kind="socket", feed=need.feeds[0]))
            return
        raise AssertionError(f"the sample has no room for {need.id}")

    def _free_way(self, option: Option, feed: str, *, again: bool = False) -> Place | None:
        for panel, bay, module in self.at:
            for number, row in enumerate(module.rows):
                group = next(n for n, rows in enumerate(supply_groups(module)) if number in rows)
                if (
                    panel != option.panel
                    or row.fuse_format != option.fuse_format
                    or (panel, module.id, group, feed) not in self.sized.entries
                ):
                    continue
                used = [Place(panel, bay, number, way) for way in range(1, row.ways + 1)]
                taken = [place for place in used if place in self.ways]
                if row.bus == "stud" and any(self.ways[place][2] != feed for place in taken):
                    continue
                # a feed that left the row comes back only at the last: its ways then lie in two pieces
                if (
                    not again
                    and taken
                    and self.ways[taken[-1]][2] != feed
                    and any(self.ways[p][2] == feed for p in taken)
                ):
                    continue
                if len(taken) < row.ways:
                    return used[len(taken)]
        return None

    def _free_socket(self, option: Option) -> SocketPlace | None:
        for panel, bay, module in self.at:
            classes = [group.relay_class for group in module.sockets for _ in range(group.count)]
            for number, relay_class in enumerate(classes, 1):
                place = SocketPlace(panel, bay, number)
                if panel == option.panel and relay_class == option.relay_class and place not in self.sockets:
                    return place
        return None

    def _pieces(self) -> Iterator[Piece]:
        for panel, bay, module in self.at:
            on_stud = [
                self.ways[place][2] for place in sorted(self.ways)
                if (place.panel, place.bay) == (panel, bay) and module.rows[place.row or 0].bus == "stud"
            ]  # fmt: skip
            if on_stud:
                yield Piece(at=str(StudPlace(panel, bay)), kind="stud", feed=on_stud[0])
            for number, row in enumerate(module.rows):
                places = [Place(panel, bay, number, way) for way in range(1, row.ways + 1)]
                used = [place for place in places if place in self.ways]
                if row.bus == "single":
                    yield from (Piece(at=str(place), kind="single", feed=self.ways[place][2]) for place in used)
                elif row.bus == "strip":
                    yield from self._strip_pieces(used)

    def _strip_pieces(self, used: Sequence[Place]) -> Iterator[Piece]:
        spans: list[list[Place]] = []
        for place in used:
            if spans and self.ways[spans[-1][-1]][2] == self.ways[place][2]:
                spans[-1].append(place)
            else:
                spans.append([place])
        for span in spans:
            at = Place(span[0].panel, span[0].bay, span[0].row, span[0].first, span[-1].first)
            yield Piece(at=str(at), kind="strip", feed=self.ways[span[0]][2])

    def _written(self) -> Plan:
        return Plan(
            allocator_version="test",
            solver_version="none",
            depends_on_time=False,
            requirements=self.sized.requirements,
            carriers=tuple(self._carriers()),
            modules=tuple(PlacedModule(at=f"{panel}/{bay}", module=module.id) for panel, bay, module in self.at),
            ways=tuple(
                UsedWay(at=str(place), kind=need.kind, need=need.id, feed=feed, fuse=option.fuse, wire=option.wire)
                for place, (need, option, feed) in sorted(self.ways.items())
            ),
            sockets=tuple(
                UsedSocket(
                    at=str(place),
                    kind="feed" if need.kind == "feed" else "circuit",
                    need=need.id,
                    relay=str(option.relay),
                )
                for place, (need, option) in sorted(self.sockets.items())
            ),
            pieces=(*self._pieces(), *self.direct),
            goals=(),
        )

    def _carriers(self) -> Iterator[PlacedCarrier]:
        sizes = {carrier.id: carrier.bays for carrier in self.sized.requirements.catalogue.carriers}
        for panel, names in self.sample.carriers.items():
            first = 1
            for name in names:
                yield PlacedCarrier(panel=panel, carrier=name, first_bay=first)
                first += sizes[name]


def packed(sample: Sample) -> tuple[Sized, Plan]:
    """Build, size and pack a sample."""
    sized = size(requirements_of(sample))
    return sized, Packer(sized, sample).plan()
