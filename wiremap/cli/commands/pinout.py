"""`wiremap pinout`: the termination card of a plug."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from wiremap.contact import End
    from wiremap.judge.case import JobNames, Requirements
    from wiremap.report.card import Card
    from wiremap.report.print.canvas import FileKind


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
    """Show which conductor goes into which contact of a plug; of a tested cable, from which contact it moves.

    With no file and the colours of both plugs: of the cable as it was seen.
    """
    from wiremap.cli.choices import end_word
    from wiremap.cli.output import talk, terminal, write, write_json
    from wiremap.errors import UsageError
    from wiremap.judge.case import requirements
    from wiremap.judge.remedy.knowledge import statements
    from wiremap.records.captures.keep import job_of
    from wiremap.records.new_file import check_new, write_new_file
    from wiremap.report.card import to_builtins
    from wiremap.report.terminal.card_page import card_page

    kinds = [path.suffix.lstrip(".") for path in save or ()]
    for kind in kinds:
        if kind not in ("png", "pdf", "svg"):
            raise UsageError(f"--save: a card cannot be '.{kind}'", "End the file's name in .png, .pdf or .svg.")
    for path in save or ():
        check_new(path)
    which = end_word(end)
    said_so = statements(near_colours, far_colours, sound, closed)
    wanted = requirements(expect, None, None, near_order, colours, said_so)
    _, names, _ = job_of(job)
    made = _card(source, wanted, names, which)
    if as_json:
        write_json({"command": "pinout", "source": str(source) if source else None, "card": to_builtins(made)})
    else:
        write(card_page(made, terminal()))
    for path, kind in zip(save or (), kinds, strict=True):
        from wiremap.report.print.card_picture import card_picture

        write_new_file(path, card_picture(made, cast("FileKind", kind)))
        talk(f"Card: {path}")


def _card(source: Path | None, wanted: "Requirements", names: "JobNames", end: "End | None") -> "Card":
    """Return the card of the cable in a file, of one whose plugs were both read, or of a pattern as it should be."""
    from wiremap.judge.case import judge_case, read_by_eye
    from wiremap.records.captures.judge_file import judge_file
    from wiremap.report.termination import card_for_repair, card_of_pattern

    if source:
        return card_for_repair(judge_file(source, wanted, None, names), end)
    if wanted.statements.near_colours and wanted.statements.far_colours:
        return card_for_repair(judge_case(read_by_eye(wanted), wanted, names), end)
    return card_of_pattern(wanted, names, end)
