"""Built panels and what is changed about them afterwards, for tests of revisions."""

from __future__ import annotations

from dataclasses import replace

from allocator.sizing.sized import Cut, Need, Option, Sized
from tests.builders import build_sized
from tests.strategies import Arguments


def sized_with_wires(arguments: Arguments, **more: object) -> Sized:
    """
    Return a small sizing table whose circuits and branches have wires: to the load, and the leads of a coil.

    A circuit of more than 8 A has a longer wire, so that a load that grows takes its wire out.
    """
    sized = build_sized(**(arguments | more))  # type: ignore[arg-type]
    return replace(sized, needs=tuple(_wired(need) for need in sized.needs))


def _wired(need: Need) -> Need:
    if need.kind == "spare":
        return need
    heavy = max(need.load_ma_by_case, default=0) > 8000
    return replace(need, options=tuple(_with_wires(option, heavy) for option in need.options))


def _with_wires(option: Option, heavy: bool) -> Option:
    length_mm = 3000 if heavy else 2000
    if option.relay_class is None:
        return replace(option, wires=(Cut("wire", length_mm, "way", "load"), Cut("wire", length_mm, "", "return")))
    leads = [Cut("wire", length_mm, "87", "load"), Cut("wire", 0, "85", "switch to earth")]
    if option.fuse_format is not None:
        leads.append(Cut("wire", 100, "86", "own fuse way"))
    return replace(option, wires=tuple(leads))
