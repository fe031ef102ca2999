"""
Every rule a plan must keep: one id and one sentence each.

The id names the model's constraint, the checker's finding, the test and the message alike. The checker is written from
these sentences, never from the model.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

RULES: Mapping[str, str] = {
    # carriers and modules
    "carrier-allowed": "A panel uses only carriers of the catalogue that the panel allows.",
    "bays-within-panel": "The bays of a panel's carriers together are no more than the panel has room for.",
    "carriers-in-line": "A panel's carriers take its bays from 1 on, one after the other, without gap or overlap.",
    "module-in-carrier": "All bays of a module lie in one carrier of its panel.",
    "one-module-per-bay": "A bay holds at most one module.",
    "module-count": "No more modules of a type than the rules allow.",
    "module-stock": "Where the rules say so, no more modules of a type than are on the shelf.",
    # needs at ways
    "every-need-placed": "Every circuit, every feed's own fuse and every spare way has exactly one way; else none.",
    "way-exists": "A used way lies in a row of a placed module.",
    "one-need-per-way": "A way holds one thing.",
    "format-matches": "Every way but a spare one holds a fuse of its format; what names a format is in a way of it.",
    "panel-accepted": "A circuit is at a panel it accepts; a feed's own fuse and relay are at its home panel.",
    "feed-accepted": "A circuit is on a feed it accepts; a branch's own fuse is on its source feed.",
    "feed-reaches-panel": "A feed is used only at panels it reaches.",
    "key-out": "A circuit that must work with the key out, its coil too, is on permanent feeds only, past no relay.",
    # parts and safety
    "fuse-suits-net": "A fuse is rated for the highest voltage of the net and breaks the fault current at its place.",
    "main-fuse": "A root feed in use has a main fuse of exactly its rating; holder, lead and rings suit its cables.",
    "inline-fuse": "A fuse in a tail is as asked for, one before a coil carries it; each is in a holder that takes it.",
    "fuse-protects-wire": "A fuse is rated no more than its wire may carry there, or, for a run, as the rules allow.",
    "wire-withstands-fault": "In a short circuit a fuse opens before any wire next behind it gets too hot.",
    "drop-within-limit": "A circuit's run, return wire included, loses no more voltage than the circuit may lose.",
    "wires-of-system": "Where the rules name a system of wires, metric or gauges, every wire is of it.",
    "fuse-carries-load": "The load of a circuit or a branch is no more than the allowed share of its fuse's rating.",
    "fuse-outlasts-start": "Where asked for, no gate shows that a fuse opens before the start of its load is over.",
    "terminal-fits": "Each cavity in use has a terminal for its tab and wire that carries the fuse before it.",
    "stud-fits": "A stud carries its feed and, as each ring, the fuse before it; each ring fits it and a wire.",
    "wires-as-stated": "Each run, return and coil lead is there, its length and place right; all runs are of one wire.",
    "cable-lengths": "The cable of a feed to a panel is as long as the distances of the panels say.",
    "as-sized": "Fuse, wire, relay and tail fuse are those of the sizing table there, which orders what it states.",
    # strip pieces and feeds
    "piece-exists": "A strip piece is in a strip row, a single entry on a way fed singly, others on a stud or socket.",
    "pieces-apart": "No way, and no socket, lies under two feed entries.",
    "way-is-fed": "Every used way lies under a feed entry, and every way under a strip piece is used.",
    "one-feed-per-piece": "All ways under one feed entry are on the feed of that entry.",
    "one-piece-per-feed-and-row": "Where the rules say so, a feed has at most one strip piece in a row.",
    "tail-fits": "The inlet of a feed entry takes the wire and terminal of that feed's tail.",
    "inlet-protected": "What protects a feed entry is rated no more than its strip, inlet and stud carry there.",
    "piece-current": "In every load case the ways under an entry draw no more than strip, inlet, stud and tail carry.",
    "hot-apart": "Where the rules say so, ways side by side in a row are not both hot in one load case.",
    "row-current": "In every load case the ways of a row draw no more than the row carries.",
    "module-current": "In every load case the ways of a module draw no more than the module carries.",
    "feed-current": "In every load case a feed, with all that branches from it, draws no more than its allowed share.",
    # relays
    "relay-present": "Every need with a relay has it in exactly one socket; no other socket is used.",
    "socket-exists": "A used socket belongs to a placed module.",
    "one-relay-per-socket": "A socket holds one relay.",
    "class-matches": "A relay is of its socket's class, of the class and function asked for and for the voltage.",
    "relay-in-panel": "A relay is in the same panel as its fuse.",
    "relay-beside-fuse": "Where the rules say so, the relay of a large fuse is in the module of that fuse.",
    "relay-carries-load": "The contact rating of a relay, by kind of load and by the rules, is no less than the load.",
    # what the customer asked for
    "spare-ways": "Every spare way asked for is there: of its format, on its feed, at its panel, with nothing in it.",
    "apart-feed": "Circuits that must be on different feeds are.",
    "apart-row": "Circuits that must be in different rows are.",
    "apart-module": "Circuits that must be in different modules are.",
    "apart-panel": "Circuits that must be at different panels are.",
    "together-feed": "Circuits that must be on one feed are.",
    "together-row": "Circuits that must be in one row are.",
    "together-module": "Circuits that must be in one module are.",
    "together-panel": "Circuits that must be at one panel are.",
    "pin": "A circuit that is pinned to a place is there.",
    "built-stays": "All that a revision must keep of a panel as built, its carriers always, is where it is built.",
    "goal-cap": "A goal is no more than the cap that the rules set on it, and spare ways are no fewer.",
    # the claims of the plan itself
    "goals-stated": "The plan states each goal of the rules, in their order and with their limits, and no other.",
    "goal-value": "The value stated for a goal is the plan's, its bound is no worse, and its tolerance is kept.",
}

CLAIMS: Collection[str] = ("goals-stated", "goal-value")
"""Rules on what a plan says of itself; a panel is none the worse for breaking them."""
