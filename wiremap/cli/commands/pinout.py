"""`wiremap pinout`: the termination card of a plug."""

from pathlib import Path
from typing import Annotated

import typer

from wiremap.cli import options


def command(
    source: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="A capture or reading of the cable that is to be mended.")
    ] = None,
    expect: options.Expect = None,
    end: Annotated[
        str | None, typer.Option("--end", metavar="near|far", help="Which plug; else the one to mend.")
    ] = None,
    near_order: options.NearOrder = None,
    colours: options.Colours = None,
    near_colours: options.NearColours = None,
    far_colours: options.FarColours = None,
    sound: options.Sound = None,
    closed: options.Closed = None,
    job: options.Job = None,
    save: Annotated[
        list[Path] | None,
        typer.Option("--save", metavar="FILE", help="The card as .png, .pdf or .svg; may be repeated."),
    ] = None,
    as_json: options.Json = False,
) -> None:
    """Show which conductor goes into which contact of a plug; of a tested cable, from which contact it moves."""
    from wiremap.cli.judging import asked
    from wiremap.cli.keeping import job_of
    from wiremap.cli.making import for_pattern, for_repair, side
    from wiremap.cli.output import talk, terminal, write, write_json
    from wiremap.cli.telling import telling
    from wiremap.errors import UsageError
    from wiremap.report.card import to_builtins
    from wiremap.report.terminal.card_page import page

    kinds = [path.suffix.lstrip(".") for path in save or ()]
    for kind in kinds:
        if kind not in ("png", "pdf", "svg"):
            raise UsageError(f"--save: a card cannot be '.{kind}'", "End the file's name in .png, .pdf or .svg.")
    wanted_end = side(end)
    wanted = asked(expect, None, None, near_order, colours, telling(near_colours, far_colours, sound, closed))
    _, called, _ = job_of(job)
    made = for_repair(source, wanted, called, wanted_end) if source else for_pattern(wanted, called, wanted_end)
    if as_json:
        write_json({"command": "pinout", "source": str(source) if source else None, "card": to_builtins(made)})
    else:
        write(page(made, terminal()))
    for path, kind in zip(save or (), kinds, strict=True):
        from wiremap.cli.making import keep_card

        keep_card(made, path, kind)
        talk(f"Card: {path}")
