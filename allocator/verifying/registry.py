"""Which function checks which rule, and the one call that runs them all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from allocator.plan.plan import Plan
from allocator.rulebook import RULES
from allocator.sizing.sized import Sized
from allocator.verifying import (
    bonds,
    cables,
    currents,
    drop,
    goals,
    heat,
    inline_fuses,
    need_wires,
    needs,
    net,
    pieces,
    protection,
    relays,
    sizes,
    starts,
    stays,
    structure,
    studs,
    terminals,
    wire_systems,
    wishes,
    withstand,
)
from allocator.verifying.findings import Finding
from allocator.verifying.view import View

Check = Callable[[View], Iterator[Finding]]

CHECKS: Mapping[str, Check] = {
    "carrier-allowed": structure.carrier_allowed,
    "bays-within-panel": structure.bays_within_panel,
    "carriers-in-line": structure.carriers_in_line,
    "module-in-carrier": structure.module_in_carrier,
    "one-module-per-bay": structure.one_module_per_bay,
    "module-count": structure.module_count,
    "module-stock": structure.module_stock,
    "every-need-placed": needs.every_need_placed,
    "way-exists": needs.way_exists,
    "one-need-per-way": needs.one_need_per_way,
    "format-matches": needs.format_matches,
    "panel-accepted": needs.panel_accepted,
    "feed-accepted": needs.feed_accepted,
    "feed-reaches-panel": needs.feed_reaches_panel,
    "key-out": needs.key_out,
    "fuse-suits-net": net.fuse_suits_net,
    "main-fuse": net.main_fuse,
    "inline-fuse": inline_fuses.inline_fuse,
    "fuse-protects-wire": protection.fuse_protects_wire,
    "wire-withstands-fault": withstand.wire_withstands_fault,
    "drop-within-limit": drop.drop_within_limit,
    "wires-of-system": wire_systems.wires_of_system,
    "fuse-carries-load": protection.fuse_carries_load,
    "fuse-outlasts-start": starts.fuse_outlasts_start,
    "terminal-fits": terminals.terminal_fits,
    "stud-fits": studs.stud_fits,
    "wires-as-stated": need_wires.wires_as_stated,
    "cable-lengths": cables.cable_lengths,
    "as-sized": sizes.as_sized,
    "piece-exists": pieces.piece_exists,
    "pieces-apart": pieces.pieces_apart,
    "way-is-fed": pieces.way_is_fed,
    "one-feed-per-piece": pieces.one_feed_per_piece,
    "one-piece-per-feed-and-row": pieces.one_piece_per_feed_and_row,
    "tail-fits": pieces.tail_fits,
    "inlet-protected": protection.inlet_protected,
    "piece-current": currents.piece_current,
    "hot-apart": heat.hot_apart,
    "row-current": currents.row_current,
    "module-current": currents.module_current,
    "feed-current": currents.feed_current,
    "relay-present": relays.relay_present,
    "socket-exists": relays.socket_exists,
    "one-relay-per-socket": relays.one_relay_per_socket,
    "class-matches": relays.class_matches,
    "relay-in-panel": relays.relay_in_panel,
    "relay-beside-fuse": relays.relay_beside_fuse,
    "relay-carries-load": relays.relay_carries_load,
    "spare-ways": wishes.spare_ways,
    "apart-feed": bonds.apart_feed,
    "apart-row": bonds.apart_row,
    "apart-module": bonds.apart_module,
    "apart-panel": bonds.apart_panel,
    "together-feed": bonds.together_feed,
    "together-row": bonds.together_row,
    "together-module": bonds.together_module,
    "together-panel": bonds.together_panel,
    "pin": wishes.pin,
    "built-stays": stays.built_stays,
    "goal-cap": goals.goal_cap,
    "goals-stated": goals.goals_stated,
    "goal-value": goals.goal_value,
}
"""One function for each id of ``RULES``."""


def verify(sized: Sized, plan: Plan) -> tuple[Finding, ...]:
    """
    Check a plan against every rule, without the solver.

    Parameters
    ----------
    sized
        The sizing table of the plan's requirements.
    plan
        The plan, from the solver or edited by hand.

    Returns
    -------
    tuple of Finding
        Every violation, in the order of ``RULES`` and, within a rule, of the plan; empty if the plan keeps all rules.
    """
    view = View(sized, plan)
    return tuple(finding for rule in RULES for finding in dict.fromkeys(CHECKS[rule](view)))
