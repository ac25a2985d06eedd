"""`wiremap commission`: the first measurements of a board just soldered, a step a screen, and the record of them."""

from typing import Annotated

import typer

from wiremap.cli import options

Board = Annotated[
    str | None,
    typer.Option(
        "--board",
        metavar="bench|bare-clamped|bare",
        help="What was soldered; a bench board says so itself once it runs.",
    ),
]
Anew = Annotated[bool, typer.Option("--anew", help="Begin with the first step, and drop what was found so far.")]


def command(
    tester: options.TesterAddress = None,
    board: Board = None,
    anew: Anew = False,
    bell: options.Bell = False,
    as_json: options.Json = False,
) -> None:
    """Prove a board that was just soldered: measure, type or let the tester measure, each step held to its limits.

    Keys: a number and Enter, n not measured, u undo, q stop; stopped or interrupted, the same command goes on where it
    was. A tester that fails is refused by every other command until it was repaired and went through this again.
    """
    from wiremap.cli.commands.tester.commissioning import commission_board
    from wiremap.cli.keyboard import Keyboard

    with Keyboard().single_keys() as keyboard:
        raise typer.Exit(commission_board(tester, board, anew, bell, as_json, keyboard))
