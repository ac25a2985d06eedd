"""`wiremap mend`: a guided repair, from the first test to the proof."""

from pathlib import Path
from typing import Annotated

import typer

from wiremap.cli import options


@options.with_cable_options
def command(
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="A capture, reading or table to begin with; none = test.")
    ] = None,
    tester: options.TesterAddress = None,
    far: options.Far = "tester",
    cells: options.Cells = None,
    talks: options.Talks = None,
    *,
    cable: options.CableOptions,
    bell: options.Bell = False,
    lead: Annotated[
        list[str] | None,
        typer.Option("--lead", metavar="near|far", help="A lead is between the tester and the cable at this end."),
    ] = None,
    by_eye: Annotated[
        bool, typer.Option("--by-eye", help="No tester is there: the colours in the plugs are asked for, one by one.")
    ] = False,
    minutes: Annotated[
        float, typer.Option("--minutes", min=0.01, help="So long the cable is tested while you move it.")
    ] = 0.25,
) -> None:
    """Mend one cable, a step a screen: test, look, answer, make the plug, test again, until it passes.

    Keys: 1-9 answer, 0 I do not know, space done, w work list, u undo, q stop. Stopped or interrupted, the same
    command goes on where it was. With both --near-colours and --far-colours and no tester or file: by eye.
    """
    from wiremap.cli.choices import cells_word, ends_words, far_word
    from wiremap.cli.keyboard import Keyboard
    from wiremap.cli.mending import Start, mend_cable

    start = Start(file, tester, far_word(far), cells_word(cells), talks, ends_words("--lead", lead or ()), by_eye)
    with Keyboard().single_keys() as keyboard:
        raise typer.Exit(mend_cable(start, cable, 60.0 * minutes, bell, keyboard))
