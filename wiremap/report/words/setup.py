"""What is said of a set-up that was not declared, or not as it is: what was read, the question, the option to try.

It is a question always, since a fault of the cable can read the same; that is then said beside it. What to type stands
in brackets, as everywhere.
"""

from wiremap.cable.connectors import connector
from wiremap.cable.patterns import pattern
from wiremap.judge.wiring.setup import SetUp
from wiremap.report.words.faults import Ends, capital, contacts_named, listed

NO_REMOTE_INTO_EQUIPMENT = "A remote is never plugged into equipment."
NO_JOINING_PLUG_INTO_EQUIPMENT = "A joining plug is never plugged into equipment: it shorts a port that feeds power."
JOINED_DANGER = "DO NOT CONNECT PoE or an injector while the conductors are joined: a joining plug comes off first."
BROKEN = "A cable that is broken in every conductor reads the same."
FAR_PIECE = {"remote": "remote", "joined": "joining plug"}  # what is put onto a far plug, by the word of --far


def setup_sentence(seen: SetUp, ends: Ends) -> str:
    """Return what was read, where faults of the cable would say it wrongly; "" where they say it as it is."""
    lost = "; nothing arrives at the far socket" if seen.said == "tester" else ""
    who = capital(contacts_named(seen.near, (), ends))
    match seen.seen:
        case "joined" | "joining":
            return f"{who} are joined to each other{lost}."
        case "remote":
            return f"What is read at {ends.near} is what {_remote(seen)} shows{lost}."
        case "tester":
            return (
                f"Conductors arrive at the far socket, and the far plug was said not to be in it (--far {seen.said})."
            )
        case "equipment" if seen.said not in ("tester", "open"):
            return f"{who} close in pairs, as through the windings of equipment."
        case "open":
            return _nothing(seen, ends)
        case _:
            return ""


def _nothing(seen: SetUp, ends: Ends) -> str:
    if seen.plugged == (False, True):
        return f"Only the {ends.far} plug shows in the tester."
    if seen.plugged[0] is False:
        return "No cable shows in the tester's near socket."
    if seen.said == "tester":
        return "Nothing arrives at the far socket."
    if seen.said == "equipment":
        return f"No winding of equipment is seen from the {ends.near} end."
    return f"No {FAR_PIECE[seen.said]} is seen from the {ends.near} end."


def setup_question(seen: SetUp, ends: Ends) -> str:
    """Return what to ask and to try, with the caution that belongs to it and what else may be the cause."""
    match seen.seen:
        case "joined":
            return (
                f"Is a joining plug on the {ends.far} plug? Say so and test again (--far joined). "
                f"{NO_JOINING_PLUG_INTO_EQUIPMENT} If there is none, these contacts are shorted: look into both plugs, "
                "else replace the cable."
            )
        case "joining":
            return (
                f"Is a joining plug, a remote or equipment on the {ends.far} plug? Without ohms they look alike: take "
                f"it off and test again. {NO_JOINING_PLUG_INTO_EQUIPMENT} If there is none, these contacts are "
                "shorted: look into both plugs, else replace the cable."
            )
        case "remote":
            return (
                f"Is {_remote(seen)} on the {ends.far} plug? Say so and test again (--far remote). "
                f"{NO_REMOTE_INTO_EQUIPMENT} If there is none, the conductors leak: dry and clean both plugs."
            )
        case "equipment":
            return (
                "Unplug both ends from all equipment, then test again; if the far plug is to stay in equipment, "
                "switch that off and say so (--far equipment)."
            )
        case "tester":
            return (
                f"Test again without saying so, and everything shows; or put the {ends.far} plug where you said it is."
            )
        case "adapter":
            return _adapters(seen)
        case "open":
            return _try_for_nothing(seen, ends)


def _try_for_nothing(seen: SetUp, ends: Ends) -> str:
    if seen.plugged[0] is False:
        hangs = f"; if the {ends.far} plug hangs free, say so (--far open)" if seen.plugged[1] is False else ""
        return f"Push the {ends.near} plug home in the tester and test again{hangs}."
    hangs = f"Does the {ends.far} plug hang free? Say so and test again (--far open)."
    if seen.said == "tester":
        which = "push it home" if seen.plugged == (True, False) else "push both plugs home"
        return f"{hangs} If it is in the tester, {which}. {BROKEN}"
    home = "" if seen.plugged[0] else f" and the {ends.near} plug in the tester"
    if seen.said == "equipment":
        return f"See that the {ends.far} plug is home in the equipment{home}, and test again. {hangs} {BROKEN}"
    piece = FAR_PIECE[seen.said]
    caution = NO_REMOTE_INTO_EQUIPMENT if seen.said == "remote" else NO_JOINING_PLUG_INTO_EQUIPMENT
    return f"Push the {piece} home on the {ends.far} plug{home}, and test again. {hangs} {BROKEN} {caution}"


def _adapters(seen: SetUp) -> str:
    adapter, expect = seen.adapter or "", seen.expect or ""
    plug = pattern(adapter).near_connector.name
    title = connector(plug).short_title
    only = f"only {listed(seen.near)} arrive"
    if seen.expect != seen.adapter:
        ohms = f", with {seen.ohm:.0f} ohm between two of them as terminators make it" if seen.ohm is not None else ""
        options = f"--near-adapter {adapter} --far-adapter {adapter} --expect {expect}"
        return f"Is it a bus with {title} plugs in adapters? {capital(only)}{ohms}: say so and test again ({options})."
    return (
        f"Is an {title} plug in an adapter? {capital(only)}: say so and test again (--near-adapter {adapter} "
        f"--expect {expect}, or --far-adapter at the far end)."
    )


def _remote(seen: SetUp) -> str:
    return f"remote {seen.letter}" if seen.letter else "a remote"
