"""
Ways to break the hand-built plan: at least one for each rule, and what the finding must say.

``test_mutations.py`` runs them over the ids of ``RULES``, so that a rule without one fails.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction

from allocator.plan.plan import Plan, Stays
from tests.verifying.edits import add, again, change, remove

Mutation = Callable[[Plan], Plan]

MUTATIONS: dict[str, list[tuple[str, Mutation]]] = defaultdict(list)
"""By rule: words that the finding must hold, and the edit."""


def breaks(rule: str, says: str, edit: Mutation) -> None:
    MUTATIONS[rule].append((says, edit))


def crowd(plan: Plan, need: str, copies: int) -> Plan:
    """Return the plan with a circuit so many times more at its place, as if its load had grown."""
    for _ in range(copies):
        plan = again(plan, "ways", need)
    return plan


def all_kept(plan: Plan) -> Plan:
    """Return the plan as if it were the revision of a panel that is built like it, with everything kept."""
    stays = Stays(
        carriers=plan.carriers,
        modules=plan.modules,
        ways={way.need: way.at for way in plan.ways if way.kind != "spare"},
        sockets={socket.need: socket.at for socket in plan.sockets},
        pieces=plan.pieces,
    )
    return plan.model_copy(update={"stays": stays})


breaks("carrier-allowed", 'no panel "roof"', lambda p: change(p, "carriers", 5, panel="roof"))
breaks("carrier-allowed", "not in the catalogue", lambda p: change(p, "carriers", 5, carrier="frame-9"))
breaks("carrier-allowed", "not allowed there", lambda p: change(p, "carriers", 5, carrier="frame-1"))
breaks("bays-within-panel", "have 7 bays", lambda p: add(p, "carriers", panel="cabin", carrier="frame-1", first_bay=7))
breaks("carriers-in-line", "the next free bay is 5", lambda p: change(p, "carriers", 5, first_bay=6))
breaks("carriers-in-line", "starts in bay 4", lambda p: change(p, "carriers", 5, first_bay=4))
breaks("carriers-in-line", "starts in bay 999", lambda p: change(p, "carriers", 5, first_bay=999))
breaks("module-in-carrier", "bays 4 to 5", lambda p: change(p, "modules", "cabin/1", at="cabin/4"))
breaks("module-in-carrier", "not in the catalogue", lambda p: change(p, "modules", "cabin/1", module="cellar"))
breaks("module-in-carrier", "this is no bay", lambda p: change(p, "modules", "cabin/1", at="cabin/first"))
breaks("module-in-carrier", "this is no bay", lambda p: change(p, "modules", "cabin/1", at="cabin/1/A"))
breaks("module-in-carrier", "this is no bay", lambda p: change(p, "modules", "cabin/1", at="cabin"))
breaks("one-module-per-bay", '"wide", "twin"', lambda p: change(p, "modules", "cabin/3", at="cabin/2"))
breaks("module-count", "4 in the plan; the rules allow 3", lambda p: add(p, "modules", at="cabin/6", module="twin"))
breaks("module-stock", "2 in the plan; 1 on the shelf", lambda p: again(p, "modules", "cabin/1", at="aft/1"))

breaks("every-need-placed", "has no way", lambda p: remove(p, "ways", "radio"))
breaks("every-need-placed", "has 2 ways", lambda p: again(p, "ways", "radio", at="cabin/4/B/3"))
breaks("every-need-placed", "needs no way", lambda p: change(p, "ways", "radio", need="radar"))
breaks("every-need-placed", "needs no way", lambda p: change(p, "ways", "lights", need="deck"))
breaks("way-exists", "this is no way", lambda p: change(p, "ways", "radio", at="cabin/4/B"))
breaks("way-exists", "this is no way", lambda p: change(p, "ways", "radio", at="under the bunk"))
breaks("way-exists", "this is no way", lambda p: change(p, "ways", "radio", at="cabin/4/B/last"))
breaks("way-exists", "no module starts at cabin/2", lambda p: change(p, "ways", "radio", at="cabin/2/A/1"))
breaks("way-exists", "no such way", lambda p: change(p, "ways", "radio", at="cabin/4/B/5"))
breaks("way-exists", "no such way", lambda p: change(p, "ways", "radio", at="cabin/4/C/1"))
breaks("one-need-per-way", '"wiper", "washer"', lambda p: change(p, "ways", "washer", at="cabin/4/A/1"))
breaks("format-matches", "is of format E, the way of format C", lambda p: change(p, "ways", "radio", fuse="E-20"))
breaks("format-matches", "has no fuse", lambda p: change(p, "ways", "radio", fuse=None))
breaks("format-matches", "not in the catalogue", lambda p: change(p, "ways", "radio", fuse="nail"))
breaks("format-matches", "wants format E", lambda p: change(p, "ways", "heater", at="cabin/3/A/3", fuse="C-30"))
breaks("format-matches", "wants format E", lambda p: change(p, "ways", "lights", at="cabin/3/A/3"))
breaks("format-matches", "wants format C", lambda p: change(p, "ways", "spare-1-1", at="cabin/5/A/3"))
breaks("panel-accepted", 'accepts only panel "cabin"', lambda p: change(p, "ways", "radio", at="aft/3/A/3"))
breaks("panel-accepted", 'feed "hold" is "aft"', lambda p: change(p, "ways", "hold", at="cabin/5/A/3"))
breaks("panel-accepted", 'feed "deck" is "aft"', lambda p: change(p, "sockets", "deck", at="cabin/5/S1"))
breaks("panel-accepted", 'no panel "roof"', lambda p: change(p, "ways", "radio", at="roof/4/B/1"))
breaks("panel-accepted", "is not known", lambda p: change(p, "ways", "hold", need="battery"))
breaks("feed-accepted", 'it accepts "ignition"', lambda p: change(p, "ways", "radio", feed="battery"))
breaks("feed-accepted", 'branches from "battery"', lambda p: change(p, "ways", "hold", feed="deck"))
breaks("feed-reaches-panel", 'does not reach panel "aft"', lambda p: change(p, "ways", "pump-a", feed="ignition"))
breaks("feed-reaches-panel", 'no feed "shore"', lambda p: change(p, "ways", "pump-a", feed="shore"))
breaks("feed-reaches-panel", 'no feed "shore"', lambda p: change(p, "pieces", "aft/2/stud", feed="shore"))
breaks("key-out", "is of kind ignition", lambda p: change(p, "ways", "hazard", feed="ignition"))
breaks("key-out", "passes a relay", lambda p: change(p, "ways", "hazard", feed="lights"))

breaks("fuse-suits-net", "breaks 500 A", lambda p: change(p, "ways", "heater", fuse="E-weak"))
breaks("fuse-suits-net", "is for 12 V", lambda p: change(p, "ways", "heater", fuse="E-low"))
breaks("main-fuse", "takes 2 cables; 3 start there", lambda p: again(p, "pieces", "cabin/5/stud", at="roof/1/stud"))
breaks("inline-fuse", "the feed wants one of 60 A", lambda p: change(p, "pieces", "cabin/5/stud", tail_fuse=None))
breaks("inline-fuse", "at most 60 A protect it", lambda p: change(p, "pieces", "cabin/5/stud", tail_fuse="SF30-80"))
breaks("inline-fuse", "does not take fuse", lambda p: change(p, "pieces", "cabin/5/stud", tail_fuse="E-50"))
breaks("fuse-protects-wire", "run: a fuse of 30 A", lambda p: change(p, "ways", "heater", wire="w1"))
breaks("fuse-protects-wire", "not in the catalogue", lambda p: change(p, "ways", "heater", wire="string"))
breaks("fuse-protects-wire", "jumper", lambda p: change(p, "ways", "fan", fuse="E-50", wire="w50"))
breaks("fuse-protects-wire", "cable", lambda p: change(p, "ways", "hold", fuse="SF30-60"))
breaks("wire-withstands-fault", "lets by up to 32400", lambda p: change(p, "ways", "heater", wire="w1"))
breaks("wire-withstands-fault", "jumper: fuse", lambda p: change(p, "ways", "fan", fuse="E-50"))
breaks("wire-withstands-fault", "coil lead of feed lights", lambda p: change(p, "ways", "light-switch", fuse="E-50"))
breaks("drop-within-limit", "loses 1.56 V in 4 m of wire", lambda p: change(p, "ways", "winch", wire="w1"))
breaks("wires-of-system", 'wire "g14" is not of the system metric', lambda p: change(p, "ways", "wiper", wire="g14"))
breaks(
    "fuse-outlasts-start",
    'starts with 30 A for 0.5 s; fuse "C-5" opens within 0.15 s',
    lambda p: change(p, "ways", "pump-a", fuse="C-5"),
)
breaks("fuse-carries-load", "may carry 15 A", lambda p: change(p, "ways", "heater", fuse="E-20"))
breaks("fuse-carries-load", "may carry 16 A", lambda p: crowd(change(p, "ways", "hold", fuse="E-20"), "pump-b", 3))
breaks("terminal-fits", "does not take a wire of 6 mm2", lambda p: change(p, "ways", "radio", wire="w6"))
breaks("terminal-fits", "30: terminal", lambda p: change(p, "ways", "fan", fuse="E-50"))
breaks("terminal-fits", "86: terminal", lambda p: change(p, "ways", "light-switch", fuse="SF30-60"))
breaks("terminal-fits", "carries 50 A behind a fuse of 60 A", lambda p: change(p, "ways", "hold", fuse="SF30-60"))
breaks("stud-fits", "tail to cabin/5/stud: terminal", lambda p: change(p, "pieces", "cabin/5/stud", tail_fuse=None))
breaks("wires-as-stated", 'the run is of wire "w10"', lambda p: change(p, "ways", "winch", wire="w10"))
breaks("wires-as-stated", 'its cable is of wire "w4"', lambda p: change(p, "ways", "lights", wire="w6"))
breaks("cable-lengths", "no length of its cable", lambda p: change(p, "pieces", "aft/2/stud", feed="ignition"))
breaks("as-sized", "has wire", lambda p: change(p, "ways", "radio", wire="w6"))
breaks("as-sized", "has fuse", lambda p: change(p, "ways", "spare-1-1", fuse="C-5"))
breaks("as-sized", "has relay", lambda p: change(p, "sockets", "horn", relay="make-heavy"))
breaks("as-sized", "no row", lambda p: change(p, "sockets", "horn", at="cabin/1/S2"))
breaks("as-sized", "no row", lambda p: remove(p, "ways", "horn"))
breaks("as-sized", "no row", lambda p: change(p, "sockets", "deck", at="nowhere"))

breaks("piece-exists", "ways 1 to 4", lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/1-5"))
breaks("piece-exists", "ways 1 to 4", lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/2-1"))
breaks("piece-exists", "expected a span", lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/1"))
breaks("piece-exists", "expected a span", lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3"))
breaks("piece-exists", "expected a way", lambda p: change(p, "pieces", "aft/1/A/1", at="aft/1/A/1-1"))
breaks(
    "piece-exists",
    "is of the kind strip",
    lambda p: change(p, "pieces", "cabin/3/B/1-1", at="cabin/3/B/1", kind="single"),
)
breaks("piece-exists", "no such row", lambda p: change(p, "pieces", "cabin/3/B/1-1", at="cabin/3/C/1-1"))
breaks("piece-exists", "no such row", lambda p: change(p, "pieces", "cabin/3/B/1-1", at="cabin/2/A/1-1"))
breaks("piece-exists", "is no stud", lambda p: change(p, "pieces", "cabin/5/stud", at="cabin/5/bolt"))
breaks("piece-exists", "no module with a stud", lambda p: change(p, "pieces", "cabin/5/stud", at="cabin/4/stud"))
breaks("piece-exists", "no module with a stud", lambda p: change(p, "pieces", "cabin/5/stud", at="cabin/6/stud"))
breaks("piece-exists", "no such socket", lambda p: change(p, "pieces", "aft/1/S1", at="aft/1/S2"))
breaks("piece-exists", "no such socket", lambda p: change(p, "pieces", "aft/1/S1", at="aft/9/S1"))
breaks("piece-exists", "no feed enters at this socket", lambda p: change(p, "pieces", "aft/1/S1", at="cabin/1/S1"))
breaks("pieces-apart", "two feed entries", lambda p: add(p, "pieces", at="cabin/3/A/2-2", kind="strip", feed="lights"))
breaks("pieces-apart", "aft/1/S1", lambda p: again(p, "pieces", "aft/1/S1"))
breaks("way-is-fed", "lies under no feed entry", lambda p: remove(p, "pieces", "cabin/5/stud"))
breaks("way-is-fed", "lies under no feed entry", lambda p: change(p, "ways", "radio", at="?"))
breaks("way-is-fed", 'does not enter here for feed "deck"', lambda p: remove(p, "pieces", "aft/1/S1"))
breaks("way-is-fed", "unused ways: cabin/3/A/3", lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/1-3"))
breaks("way-is-fed", "where no way is used", lambda p: add(p, "pieces", at="aft/1/A/2", kind="single", feed="hold"))
breaks("one-feed-per-piece", '"ignition"', lambda p: change(p, "ways", "fan", feed="ignition"))
breaks("one-feed-per-piece", '"battery"', lambda p: change(p, "pieces", "aft/1/S1", feed="hold"))
breaks(
    "one-piece-per-feed-and-row",
    "2 strip pieces",
    lambda p: again(
        change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/1-1"), "pieces", "cabin/3/A/1-1", at="cabin/3/A/2-2"
    ),
)
breaks("tail-fits", "no terminal", lambda p: change(p, "pieces", "cabin/3/A/1-2", feed="deck"))
breaks("as-sized", 'says "E-50"', lambda p: change(p, "pieces", "aft/3/B/1-2", tail_fuse="E-40"))

breaks("inlet-protected", "56 A behind a fuse of 60 A", lambda p: change(p, "pieces", "aft/3/B/1-2", tail_fuse=None))
breaks("inlet-protected", "70 A behind a fuse of 100 A", lambda p: change(p, "pieces", "cabin/3/A/1-2", tail_fuse=None))
breaks("piece-current", 'load case "parked"', lambda p: crowd(p, "winch", 4))
breaks("piece-current", "aft/1/S1", lambda p: crowd(p, "winch", 9))
breaks("row-current", "36 A are allowed", lambda p: crowd(p, "winch", 3))
breaks("module-current", "48 A are allowed", lambda p: crowd(p, "winch", 4))
breaks("hot-apart", 'hot in load case "road"', lambda p: again(p, "ways", "fan", at="cabin/1/A/3"))
breaks("feed-current", 'feed "deck"', lambda p: crowd(p, "winch", 3))
breaks("feed-current", 'feed "battery"', lambda p: crowd(p, "winch", 9))

breaks("relay-present", "has no relay", lambda p: remove(p, "sockets", "fan"))
breaks("relay-present", "has 2 relays", lambda p: again(p, "sockets", "fan", at="cabin/1/S1"))
breaks("relay-present", "needs no relay", lambda p: change(p, "sockets", "fan", need="radio"))
breaks("relay-present", "not in the catalogue", lambda p: change(p, "sockets", "fan", relay="lever"))
breaks("socket-exists", "this is no socket", lambda p: change(p, "sockets", "fan", at="cabin/1"))
breaks("socket-exists", "no module starts at", lambda p: change(p, "sockets", "fan", at="cabin/2/S1"))
breaks("socket-exists", "no such socket", lambda p: change(p, "sockets", "fan", at="cabin/1/S4"))
breaks("one-relay-per-socket", '"hazard", "fan"', lambda p: change(p, "sockets", "fan", at="cabin/1/S1"))
breaks(
    "class-matches",
    'the relay of circuit "fan" is micro; the socket',
    lambda p: change(p, "sockets", "fan", relay="make-micro"),
)
breaks("class-matches", "the wanted class of", lambda p: change(p, "sockets", "horn", at="cabin/1/S2"))
breaks("class-matches", "the wanted class of", lambda p: change(p, "sockets", "lights", at="cabin/1/S2"))
breaks("class-matches", "is of function flasher", lambda p: change(p, "sockets", "fan", relay="flash-standard"))
breaks("class-matches", "is of function changeover", lambda p: change(p, "sockets", "hazard", relay="change-standard"))
breaks("class-matches", "has a coil for 24 V; the vehicle", lambda p: change(p, "sockets", "deck", relay="lorry-heavy"))
breaks("relay-beside-fuse", "with 40 A", lambda p: change(p, "sockets", "lights", at="cabin/1/S2"))
breaks("relay-in-panel", "the fuse of", lambda p: change(p, "sockets", "lights", at="aft/2/S1"))
breaks(
    "relay-carries-load", "may switch 3 A of kind inductive", lambda p: change(p, "sockets", "horn", relay="weak-micro")
)
breaks(
    "relay-carries-load", "may switch 5 A of kind resistive", lambda p: change(p, "sockets", "deck", relay="weak-micro")
)

breaks("spare-ways", "is missing", lambda p: remove(p, "ways", "spare-2-1"))
breaks("spare-ways", "wants format E", lambda p: change(p, "ways", "spare-2-1", at="aft/3/A/3"))
breaks("spare-ways", 'wanted is "ignition"', lambda p: change(p, "ways", "spare-1-1", feed="battery"))
breaks("spare-ways", 'at panel "cabin"', lambda p: change(p, "ways", "spare-1-1", at="aft/3/A/3"))
breaks("spare-ways", "not free", lambda p: change(p, "ways", "spare-1-1", wire="w1"))
breaks("spare-ways", "not free", lambda p: change(p, "ways", "spare-1-1", fuse="C-5"))
breaks("apart-feed", '"dip-left" and "dip-right"', lambda p: change(p, "ways", "dip-left", feed="battery"))
breaks("apart-row", '"cabin/3/A"', lambda p: change(p, "ways", "dip-left", at="cabin/3/A/3"))
breaks("apart-module", '"cabin/4"', lambda p: change(p, "ways", "horn", at="cabin/4/A/4"))
breaks("apart-panel", '"cabin"', lambda p: change(p, "ways", "pump-a", at="cabin/4/A/4"))
breaks("together-feed", '"wiper" and "washer"', lambda p: change(p, "ways", "washer", feed="battery"))
breaks("together-row", '"cabin/4/B"', lambda p: change(p, "ways", "washer", at="cabin/4/B/3"))
breaks("together-module", '"cabin/3"', lambda p: change(p, "ways", "fan", at="cabin/3/A/3"))
breaks("together-panel", '"aft"', lambda p: change(p, "ways", "pump-a", at="cabin/3/A/3"))
breaks("pin", 'pinned to "cabin/4/B"', lambda p: change(p, "ways", "radio", at="cabin/4/A/4"))

breaks("built-stays", "cabin/5: carrier", lambda p: change(all_kept(p), "carriers", 5, first_bay=6))
breaks("built-stays", 'the plan has "frame-9"', lambda p: change(all_kept(p), "carriers", 5, carrier="frame-9"))
breaks("built-stays", "the plan has nothing", lambda p: remove(all_kept(p), "carriers", 5))
breaks("built-stays", "the plan has nothing", lambda p: remove(all_kept(p), "modules", "cabin/4"))
breaks("built-stays", 'the plan has "bus"', lambda p: change(all_kept(p), "modules", "cabin/4", module="bus"))
breaks("built-stays", "it is at cabin/4/B/3", lambda p: change(all_kept(p), "ways", "radio", at="cabin/4/B/3"))
breaks("built-stays", "it is nowhere", lambda p: remove(all_kept(p), "ways", "radio"))
breaks("built-stays", "it is at cabin/1/S1", lambda p: change(all_kept(p), "sockets", "fan", at="cabin/1/S1"))
breaks("built-stays", "none like it", lambda p: change(all_kept(p), "pieces", "cabin/5/stud", feed="ignition"))
breaks("built-stays", "none like it", lambda p: change(all_kept(p), "pieces", "cabin/4/A/1-3", at="cabin/4/A/1-2"))

breaks("goal-cap", "the cap is 4", lambda p: add(p, "carriers", panel="aft", carrier="frame-1", first_bay=4))
breaks("goals-stated", "does not state it", lambda p: remove(p, "goals", "panels"))
breaks("goals-stated", "stated in the order", lambda p: p.model_copy(update={"goals": p.goals[::-1]}))
breaks("goals-stated", "stated 2 times", lambda p: again(p, "goals", "bays"))
breaks("goals-stated", "stated as none; the rules set 4", lambda p: change(p, "goals", "carriers", cap=None))
breaks("goals-stated", "the rules give none", lambda p: change(p, "goals", "bays", best=Fraction(9)))
breaks(
    "goal-value",
    "stated is 5; the plan has 9",
    lambda p: change(p, "goals", "bays", value=Fraction(5), bound=Fraction(5)),
)
breaks("goal-value", "is worse than the value", lambda p: change(p, "goals", "bays", bound=Fraction(10)))
breaks("goal-value", "called best possible", lambda p: change(p, "goals", "bays", bound=Fraction(8)))
breaks("goal-value", "stated is more than 10^15", lambda p: change(p, "goals", "price", value=Fraction(10**5000, 7)))
breaks("goal-value", "stated is less than -10^15", lambda p: change(p, "goals", "price", value=Fraction(-(10**5000))))
