"""
The rule on in-line fuses, in feed tails and before coils: of the rating that is asked for, in a holder that takes them.

Comes in as a plan and the requirements; goes out as findings. That such a fuse protects its wire, suits the net and is
the one of the sizing table are rules of their own.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.requirements.catalogue import Fuse
from allocator.sizing.sized import Option
from allocator.verifying.design_current import coil_ma
from allocator.verifying.exact import amperes, milliamperes
from allocator.verifying.findings import Finding
from allocator.verifying.fuse_current import fuse_limit_ma
from allocator.verifying.fuses_before import coil_panels, inline_before_coil
from allocator.verifying.limits import sized_entry, tail_of
from allocator.verifying.protection import protection_ma
from allocator.verifying.records import EntryRecord, NeedKey
from allocator.verifying.view import View


def inline_fuse(view: View) -> Iterator[Finding]:
    """Report in-line fuses of another rating than asked for, too small for a coil, or in no holder for them."""
    for entry in view.entries:
        if entry.piece.feed in view.feeds and entry.panel in view.panels:
            for text in _in_tail(view, entry):
                yield Finding("inline-fuse", f'{entry.at} (feed "{entry.piece.feed}")', text)
    for need, socket in view.socket_of.items():
        option = view.option_of(need)
        for text in () if option is None else _before_coil(view, need, option):
            yield Finding("inline-fuse", f'{socket.at} ({need[0]} "{need[1]}")', text)


def _in_tail(view: View, entry: EntryRecord) -> Iterator[str]:
    fuse, tail, sized = view.fuses.get(entry.piece.tail_fuse or ""), tail_of(view, entry), sized_entry(view, entry)
    wanted_a = view.feeds[entry.piece.feed].tail_fuse
    if tail is None:
        return
    if fuse is None:
        if wanted_a is not None:
            yield f"has no fuse in its tail; the feed wants one of {amperes(milliamperes(wanted_a))}"
        return
    yield from _misheld(view, fuse, tail.holder)
    most_ma = protection_ma(view, entry.piece.feed) if wanted_a is None else milliamperes(wanted_a)
    exactly = wanted_a is not None and (sized is None or sized.tail is None)
    rating_ma = milliamperes(fuse.rating)
    if rating_ma > most_ma:
        yield f"has a fuse of {amperes(rating_ma)} in its tail; at most {amperes(most_ma)} protect it"
    elif rating_ma < most_ma and exactly:
        yield f"has a fuse of {amperes(rating_ma)} in its tail; the feed wants one of {amperes(most_ma)}"


def _before_coil(view: View, need: NeedKey, option: Option) -> Iterator[str]:
    inline = inline_before_coil(view, option)
    holders = [part for part, count in option.parts.items() if part in view.holders for _ in range(count)]
    if (len(inline), len(holders)) not in ((0, 0), (1, 1)):
        yield f"has {len(inline)} fuses in {len(holders)} holders before its coil; expected one in one, or none"
    elif inline:
        if need[0] == "circuit" and view.circuits[need[1]].switching == "flasher":
            yield f'has fuse "{inline[0].id}" before the coil of a flasher, which hangs on its own fuse'
        yield from _misheld(view, inline[0], holders[0])
        draws_ma = coil_ma(view, need)
        ambient_c = max(view.panels[panel].ambient for panel in coil_panels(view, need, option.panel))
        carries_ma = fuse_limit_ma(inline[0], ambient_c, view.rules.loading_factor, view.figures)
        if draws_ma > carries_ma:
            text = f'its coil draws {amperes(draws_ma)}; in-line fuse "{inline[0].id}" may carry {amperes(carries_ma)}'
            yield f"{text} there"


def _misheld(view: View, fuse: Fuse, name: str | None) -> Iterator[str]:
    holder = view.holders.get(name or "")
    if holder is None or holder.fuse_format != fuse.fuse_format or holder.limit < fuse.rating:
        yield f'in-line holder "{name or "none"}" does not take fuse "{fuse.id}"'
