"""
Cautions about circuits: their fuses and wires.

The sizing table and the figures behind its rows come in; cautions go out, one function each.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from allocator.figures import Figures
from allocator.requirements.catalogue import LoadType
from allocator.sizing.fuses import opening_time_s
from allocator.sizing.inrush import Inrush, evidence, inrush_of, opens_at_start, starts
from allocator.sizing.offer import Offer
from allocator.sizing.options import Sizing
from allocator.sizing.runs import far_end_fault_a
from allocator.sizing.sized import Caution, Sized
from allocator.sizing.upstream import upstream_drop_v
from allocator.sizing.withstand import let_through_a2s, melting_current_a
from allocator.units import from_model, wire_system

_NOISE = 1e-9


def fuse_opens_at_start(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Fuses of which a published gate shows that they open before the start of their load is over."""
    figures = sized.requirements.figures
    told: dict[tuple[str, str], str] = {}
    offer = Offer(sized.requirements)
    for sizing in sizings:
        inrush, fuse = _inrush(sizing, figures), sizing.fuse
        if inrush is None or not _opens_at_start(sizing, inrush, figures):
            continue
        latest_s = opening_time_s(fuse.fuse_format, fuse.rating, inrush.peak_a, figures)[1]
        told.setdefault(
            (sizing.circuit.id, fuse.id),
            f"{sizing.circuit.id} {fuse.rating:g} A type {fuse.fuse_format}, within {latest_s:g} s at "
            f"{inrush.peak_a:.3g} A ({_larger_text(offer, sizing, inrush)})",
        )
    if told:
        yield Caution(
            "fuse-opens-at-start",
            _names(name for name, _ in told),
            f"if loads start as their kind is taken to, these fuses open before the start is over: "
            f"{'; '.join(told.values())}. Measure the start, state the stall current, or want the larger fuse with "
            "fuse_rating, or of all circuits with the rule fuse_outlasts_start: wires and terminals are then chosen",
        )


def _opens_at_start(sizing: Sizing, inrush: Inrush, figures: Figures) -> bool:
    return opens_at_start(sizing.fuse.fuse_format, sizing.fuse.rating, inrush, figures)


def _larger_text(offer: Offer, sizing: Sizing, inrush: Inrush) -> str:
    """Say from which rating of its format on nothing shows that a fuse opens, and which is shown to stay whole."""
    letter, figures = sizing.fuse.fuse_format, offer.figures
    larger = [fuse.rating for fuse in offer.fuses(letter) if fuse.rating > sizing.fuse.rating]
    least_a = next((rating for rating in larger if not opens_at_start(letter, rating, inrush, figures)), None)
    whole_a = next((rating for rating in larger if evidence(letter, rating, inrush, figures) != "none"), None)
    if least_a is None:
        return f"no larger type {letter} on offer would do"
    if whole_a == least_a:
        return f"take {least_a:g} A"
    return f"take {least_a:g} A and try it" + ("" if whole_a is None else f"; {whole_a:g} A is shown to stay whole")


def inrush_may_open_fuse(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Fuses for which no published figure shows that they outlast the start of their load."""
    figures = sized.requirements.figures
    found: dict[LoadType, list[Sizing]] = defaultdict(list)
    for sizing in sizings:
        inrush = _inrush(sizing, figures)
        if inrush is None or _opens_at_start(sizing, inrush, figures):
            continue  # the caution before this one tells
        if evidence(sizing.fuse.fuse_format, sizing.fuse.rating, inrush, figures) == "none":
            found[sizing.circuit.load_type].append(sizing)
    for kind, doubtful in sorted(found.items()):
        names = _names(sizing.circuit.id for sizing in doubtful)
        formats = ", ".join(sorted({sizing.fuse.fuse_format for sizing in doubtful}))
        yield Caution(
            "inrush-may-open-fuse",
            names,
            f"{_start_text(kind, figures)}, and no published figure shows that the fuses (type {formats}) of {names} "
            "stay whole: try them, or want larger ones",
        )


def _start_text(kind: LoadType, figures: Figures) -> str:
    if kind not in starts(figures):
        amperes, seconds = figures.discharge_start.value, figures.discharge_start_time.value
        return f"gas-discharge lamps draw up to {amperes:g} A each for about {seconds:g} s when they start"
    times, seconds = starts(figures)[kind]
    return f"{kind} circuits start with up to {times:g} x their current for about {seconds:g} s"


def fuse_slow_at_stall(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Motors whose fuse, by all that is published, may stay whole for ever while they are held fast."""
    figures = sized.requirements.figures
    slow: dict[str, tuple[Sizing, float]] = {}
    for sizing in sizings:
        inrush = _inrush(sizing, figures)
        stall_a = None if inrush is None else inrush.stall_a
        if stall_a is not None:
            latest_s = opening_time_s(sizing.fuse.fuse_format, sizing.fuse.rating, stall_a, figures)[1]
            if latest_s > figures.adiabatic_longest.value:
                slow.setdefault(sizing.circuit.id, (sizing, stall_a))
    for name, (sizing, stall_a) in slow.items():
        fuse = sizing.fuse
        yield Caution(
            "fuse-slow-at-stall",
            name,
            f"held fast, {name} draws about {stall_a:.3g} A, at which its {fuse.rating:g} A type {fuse.fuse_format} "
            f"fuse opens {_opens(sizing, stall_a, figures)}: want a smaller one, or give the motor a thermal switch",
        )


def _inrush(sizing: Sizing, figures: Figures) -> Inrush | None:
    return inrush_of(sizing.circuit, from_model(sizing.load.design_ma), figures)


def drop_decides_wire(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Wires that are thicker than their fuse asks, because of the drop: one line for all of them."""
    by_drop = [sizing for sizing in sizings if sizing.wire.decided_by == "drop"]
    if by_drop:
        names = _names(sizing.circuit.id for sizing in by_drop)
        tight = max(by_drop, key=lambda sizing: sizing.wire.drop_v / sizing.run.allowed_v)
        yield Caution(
            "drop-decides-wire",
            names,
            f"the drop, not the fuse, decides the wire of {names}: measure their runs before cutting; the tightest, "
            f"{tight.circuit.id} from panel {tight.option.panel}, loses {tight.wire.drop_v:.3g} V of "
            f"{tight.run.allowed_v:.3g} V",
        )


def drop_with_feed(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Circuits that may lose more than their limit once the cables before them are counted: one line for all."""
    kept = 1 - sized.requirements.scenario.rules.upstream_drop / 100
    before_v = {
        (name, at): upstream_drop_v(sized, name, at) for name, feed in sized.feeds.items() for at in feed.panels
    }
    over: list[tuple[float, str, str, float, float]] = []
    for sizing in sizings:
        limit_v, panel = sizing.run.allowed_v / kept, sizing.option.panel
        for feed in sized.need_by_id[sizing.circuit.id].feeds:
            if (feed, panel) in before_v:
                total_v = sizing.wire.drop_v + before_v[feed, panel]
                if total_v > limit_v * (1 + _NOISE):
                    over.append((total_v / limit_v, sizing.circuit.id, feed, total_v, limit_v))
    if over:
        _, name, feed, total_v, limit_v = max(over)
        others = len({item[1] for item in over}) - 1
        also = f"; {others} more may lose more than theirs" if others else ""
        yield Caution(
            "drop-with-feed",
            name,
            f"with feed {feed} loaded as far as it may be and its cables hot, {name} may lose {total_v:.3g} V of the "
            f"{limit_v:.3g} V that it is allowed{also}: keep a share for the feeds with upstream_drop, or bring them "
            "by shorter or thicker cables",
        )


def fuse_slow_at_far_end(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Runs at whose far end a short circuit does not reach the multiple of the rating that clears a fuse quickly."""
    figures = sized.requirements.figures
    multiple = figures.clearing_multiple.value
    told: set[str] = set()
    for sizing in sizings:
        far_a = far_end_fault_a(sized.requirements, sizing.run, sizing.wire.wire)
        if far_a < multiple * sizing.fuse.rating and sizing.circuit.id not in told:
            told.add(sizing.circuit.id)
            yield Caution(
                "fuse-slow-at-far-end",
                sizing.circuit.id,
                f"a short circuit at the far end of {sizing.circuit.id} draws about {far_a:.3g} A, less than "
                f"{multiple:g} x its {sizing.fuse.rating:g} A fuse, which then opens {_opens(sizing, far_a, figures)}: "
                "take a thicker wire or a shorter run",
            )


def _opens(sizing: Sizing, current_a: float, figures: Figures) -> str:
    latest_s = opening_time_s(sizing.fuse.fuse_format, sizing.fuse.rating, current_a, figures)[1]
    return "within no published time" if math.isinf(latest_s) else f"only within {latest_s:g} s"


def withstand_unproven(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Fuses of which nothing published bounds what they let through in a short circuit."""
    fault_a, figures = sized.requirements.scenario.supply.fault_current, sized.requirements.figures
    open_ones = [
        sizing
        for sizing in sizings
        if let_through_a2s(sizing.fuse.fuse_format, sizing.fuse.rating, fault_a, figures) is None
    ]
    if open_ones:
        names = _names(sizing.circuit.id for sizing in open_ones)
        thinnest = min((sizing for sizing in open_ones), key=lambda sizing: sizing.wire.wire.area)
        ambient = thinnest.run.panel.ambient
        melts_a = melting_current_a(thinnest.wire.wire.area, 1.0, ambient, figures)
        yield Caution(
            "withstand-unproven",
            names,
            "no published opening time says what the fuses of "
            f"{names} let by in a short circuit: see their data sheets; the thinnest of these wires, "
            f"{thinnest.wire.wire.label} of {thinnest.circuit.id}, melts within 1 s at {melts_a:.3g} A",
        )


def wire_below_usual(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Single conductors thinner than small-craft practice."""
    least = sized.requirements.figures.smallest_separate.value
    thin = [sizing.circuit.id for sizing in sizings if sizing.wire.wire.area < least and sizing.run.out_m > 0.2]
    if thin:
        names = _names(thin)
        yield Caution(
            "wire-below-usual",
            names,
            f"wires of {names} are thinner than {least:g} mm2, the least for separate conductors by ISO 10133: lead "
            "them in a sheath",
        )


def wanted_fuse_large(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Wanted fuses of more than twice what the load needs."""
    told: dict[str, Sizing] = {}
    for sizing in sizings:
        if sizing.circuit.fuse_rating is not None and sizing.allowed_ma > 2 * sizing.load.fuse_ma:
            told.setdefault(sizing.circuit.id, sizing)
    for name, sizing in told.items():
        yield Caution(
            "wanted-fuse-large",
            name,
            f"the wanted fuse of {sizing.fuse.rating:g} A for {name} would carry more than twice its "
            f"{from_model(sizing.load.fuse_ma):.4g} A: the wire is sized for the fuse, the load may not be protected",
        )


def rating_unusual(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Fuses in the table whose rating is not a usual one of their type."""
    figures = sized.requirements.figures
    usual: Mapping[str, tuple[float, ...]] = {**figures.fuse_ratings_recalled.value, **figures.fuse_ratings.value}
    used = {sizing.fuse.id: sizing.fuse for sizing in sizings}
    for _, fuse in sorted(used.items()):
        if fuse.rating not in usual[fuse.fuse_format]:
            yield Caution(
                "rating-unusual",
                fuse.id,
                f"{fuse.label}: {fuse.rating:g} A is no usual rating of type {fuse.fuse_format}; see that spares can "
                "be bought",
            )


def _names(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))


def wires_mixed(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Tables that hold wires of metric sizes and of gauges: two sets of terminals, tools and spares."""
    used = {cut.wire for need in sized.needs for option in need.options for cut in option.wires}
    used |= {str(option.jumper_wire) for need in sized.needs for option in need.options}
    used |= {wire for feed in sized.feeds.values() for wire in (feed.cable_wire, feed.tail_wire)}
    used |= {entry.tail.wire for entry in sized.entries.values() if entry.tail is not None}
    wires = sorted((wire for wire in sized.requirements.catalogue.wires if wire.id in used), key=lambda wire: wire.area)
    by_system = {
        system: [wire.label for wire in wires if wire_system(wire.area) == system] for system in ("metric", "awg")
    }
    if all(by_system.values()):
        few = min(by_system.values(), key=len)
        yield Caution(
            "wires-mixed",
            "wires",
            f"metric sizes and gauges may be mixed ({', '.join(few)} among the others): two kinds of wire on the "
            'bench; choose one with the rule wire_system = "metric" or "awg"',
        )
