"""From what was asked to a termination card: of a pattern as it should be, or of a cable that is to be mended."""

from pathlib import Path
from typing import cast

from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import Pattern, pattern
from wiremap.cable.terminations import Termination, carried, known_as, usual_for
from wiremap.cli.judging import Asked, Called, judge_file
from wiremap.contact import End
from wiremap.errors import FileError, UsageError
from wiremap.report.card import Card, card
from wiremap.report.case import Case


def side(end: str | None) -> End | None:
    """Return the end that was asked for; UsageError for a word that is none."""
    if end not in (None, "near", "far"):
        raise UsageError(f"--end {end}: not known", "Give near or far.")
    return cast(End | None, end)


def _near_termination(wanted: Asked, expect: Pattern) -> Termination:
    order = wanted.near_order or usual_for(expect, wanted.colours.names if wanted.colours else None)
    if order is None or order.connector != expect.near_connector:
        raise UsageError(
            f"'{expect.name}': what the near plug holds is not known",
            "Give --near-order with a termination of that plug, by name or as a file.",
        )
    return order


def for_pattern(wanted: Asked, called: Called, end: End | None) -> Card:
    """Return the card of a plug as a pattern wants it, the near plug holding the order that was told or is usual."""
    expect = wanted.expect or pattern("straight")
    near = _near_termination(wanted, expect)
    colours = wanted.colours or colour_set(near.colours)
    names = {"near": called.near or "near", "far": called.far or "far"}
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
        end=names[which],
        other_end=names["far" if which == "near" else "near"],
        pattern=expect.name,
        named=named.name if named else None,
        why=f"Join the contacts {joins} with a piece of conductor." if joins else "",
    )


def for_repair(path: Path, wanted: Asked, called: Called, end: End | None) -> Card:
    """Return the card of the plug that is to be made anew, with the contact each conductor is in now."""
    return card_of(judge_file(path, wanted, None, called), str(path), end)


def card_of(case: Case, source: str, end: End | None) -> Card:
    """Return the card for a cable that was judged; source: what it is called where there is nothing to make anew."""
    from wiremap.report.words.repair import which_end

    if case.pattern is None or case.colours is None or case.advice is None:
        raise FileError(f"{source}: what this cable should be is not known", "Say it with --expect.")
    plan = case.advice.repair
    steps = (*plan.steps, *plan.instead) if plan else ()
    made = [step for step in steps if step.action == "re-terminate" and step.order]
    fitting = [step for step in made if end in (None, step.end)]
    if not fitting:
        if not case.diagnosis.findings:
            raise UsageError(
                f"{source}: nothing is wrong with this cable", "For a card as it is, name --expect and no file."
            )
        said = case.next_step()
        raise UsageError(f"{source}: no plug of this cable is to be made anew{f' at {end}' if end else ''}", said)
    step, built = fitting[0], case.advice.as_built
    plug = case.pattern.near_connector if step.end == "near" else case.pattern.far_connector
    assert plug is not None
    now = None
    if built is not None:
        orders = built.near_orders if step.end == "near" else built.far_orders
        now = dict(orders[0].conductors)
    why = which_end(built, case.ends) if built is not None else ""
    if built is not None and not built.settled:
        why = "Likeliest orders only: look first. " + case.next_step()
    return card(
        plug,
        case.colours,
        dict(step.order),
        end=case.ends.near if step.end == "near" else case.ends.far,
        other_end=case.ends.far if step.end == "near" else case.ends.near,
        pattern=case.pattern.name,
        named=step.known_as,
        why=why,
        now=now,
    )


def keep_card(made: Card, path: Path, kind: str) -> None:
    """Write the card's picture; FileError when the file is there already or cannot be written."""
    from wiremap.records.new_file import write_new
    from wiremap.report.print.canvas import Kind
    from wiremap.report.print.card_picture import card_picture

    try:
        write_new(path, card_picture(made, cast(Kind, kind)))
    except FileExistsError as error:
        raise FileError(f"{path}: is there already", "Remove it, or give another name.") from error
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror})", "Give a folder you may write.") from error
