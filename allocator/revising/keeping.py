"""
What of a built panel must stay: from the user's word to modules, ways, sockets and strip pieces.

Comes in as the panel as built, the new sizing and the word; goes out as the same panel with what is kept. What is not
there any more is a fault, all at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from allocator.address import Place, SocketPlace, parse_place, parse_socket
from allocator.errors import Fault, InputError
from allocator.plan.built import Built, BuiltNeed, Kept, has_history
from allocator.plan.renames import Renames
from allocator.requirements.places import did_you_mean, quoted, shown
from allocator.sizing.sized import Sized

KeepWord = Literal["all", "modules", "chosen"]


@dataclass(frozen=True, slots=True)
class Keep:
    """How much stays: ``all`` modules and wires, the ``modules``, or only the ``chosen`` parts; carriers always do."""

    word: KeepWord = "modules"
    parts: tuple[str, ...] = ()
    """Addresses, circuits and feeds that stay as well."""


def kept_of(built: Built, sized: Sized, keep: Keep) -> Built:
    """
    Return the panel as built with what must stay in it.

    Raises
    ------
    InputError
        If a part is not there, or cannot stay because the new requirements know nothing of it.
    """
    faults: list[Fault] = []
    kept = Kept()
    if keep.word in ("all", "modules"):
        kept = replace(kept, modules=frozenset(built.modules))
    if keep.word == "all":
        kept = _with_needs(kept, built, sized, list(built.needs.values()))
    for part in keep.parts:
        more = _named(part, built, sized)
        if isinstance(more, Fault):
            faults.append(more)
        else:
            kept = _both(kept, more)
    known = sized.module_by_id
    faults += _lost_carriers(built, sized)
    for (panel, bay), module in built.modules.items():
        if module not in known and (panel, bay) in kept.modules:
            message = f'module "{module}" stands at {panel}/{bay} and is not in the catalogue any more'
            faults.append(Fault("built-module", message, known="what stays must be in the catalogue"))
    if faults:
        raise InputError(faults)
    modules = {place: module for place, module in built.modules.items() if module in known}
    return replace(built, modules=modules, kept=kept)


def _both(one: Kept, other: Kept) -> Kept:
    return Kept(
        one.modules | other.modules, one.ways | other.ways, one.sockets | other.sockets, one.entries | other.entries
    )


def _with_needs(kept: Kept, built: Built, sized: Sized, needs: Sequence[BuiltNeed]) -> Kept:
    """Add the places of needs that are still wanted, as far as they still take a way and a socket."""
    wanted = {need.id: need for need in sized.needs if has_history(need, built)}
    here = [need for need in needs if need.id in wanted]
    ways = {need.id for need in here if need.way is not None and wanted[need.id].takes_way}
    sockets = {need.id for need in here if need.socket is not None and wanted[need.id].takes_socket}
    places = [need.way for need in here if need.id in ways] + [need.socket for need in here if need.id in sockets]
    modules = {(place.panel, place.bay) for place in places if place is not None and place.bay is not None}
    return _both(kept, Kept(frozenset(modules), frozenset(ways), frozenset(sockets)))


def _named(part: str, built: Built, sized: Sized) -> Kept | Fault:
    if part in built.needs:
        if part not in sized.need_by_id:
            hint = "leave it out, or say with --renamed what it is called now"
            return Fault(
                "keep-part", f"{shown(part)} is built and not wanted any more", f"--part {shown(part)}", hint=hint
            )
        return _with_needs(Kept(), built, sized, [built.needs[part]])
    place = _place(part)
    modules = frozenset(at for at in built.modules if place is not None and _holds(place, *at))
    if place is None or not modules:
        names = [*built.needs, *(f"{panel}/{bay}" for panel, bay in built.modules)]
        known = "a module that is built, such as " + quoted([f"{p}/{b}" for p, b in built.modules][:3])
        known += ", a row or way of it, a socket, or a circuit"
        return Fault(
            "keep-part", f"nothing is built at {shown(part)}", f"--part {shown(part)}", known, did_you_mean(part, names)
        )
    if isinstance(place, Place) and place.row is None and place.bay is not None:
        return Kept(modules)
    held = [need for need in built.needs.values() if _is_at(place, need)]
    row = place if isinstance(place, Place) and place.row is not None and place.first is None else None
    cut = [e.at for e in built.entries if row and (e.panel, e.bay, e.row) == (row.panel, row.bay, row.row)]
    return _with_needs(Kept(modules, entries=frozenset(cut)), built, sized, held)


def _place(part: str) -> Place | SocketPlace | None:
    for read in (parse_place, parse_socket):
        try:
            return read(part)
        except ValueError:
            continue
    return None


def _holds(place: Place | SocketPlace, panel: str, bay: int) -> bool:
    return place.panel == panel and place.bay in (None, bay)


def _is_at(place: Place | SocketPlace, need: BuiltNeed) -> bool:
    if isinstance(place, SocketPlace):
        return need.socket == place
    if place.bay is None:
        return place.panel in {at.panel for at in (need.way, need.socket) if at is not None}
    return need.way is not None and (
        (need.way.panel, need.way.bay, need.way.row) == (place.panel, place.bay, place.row)
        and place.first in (None, need.way.first)
    )


def _lost_carriers(built: Built, sized: Sized) -> Iterator[Fault]:
    catalogue = {carrier.id: carrier for carrier in sized.requirements.catalogue.carriers}
    sites = {site.name: site for site in sized.requirements.scenario.panels}
    for panel, carriers in built.carriers.items():
        site = sites.get(panel)
        if site is None:
            hint = "keep the panel in scenario.toml, or plan afresh with allocator plan"
            message = f'panel "{panel}" is built and not in the scenario any more'
            yield Fault("built-panel", message, known=f"panels now are {quoted(sites)}", hint=hint)
            continue
        for carrier in dict.fromkeys(carriers):
            if carrier not in catalogue or (site.carriers and carrier not in site.carriers):
                message = f'carrier "{carrier}" is built at panel "{panel}" and is not allowed there any more'
                yield Fault("built-carrier", message, known="carriers that are built stay")
        bays = sum(catalogue[carrier].bays for carrier in carriers if carrier in catalogue)
        if bays > site.max_bays:
            message = f'panel "{panel}" is built with {bays} bays, and max_bays is {site.max_bays} now'
            yield Fault("built-bays", message, known="carriers that are built stay")


def names_of(pairs: Sequence[str], built: Sized, wanted: Sized) -> Renames:
    """
    Read what was renamed: ``old=new``, of a circuit or of a feed, whichever of the two both names are.

    Parameters
    ----------
    built, wanted
        Sizing of the panel as built, and of what is wanted now.

    Raises
    ------
    InputError
        If a pair cannot be read, or names what is not there.
    """
    needs: dict[str, str] = {}
    feeds: dict[str, str] = {}
    faults: list[Fault] = []
    had, have = ({**sized.need_by_id, **sized.feeds} for sized in (built, wanted))
    for pair in pairs:
        old, equals, new = (word.strip() for word in pair.partition("="))
        where = f"--renamed {shown(pair)}"
        both = _kinds(old, built) & _kinds(new, wanted)
        of_needs = both - {"feed"} or (_is_branch(old, built) and _is_branch(new, wanted))
        tables: list[tuple[dict[str, str], Mapping[str, object]]] = [(needs, built.need_by_id)] if of_needs else []
        tables += [(feeds, built.feeds)] if "feed" in both else []
        if not (old and equals and new):
            faults.append(Fault("renamed", "what was renamed cannot be read", where, "old=new"))
        elif old not in had:
            faults.append(Fault("renamed", f"nothing named {shown(old)} is built", where, hint=did_you_mean(old, had)))
        elif new not in have:
            hint = did_you_mean(new, have)
            faults.append(Fault("renamed", f"nothing named {shown(new)} is wanted", where, hint=hint))
        elif not both:
            known = "a circuit stays a circuit, and a feed a feed"
            faults.append(Fault("renamed", f"{shown(old)} and {shown(new)} are not of one kind", where, known))
        elif any(new in known or old in names or new in names.values() for names, known in tables):
            faults.append(Fault("renamed", f"{shown(old)} or {shown(new)} is there twice", where, "each name once"))
        else:
            for names, _ in tables:
                names[old] = new
    if faults:
        raise InputError(faults)
    return Renames(needs, feeds)


def _kinds(name: str, sized: Sized) -> set[str]:
    """Return what a name is of: a circuit, a feed, a spare way; a circuit and a root feed may have one name."""
    need = sized.need_by_id.get(name)
    return ({need.kind} if need is not None else set()) | ({"feed"} if name in sized.feeds else set())


def _is_branch(name: str, sized: Sized) -> bool:
    return name in sized.need_by_id and name in sized.feeds and sized.need_by_id[name].kind == "feed"
