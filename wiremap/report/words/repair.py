"""Which end, what is in it, what to crimp instead: the sentences and tables of advice."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wiremap.cable.colours import ColourSet
from wiremap.lines import in_lines
from wiremap.report.words.faults import Ends, capital, listed

if TYPE_CHECKING:  # words for what was judged need none of the judging
    from wiremap.judge.plugs.found import AsBuilt, LikelyOrder, Look
    from wiremap.judge.remedy.advice import Advice
    from wiremap.judge.remedy.repair import Repair, Step
    from wiremap.judge.wiring.far_end import Loop
    from wiremap.judge.wiring.remote import RemoteSeen

ALIKE = 0.1  # ends whose chances differ by less are said to be as likely


def chance_percent(chance: float) -> str:
    """Return a chance as it is said: never 0 % or 100 %, which evidence does not give."""
    return "over 99 %" if chance > 0.99 else "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def _end(side: str | None, ends: Ends) -> str:
    return f"the {ends.near if side == 'near' else ends.far} end"


def which_end(built: "AsBuilt", ends: Ends) -> str:
    """Return which end is wrong, and how surely."""
    if built.wrong_end == "both":
        chances = f"{ends.near} {chance_percent(built.near_at_fault)}, {ends.far} {chance_percent(built.far_at_fault)}"
        return f"Both ends are likely wrong ({chances})."
    if built.wrong_end == "near":
        return f"The {ends.near} end is wrong ({chance_percent(built.near_at_fault)})."
    if built.wrong_end == "far":
        return f"The {ends.far} end is wrong ({chance_percent(built.far_at_fault)})."
    near, far = built.near_at_fault, built.far_at_fault
    if abs(near - far) < ALIKE:
        return "It can be either end until somebody looks."
    likelier, less = ((ends.near, near), (ends.far, far)) if near > far else ((ends.far, far), (ends.near, near))
    return (
        f"Likelier it is the {likelier[0]} end ({chance_percent(likelier[1])}, {less[0]} {chance_percent(less[1])}) "
        "until somebody looks."
    )


def why_this_plug(advice: "Advice", step: "Step", ends: Ends) -> str:
    """Return which end is wrong, and where it is likelier the other one why this plug may be made all the same."""
    built, plan = advice.as_built, advice.repair
    if built is None:
        return ""
    mine, other = built.near_at_fault, built.far_at_fault
    if step.end == "far":
        mine, other = other, mine
    steps = plan.steps if plan is not None else ()
    made = [one for one in steps if one.action == "re-terminate" and not one.if_it_stays]
    would_do = step.order and step.why in ("order", "wrong-kind") and len(made) == 1 and not step.if_it_stays
    if not would_do or other - mine < ALIKE:
        return which_end(built, ends)
    said = which_end(built, ends)
    return f"{said} Either plug would do: made so, {_end(step.end, ends)} fits the other as that is."


def look_at(look: "Look", ends: Ends) -> str:
    """Return where to look next."""
    option = "near" if look.end == "near" else "far"
    return (
        f"Look at contact {look.contact} of {_end(look.end, ends)}: its colour decides most "
        f"(--{option}-colours {look.contact}=COLOUR, or all of them)."
    )


def _made(step: "Step", ends: Ends) -> str:
    text = f"re-terminate {_end(step.end, ends)}"
    if step.known_as:
        text += f" as {step.known_as}"
    if step.changes:
        some = "contact" if len(step.changes) == 1 else "contacts"
        text += f" ({some} {listed(step.changes)} change{'s' if len(step.changes) == 1 else ''})"
    elif step.order and step.why not in ("plug", "plug-unknown"):
        text += " in the same order"
    return text


def _instead(step: "Step", ends: Ends) -> str:
    if step.known_as or not step.order or not step.changes:
        return _made(step, ends)
    moved = f" (contacts {listed(step.changes)})" if step.changes else ""
    return f"make {_end(step.end, ends)} match it, in no standard order{moved}"


def step_sentence(step: "Step", ends: Ends) -> str:
    """Return one step of a repair as a sentence."""
    match step.action:
        case "look":
            return look_at(step.look, ends) if step.look else ""
        case "find":
            return "See in which plug it is, and re-terminate that one."
        case "clean":
            where = _end(step.end, ends) if step.end else "both plugs"
            return f"Clean and dry {where}, then test again."
        case "open-joint":
            return f"Open the joint {step.place} and look at its order first."
        case "replace":
            return REPLACE.get(step.why, "Replace the cable.")
        case _:
            return capital(_made(step, ends)) + "."


REPLACE = {
    "too-few": "Replace the cable: it has fewer conductors than are wanted.",
    "run": "Replace the cable: re-terminating cannot mend a fault between its ends.",
    "wet": "Replace the cable: re-terminating does not dry it.",
    "metal": "Replace the cable: re-terminating does not change its conductors.",
    "plug-unknown": "Replace the cable.",
    "plug": "Replace the cable.",
    "surface": "Replace the cable.",
}


def plan(repair: "Repair", ends: Ends) -> tuple[str, ...]:
    """Return the steps of a repair as sentences."""
    said = [("If it stays: " if step.if_it_stays else "") + step_sentence(step, ends) for step in repair.steps]
    first = next((number for number, step in enumerate(repair.steps) if step.action == "re-terminate"), None)
    if first is not None and repair.instead:
        if any(step.known_as for step in repair.instead):
            said[first] = capital(_instead(repair.steps[first], ends)) + "."
        others = " or ".join(_instead(step, ends) for step in repair.instead)
        said[first] = said[first].rstrip(".") + f"; or {others}."
    return tuple(said)


def next_of(advice: "Advice", ends: Ends, find: str = "", other_kind: tuple[str, int] | None = None) -> str | None:
    """Return what to do now in one or two sentences; None where advice has nothing to add.

    find: the sentence that says how to see in which plug a fault is. other_kind: the pattern that the cable is, and
    how many conductors it has.
    """
    if advice.repair is None or not advice.repair.steps:
        return None
    steps = advice.repair.steps
    use = ""
    if other_kind is not None:
        use = f"Use it where {other_kind[0]} is wanted"
        if steps[0].why == "too-few":
            return f"{use}, or replace it: it has {other_kind[1]} conductors."
        use += "; else "
    said = plan(advice.repair, ends)
    built = advice.as_built
    wrong = any(step.why in ("order", "split") for step in steps)
    now = [text for text, step in zip(said, steps, strict=True) if not step.if_it_stays]
    if steps[0].action == "look":
        now = [said[0]]
    elif find and any(step.action == "find" for step in steps):
        now = [find]
    if use:
        return use + " ".join(now)[:1].lower() + " ".join(now)[1:]
    lead = [which_end(built, ends)] if built is not None and wrong else []
    return " ".join([*lead, *now])


def as_built_lines(advice: "Advice", ends: Ends, colours: ColourSet, width: int = 80) -> list[str]:
    """Return what the plugs hold, likeliest first, as lines; nothing where that is not known."""
    built = advice.as_built
    if built is None:
        return []
    widest = 1 + max(len(ends.near), len(ends.far))
    lines = ["In the plugs now, likeliest first:" if not built.settled else "In the plugs now:"]
    for name, orders in ((ends.near, built.near_orders), (ends.far, built.far_orders)):
        for number, order in enumerate(orders[: 1 if built.settled else 3]):
            head = f"{name}:" if number == 0 else ""
            text = f"{head:<{widest}}  {chance_percent(order.probability):>9}  {described(order, colours, ends)}"
            lines += in_lines(text, width, then=" " * (widest + 13))
    return lines


def described(order: "LikelyOrder", colours: ColourSet, ends: Ends) -> str:
    """Return an order in words: its name, or the nearest one and what is otherwise."""
    if order.known_as:
        return order.known_as
    held = dict(order.conductors)
    parts = [
        f"{contact} {colours.colour(name).looks if (name := held[contact]) else 'empty'}" for contact in order.differs
    ]
    if order.carried:
        return f"right for {order.like} at {ends.near}" + (f" but {', '.join(parts)}" if parts else "")
    return f"as {order.like} but {', '.join(parts)}"


def remote_line(seen: "RemoteSeen", places: Sequence[tuple[str, str]] = ()) -> str:
    """Return which remote is there, and how sure the mapping is; places: (letter, where the user put it)."""
    put = dict(places)
    if seen.certainty == "exact" and seen.letter:
        where = f", {put[seen.letter]}" if seen.letter in put else ""
        return f"Remote {seen.letter}{where}: the mapping is exact."
    if seen.why == "two-conductors":
        return "A remote, which one cannot be told: only two conductors get through, likely the right ones."
    if seen.why == "ambiguous":
        which = f"Remote {seen.letter}" if seen.letter else "A remote"
        several = [net for net in seen.nets if not net.known]
        contacts = listed([contact for net in several for contact in net.near])
        return f"{which}: where contact {contacts} goes can be read in more than one way."
    if seen.why == "no-remote":
        return "What is at the far end is not one of the remotes."
    return "Fewer than two conductors get through to a remote."


def loop_lines(loops: "Sequence[Loop]") -> list[str]:
    """Return the loops of the pairs, one a line."""
    lines = []
    for loop in loops:
        name = f"pair {'-'.join(loop.pair)}"
        if loop.ohm is None:
            lines.append(f"  {name}: open")
        else:
            more = "" if loop.unbalance is None else f", unbalance {100 * loop.unbalance:.1f} % of (Rmax + Rmin)"
            lines.append(f"  {name}: loop {loop.ohm:.2f} ohm{more}")
    return lines
