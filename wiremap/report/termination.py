"""From requirements to a termination card: of a pattern as it should be, or of a cable that is to be mended."""

from msgspec.structs import replace

from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import Pattern, pattern
from wiremap.cable.terminations import Termination, carried, known_as, usual_for
from wiremap.contact import ENDS, End
from wiremap.errors import UsageError
from wiremap.judge.case import Case, JobNames, Requirements
from wiremap.judge.remedy.repair import Step
from wiremap.report.card import Card, card, card_of_moves
from wiremap.report.words.cases import ends_of, what_next
from wiremap.report.words.repair import why_this_plug


def _near_termination(wanted: Requirements, expect: Pattern) -> Termination:
    order = wanted.near_order or usual_for(expect, wanted.colours.names if wanted.colours else None)
    if order is None or order.connector != expect.near_connector:
        raise UsageError(
            f"'{expect.name}': what the near plug holds is not known",
            "Give --near-order with a termination of that plug, by name or as a file.",
        )
    return order


def card_of_pattern(wanted: Requirements, names: JobNames, end: End | None) -> Card:
    """Return the card of a plug as a pattern wants it, the near plug holding the order that was named or is usual.

    end None: the far plug, where there is one. UsageError for a plug that the pattern does not have, and where it is
    not known what the near plug holds.
    """
    expect = wanted.expect or pattern("straight")
    near = _near_termination(wanted, expect)
    colours = wanted.colours or colour_set(near.colours)
    called = {"near": names.near or "near", "far": names.far or "far"}
    which: End = end or ("far" if expect.far_connector else "near")
    if which == "near":
        plug, held = expect.near_connector, near.conductors
    elif expect.far_connector is None:
        raise UsageError(f"'{expect.name}' has one plug only", "Ask for --end near.")
    else:
        plug, held = expect.far_connector, carried(near, expect)
    named = known_as(plug, held)
    joins = " and ".join("-".join(group) for where, group in expect.joins if where == which)
    return card(
        plug,
        colours,
        dict(held),
        end=called[which],
        pattern=expect.name,
        named=named.name if named else None,
        why=f"Join the contacts {joins} with a piece of conductor." if joins else "",
    )


def card_for_repair(case: Case, end: End | None) -> Card:
    """Return the card of the plug that is to be made anew, with the contact each conductor is in now.

    end: only that plug, None = whichever is to be made. As long as somebody must look before anybody knows which,
    it is the usual order of a plug, and says so. UsageError where there is none.
    """
    if case.pattern is None or case.colours is None:
        raise UsageError("what this cable should be is not known", "Say it with --expect.")
    plan = case.advice.repair
    if plan is not None and plan.steps and plan.steps[0].look is not None:
        return _usual_card(case, end or plan.steps[0].look.end)
    steps = sorted((*plan.steps, *plan.instead), key=lambda step: step.if_it_stays) if plan else []
    made = [step for step in steps if step.action == "re-terminate" and (step.order or step.moves)]
    fitting = [step for step in made if end in (None, step.end)]
    if not fitting:
        if not case.diagnosis.findings:
            raise UsageError("nothing is wrong with this cable", "For a card as it is, name --expect and no file.")
        raise UsageError(f"no plug of this cable is to be made anew{f' at {end}' if end else ''}", what_next(case))
    return card_of_step(case, fitting[0])


def card_of_step(case: Case, step: Step) -> Card:
    """Return the card of a step of the plan that makes a plug anew, in the order it has, by moves, or as it is.

    Where the step has neither order nor moves, each conductor goes where it is now, and what hangs loose where a
    contact is empty.
    """
    assert case.pattern is not None
    built, ends = case.advice.as_built, ends_of(case)
    plug = case.pattern.near_connector if step.end == "near" else case.pattern.far_connector
    assert plug is not None
    end_name = ends.near if step.end == "near" else ends.far
    why = why_this_plug(case.advice, step, ends)
    if not step.order:
        return card_of_moves(plug, step.moves, end=end_name, pattern=case.pattern.name, why=why)
    assert case.colours is not None
    now = None
    if built is not None:
        now = dict(built.near_now if step.end == "near" else built.far_now)
        if not built.settled:
            why = f"Likeliest orders only. {what_next(case)}"
    return card(
        plug,
        case.colours,
        dict(step.order),
        end=end_name,
        pattern=case.pattern.name,
        named=step.known_as,
        why=why,
        now=now,
    )


def _usual_card(case: Case, end: End) -> Card:
    """Return what a plug usually holds, where looking comes before making, with the name of what both usually hold."""
    wanted = replace(case.requirements, expect=case.pattern)
    both = {side: card_of_pattern(wanted, case.names, side) for side in ENDS}
    usual = ", ".join(f"{made.end} end {made.named or 'as --end ' + side + ' shows'}" for side, made in both.items())
    why = f"Look first: this is only what is usual. {what_next(case)} Usual: {usual}."
    return replace(both[end], why=why, look_first=True)
