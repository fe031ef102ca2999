"""
The general cautions that every plan, drawing, list and summary carries, in one place.

Nothing comes in; plain sentences go out. Sources: common practice of the trade; voltage limit of fuses from SAE J2576;
ignition protection from 33 CFR 183.410; road, boat and camper rules named as examples of what may apply.
"""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "This is a planning aid, not a safety approval: a wrong fuse or wire can start a fire.",
    "Check every circuit against the makers' data and the rules of the place of use (road: UN R48, 49 CFR 393; boats: "
    "33 CFR 183, ISO 13297; campers: NFPA 1192); local law and licensed practice come first.",
    "Disconnect every battery, negative side first, before working. A fuse in the panel does not protect an unfused "
    "battery lead.",
    "Never fit a larger fuse for one that blew: find the cause.",
    "Fuses rated 32 V are not for 42 V or 48 V supplies.",
    "Petrol and gas spaces need ignition-protected parts.",
)
