"""`wiremap report`: captures as sheets, pictures, labels and pages for a phone, each in a folder of its own."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec import Struct

from wiremap.cli import options

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wiremap.records.captures.capture import Capture
    from wiremap.report.print.sheet import Paper
    from wiremap.report.proof import Proof


def command(
    captures: Annotated[list[Path], typer.Argument(metavar="CAPTURE...", help="Captures.")],
    make: Annotated[
        list[str] | None,
        typer.Option("--make", metavar="sheet,picture,label,phone,run", help="What to make; else all."),
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter", help="Size of the sheet.")] = "a4",
    width_mm: Annotated[
        int, typer.Option("--width-mm", min=60, max=400, help="Width of the picture, millimetres.")
    ] = 180,
    save: Annotated[
        Path | None,
        typer.Option(
            "--save", metavar="FOLDER", help="The folder for the files, made if need be; else one named as the capture."
        ),
    ] = None,
    as_json: options.Json = False,
) -> None:
    """Make a sheet (PDF), pictures (PNG, SVG), a cable label and a phone page (HTML) of each capture."""
    from wiremap.cli.output import EXIT_OF_ERROR, error_content, exit_code_of_many, talk, talk_error, write, write_json
    from wiremap.errors import FileError, ProgramError, UsageError, spelled_out
    from wiremap.records.broken import keeping
    from wiremap.report.print.sheet import PAPERS
    from wiremap.report.words.records import SEAL_CLAIM

    kinds = _kinds(make or ())
    size = next((known for known in PAPERS if known == paper), None)
    if size is None:
        raise UsageError(f"--paper {paper}: not known", "Give one of " + ", ".join(PAPERS) + ".")
    codes: set[int] = set()
    counts = {"made": 0, "unreadable": 0, "broken": 0}
    for capture in captures:
        try:
            with keeping(source=str(capture)):
                planned = _planned(capture, kinds, save)
                _make(planned, size, width_mm)
        except (FileError, ProgramError) as error:
            if len(captures) == 1:
                raise
            counts["unreadable" if isinstance(error, FileError) else "broken"] += 1
            codes.add(EXIT_OF_ERROR[error.kind])
            if as_json:
                write_json({"command": "report", "source": str(capture), **error_content(error)})
            else:
                talk_error(error)
            continue
        counts["made"] += 1
        if as_json:
            write_json(planned.content())
        else:
            write("".join(f"{spelled_out(str(path), lines=False)}\n" for path in planned.paths))
    if as_json and len(captures) > 1:
        write_json({"summary": counts})
    if not as_json and counts["made"]:
        talk(SEAL_CLAIM)
    raise typer.Exit(exit_code_of_many(codes))


def _kinds(make: "Sequence[str]") -> tuple[str, ...]:
    """Return the kinds that --make names, each once; UsageError for one that is none."""
    from wiremap.errors import UsageError
    from wiremap.report.print.bundle import BUNDLE_KINDS

    kinds = tuple(dict.fromkeys(word for words in make for word in words.split(",") if word))
    for kind in kinds:
        if kind not in BUNDLE_KINDS:
            raise UsageError(f"--make {kind}: not known", "Give some of " + ", ".join(BUNDLE_KINDS) + ".")
    return kinds


class _Planned(Struct, frozen=True):
    """What is to be made of a capture. endings: of the files in the folder, each beginning with the capture's name."""

    capture: Path
    proof: "Proof"
    verdict: str | None
    folder: Path
    endings: tuple[str, ...]

    @property
    def paths(self) -> list[Path]:
        return [self.folder / f"{self.capture.stem}{ending}" for ending in self.endings]

    def content(self) -> dict[str, Any]:
        """Return it as an object of JSON."""
        files = [str(path) for path in self.paths]
        return {"command": "report", "source": str(self.capture), "verdict": self.verdict, "files": files}


def _planned(capture: Path, kinds: "Sequence[str]", save: Path | None) -> _Planned:
    """Look at a capture and where its files go; FileError where it is not sound or something is in the way."""
    from wiremap.errors import FileError
    from wiremap.records.captures.check import check
    from wiremap.records.captures.files import load, read_bounded
    from wiremap.records.captures.judge_file import judge_file
    from wiremap.records.new_file import check_folder_to_make, check_new
    from wiremap.report.print.bundle import names, usual_kinds
    from wiremap.report.proof import Proof
    from wiremap.report.words import records as wording

    loaded = load(capture)
    if loaded.capture is None:
        raise FileError(f"{capture}: is a reading, not a capture", "Keep a capture with `wiremap test --save`.")
    checked = check(read_bounded(capture), str(capture), {})
    if checked.signature == "wrong" or checked.verdict != "same":
        raise FileError(
            f"{capture}: {'; '.join(wording.verified(checked, 'single', False)[0])}",
            "No sheet is made of it; `wiremap verify` tells more.",
        )
    proof = Proof(judge_file(capture), loaded.capture, *_followed(capture, loaded.capture))
    folder = save if save is not None else Path(capture.stem)
    check_folder_to_make(folder, "Give another folder with --save.")
    endings = tuple(names("", kinds or usual_kinds(proof)))
    planned = _Planned(capture, proof, checked.verdict_then, folder, endings)
    for path in planned.paths if folder.is_dir() else ():
        check_new(path, "Give another folder with --save.")
    return planned


def _followed(capture: Path, of: "Capture") -> "tuple[Proof | None, bool | None]":
    """Return the capture of the test before, and whether the record only adds to that of its own test.

    Each None where what it follows does not lie, sound, in the same folder. A record that adds is looked through: the
    test before is that of what it adds to.
    """
    from wiremap.records.captures.judge_file import judge_file
    from wiremap.report.proof import Proof

    adds: bool | None = None
    digest, seen = of.record.follows, {of.digest}
    while digest is not None and digest not in seen:
        seen.add(digest)
        path, found = _sound(capture.parent, digest)
        if path is None or found is None:
            break
        is_same = found.reading == of.reading
        adds = is_same if adds is None else adds
        if not is_same:
            return Proof(judge_file(path), found), adds
        digest = found.record.follows
    return None, adds


def _sound(folder: Path, digest: str) -> "tuple[Path | None, Capture | None]":
    """Return the capture of this digest in a folder, None where there is none that is sound."""
    from wiremap.errors import FileError
    from wiremap.records.captures.files import load

    for path in sorted(folder.glob("*.json")):
        try:
            found = load(path).capture
        except FileError:
            continue  # another file, which this sheet is not made of
        if found is not None and found.digest == digest:
            return path, found
    return None, None


def _make(planned: _Planned, paper: "Paper", width_mm: float) -> None:
    """Draw all files, and write them: all or none."""
    from wiremap.records.new_file import write_new_files
    from wiremap.report.print.bundle import made

    drawn = [made(planned.proof, ending, paper, width_mm) for ending in planned.endings]
    write_new_files(planned.folder, dict(zip([path.name for path in planned.paths], drawn, strict=True)))
