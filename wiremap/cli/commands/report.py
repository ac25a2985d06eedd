"""`wiremap report`: a capture as a sheet, a picture, a label and a page for a phone."""

from pathlib import Path
from typing import Annotated

import typer

from wiremap.cli import options


def command(
    capture: Annotated[Path, typer.Argument(metavar="CAPTURE", help="A capture.")],
    make: Annotated[
        list[str] | None,
        typer.Option("--make", metavar="sheet,picture,label,phone,run", help="What to make; else all."),
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter", help="Size of the sheet.")] = "a4",
    width_mm: Annotated[
        int, typer.Option("--width-mm", min=60, max=400, help="Width of the picture, millimetres.")
    ] = 180,
    save: Annotated[
        Path, typer.Option("--save", metavar="FOLDER", help="The folder to put the files in.", show_default=True)
    ] = Path(),
    as_json: options.Json = False,
) -> None:
    """Make a sheet (PDF), pictures (PNG, SVG), a cable label and a phone page (HTML) of a capture."""
    from wiremap.cli.output import talk, write, write_json
    from wiremap.errors import FileError, UsageError
    from wiremap.records.captures.check import check
    from wiremap.records.captures.files import load, read_bounded
    from wiremap.records.captures.judge_file import judge_file
    from wiremap.records.new_file import check_new, write_new_file
    from wiremap.report.print.bundle import BUNDLE_KINDS, made, names, usual_kinds
    from wiremap.report.print.sheet import PAPERS
    from wiremap.report.proof import Proof
    from wiremap.report.words import records as wording

    kinds = tuple(dict.fromkeys(word for words in make or () for word in words.split(",") if word))
    for kind in kinds:
        if kind not in BUNDLE_KINDS:
            raise UsageError(f"--make {kind}: not known", "Give some of " + ", ".join(BUNDLE_KINDS) + ".")
    if paper not in PAPERS:
        raise UsageError(f"--paper {paper}: not known", "Give one of " + ", ".join(PAPERS) + ".")
    if not save.is_dir():
        raise FileError(f"{save}: no such folder", "Make it first, or give another one with --save.")
    loaded = load(capture)
    if loaded.capture is None:
        raise FileError(f"{capture}: is a reading, not a capture", "Keep a capture with `wiremap test --save`.")
    checked = check(read_bounded(capture), str(capture), {})
    if checked.signature == "wrong" or checked.verdict != "same":
        raise FileError(
            f"{capture}: {'; '.join(wording.verified(checked, 'single', False)[0])}",
            "No sheet is made of it; `wiremap verify` tells more.",
        )
    proof = Proof(judge_file(capture), loaded.capture)
    paths = [save / name for name in names(capture.stem, kinds or usual_kinds(proof))]
    for path in paths:
        check_new(path, "Give another folder with --save.")
    for path in paths:
        write_new_file(path, made(proof, path.name.removeprefix(capture.stem), paper, width_mm))
    if as_json:
        write_json(
            {"command": "report", "source": str(capture), "verdict": checked.verdict_then, "files": [*map(str, paths)]}
        )
    else:
        write("".join(f"{path}\n" for path in paths))
        talk(wording.SEAL_CLAIM)
