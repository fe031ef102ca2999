"""
What every circuit and every relay coil draws in every load case.

Requirements come in; whole milliamperes by need and case go out, by the section "Loads" of ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from allocator.errors import Fault, SizingError
from allocator.requirements.catalogue import Relay
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Feed
from allocator.sizing.current import coil_current_a, design_current_a
from allocator.sizing.offer import Offer
from allocator.sizing.relays import FUNCTION_BY_SWITCHING, relays_by_class
from allocator.units import from_model, limit_to_model, to_model


@dataclass(frozen=True, slots=True)
class CircuitLoad:
    """
    What one circuit draws.

    ``design_ma`` is the load alone; ``run_ma`` what its contact and its run carry at most: the load and the coils of
    others that it controls; ``by_case`` and their largest, ``fuse_ma``, hold its own coil as well, if that hangs on
    its fuse.
    """

    design_ma: int
    run_ma: int
    by_case: tuple[int, ...]

    @property
    def fuse_ma(self) -> int:
        """Largest load of the fuse over all load cases, mA."""
        return max(self.by_case)


class Loads:
    """
    Loads of all circuits, and coil currents of all relays.

    Parameters
    ----------
    offer
        What is on offer, with the requirements.
    """

    def __init__(self, offer: Offer) -> None:
        self._offer = offer
        self._cases = [case.name for case in offer.scenario.load_cases]
        self._circuits = {circuit.id: circuit for circuit in offer.requirements.circuits}
        self._feeds = {feed.name: feed for feed in offer.scenario.feeds if feed.relay_class and feed.source}
        self._relays: dict[str, Mapping[str, Relay] | SizingError] = {}
        self.faults = tuple(self._loops())
        self._by_circuit: dict[str, CircuitLoad] = {}
        if not self.faults:  # a circle of coils has no sum
            self._by_circuit = {name: self._circuit(circuit) for name, circuit in self._circuits.items()}

    def of(self, circuit: str) -> CircuitLoad:
        """Return the load of a circuit."""
        return self._by_circuit[circuit]

    def relays(self, circuit: Circuit) -> Mapping[str, Relay]:
        """
        Return the relays that may switch a circuit, by class.

        Raises
        ------
        SizingError
            If none may.
        """
        if circuit.id not in self._relays:
            try:
                self._relays[circuit.id] = relays_by_class(
                    self._offer,
                    FUNCTION_BY_SWITCHING[circuit.switching],
                    circuit.load_type,
                    max(self._run_ma(circuit)),
                    circuit.relay_class,
                )
            except SizingError as refusal:
                self._relays[circuit.id] = refusal
        found = self._relays[circuit.id]
        if isinstance(found, SizingError):
            raise found
        return found

    def feed_relay(self, feed: Feed) -> Relay:
        """
        Return the relay that switches a feed: the cheapest of its class for its allowed load.

        Raises
        ------
        SizingError
            If none may.
        """
        allowed_ma = limit_to_model(feed.rating * self._offer.rules.feed_loading / 100)
        # The loads behind it are mixed and mostly off when it closes: it is chosen by what it carries.
        found = relays_by_class(self._offer, "make", "resistive", allowed_ma, feed.relay_class)
        return next(iter(found.values()))

    def feed_coil_ma(self, feed: Feed) -> int:
        """Return what the coil of a feed's relay draws, mA; 0 without a relay."""
        if feed.name not in self._feeds:
            return 0
        try:
            return to_model(coil_current_a(self.feed_relay(feed), self._offer.vehicle))
        except SizingError:
            return 0  # sizing the feed itself tells why

    def coil_ma(self, circuit: Circuit) -> int:
        """Return the largest coil current of the relays that may switch a circuit, mA; 0 without a relay."""
        if circuit.switching == "none":
            return 0
        try:
            relays = self.relays(circuit).values()
        except SizingError:
            return 0  # sizing the circuit itself tells why
        return max(to_model(coil_current_a(relay, self._offer.vehicle)) for relay in relays)

    def coils_on(self, circuit: str) -> tuple[str, ...]:
        """Return the circuits and feeds whose coils a circuit supplies as their control."""
        names = [
            other.id for other in self._circuits.values() if other.control == circuit and other.switching != "none"
        ]
        return tuple(names + [f"feed {feed.name}" for feed in self._feeds.values() if feed.control == circuit])

    def _circuit(self, circuit: Circuit) -> CircuitLoad:
        own = self.coil_ma(circuit) if circuit.control is None else 0
        run = self._run_ma(circuit)
        by_case = tuple(ma + own * self._runs(circuit, case) for ma, case in zip(run, self._cases, strict=True))
        return CircuitLoad(self._design_ma(circuit), max(run), by_case)

    def _design_ma(self, circuit: Circuit) -> int:
        return to_model(design_current_a(circuit.load, circuit.load_type, self._offer.vehicle, self._offer.figures))

    def _run_ma(self, circuit: Circuit) -> list[int]:
        own = self._design_ma(circuit)
        others = [other for other in self._circuits.values() if other.control == circuit.id]
        feeds = sum(self.feed_coil_ma(feed) for feed in self._feeds.values() if feed.control == circuit.id)
        return [
            own * self._runs(circuit, case)
            + feeds
            + sum(self.coil_ma(other) for other in others if self._runs(other, case))
            for case in self._cases
        ]

    def _control(self, name: str) -> str | None:
        return self._circuits[name].control if self._circuits[name].switching != "none" else None

    @staticmethod
    def _runs(circuit: Circuit, case: str) -> bool:
        return not circuit.load_cases or case in circuit.load_cases

    def _loops(self) -> Iterator[Fault]:
        told: set[str] = set()
        for name in sorted(self._circuits):
            chain = [name]
            while (control := self._control(chain[-1])) is not None and control not in chain:
                chain.append(control)
            if control is not None and control == name and name not in told:
                told.update(chain)
                yield Fault(
                    "control-loop",
                    f"the coils of {', '.join(chain)} are supplied in a circle: none of them can ever close",
                    where=self._offer.requirements.where("circuits", name, "control"),
                    known="a control is a circuit that is live before the relay closes",
                    hint="take one of them off its control, or name another circuit",
                )


def load_reason(load: CircuitLoad, coils: tuple[str, ...]) -> str:
    """Return the sentence that says what the fuse of a circuit carries beside its load; empty if nothing."""
    extra = load.fuse_ma - load.design_ma
    if extra <= 0:
        return ""
    whose = f" of {', '.join(coils)}" if coils else " of its own relay"
    return f"with coils{whose} up to {from_model(load.fuse_ma):g} A"
