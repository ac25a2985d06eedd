"""`wiremap lots`: what the ledgers of lots say."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from wiremap.records.lots.held import HeldLot
    from wiremap.records.lots.statistics import LotSummary


def command(
    lots: Annotated[
        list[str] | None,
        typer.Argument(metavar="LOT...", help="Lots by name, or their folders; else all of this bench."),
    ] = None,
    save: Annotated[
        list[Path] | None,
        typer.Option("--save", metavar="FILE", help="A .png, .pdf, .svg, .csv or .parquet of it; may be repeated."),
    ] = None,
    failed: Annotated[
        bool, typer.Option("--failed", help="The labels that did not pass, all of them; in a .csv a row each.")
    ] = False,
    rebuild: Annotated[bool, typer.Option("--rebuild", help="Make the ledgers again from the captures.")] = False,
    close: Annotated[
        bool, typer.Option("--close", help="Sign the lot's end, so that a tail cut off later shows.")
    ] = False,
    key: options.Key = None,
    as_json: options.Json = False,
) -> None:
    """Say what the ledgers say, held against their captures: yield, faults by contact, drift, length, rate."""
    from wiremap.cli.output import exit_code_of_many
    from wiremap.errors import UsageError

    _check_targets(save or ())
    if close and not lots:
        raise UsageError("no lot was named to be closed", "Name it: wiremap lots --close LOT")
    folders = _folders(lots)
    found, codes = _summaries(folders, rebuild, close, key, as_json)
    if found:
        _show(found, as_json, failed)
        _keep(found, folders, save or (), failed)
    raise typer.Exit(exit_code_of_many(codes))


def _check_targets(targets: Sequence[Path]) -> None:
    """Refuse a file of no kind known, or that is there already, before anything is read."""
    from wiremap.errors import UsageError
    from wiremap.records.new_file import check_new
    from wiremap.report.print.lot_files import LOT_FILE_KINDS

    for target in targets:
        if target.suffix not in (*LOT_FILE_KINDS, ".parquet"):
            raise UsageError(
                f"--save {target}: of no kind known", "Give " + ", ".join((*LOT_FILE_KINDS, ".parquet")) + "."
            )
        check_new(target)


def _folders(lots: Sequence[str] | None) -> list[Path]:
    """Return the folders of the lots that were named, or of all of this bench; UsageError where there is none."""
    from wiremap.errors import UsageError
    from wiremap.records.lots.ledger import LEDGER
    from wiremap.records.lots.plan import lot_folder, lots_folder

    if lots:
        return [Path(lot) if Path(lot).is_dir() else lot_folder(lot) for lot in lots]
    folders = sorted(path.parent for path in lots_folder().glob(f"*/{LEDGER}"))
    if not folders:
        raise UsageError("there is no lot yet", "`wiremap batch LOT` begins one.")
    return folders


def _summaries(
    folders: Sequence[Path], rebuild: bool, close: bool, key: str | None, as_json: bool
) -> "tuple[list[LotSummary], set[int]]":
    """Return what each ledger says, and the exit codes; where one and its captures differ, it is said at once.

    A ledger is made again first, or the lot closed after, where that was asked. One that cannot be read is left out.
    """
    from wiremap.cli.output import EXIT_OF_ERROR, error_content, talk, talk_error, write_json
    from wiremap.errors import FileError, ProgramError
    from wiremap.records.broken import keeping
    from wiremap.records.lots import ledger
    from wiremap.records.lots.held import held
    from wiremap.records.lots.plan import planned_cables
    from wiremap.records.lots.statistics import summarise
    from wiremap.report.lot_rows import brief, held_rows
    from wiremap.report.words.faults import how_many

    found: list[LotSummary] = []
    codes: set[int] = set()
    for folder in folders:
        try:
            with keeping(source=str(folder)):
                if rebuild:
                    talk(f"{folder.name}: {how_many(ledger.rebuild(folder), 'capture')} entered again.")
                ledger.check_lot(folder)
                summary = summarise(folder / ledger.LEDGER, folder.name, planned_cables(folder))
                seen = held(folder)
                if close:
                    seen = _closed(seen, key)
        except (FileError, ProgramError) as error:
            codes.add(EXIT_OF_ERROR[error.kind])
            if as_json:
                write_json({"command": "lots", "source": str(folder), **error_content(error)})
            else:
                talk_error(error)
            continue
        found.append(summary)
        rows = held_rows(seen)
        codes.add(3 if rows["problems"] else 0)
        if as_json:
            write_json({"command": "lots", "source": str(folder), "lot": folder.name, **brief(summary), **rows})
        else:
            _say_held(folder.name, rows)
    return found, codes


def _say_held(lot: str, rows: Mapping[str, Sequence[str]]) -> None:
    """Say what is wrong with a lot, or what its ends say, before any figure of it."""
    from wiremap.cli.output import write_line

    for problem in rows["problems"]:
        write_line(f"{lot}: NOT SOUND: {problem}", 2)
    for note in rows["notes"]:
        write_line(f"{lot}: {note}", 2)


def _closed(seen: "HeldLot", key: str | None) -> "HeldLot":
    """Sign the end of a lot that is sound, and return it with that end; FileError where it is not."""
    from datetime import UTC, datetime

    from wiremap.cli.output import talk
    from wiremap.errors import FileError
    from wiremap.files import read_at_most
    from wiremap.records.captures.seal import digest
    from wiremap.records.keys import choose_key
    from wiremap.records.lots.ends import HINT, LARGEST_BYTES, close
    from wiremap.records.lots.held import held
    from wiremap.records.lots.ledger import locked
    from wiremap.report.lot_rows import held_rows
    from wiremap.report.words.lots import CLOSE_CLAIM
    from wiremap.version import SOFTWARE

    if problems := held_rows(seen)["problems"]:
        raise FileError(
            f"{seen.folder}: is not sound and was not closed: {problems[0]}", "`wiremap lots LOT` says what differs."
        )
    with locked(seen.folder):
        path = close(seen.folder, seen.entries, choose_key(key), f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}", SOFTWARE)
    talk(CLOSE_CLAIM.format(digits=digest(read_at_most(path, LARGEST_BYTES, HINT).partition(b"\n")[0] + b"\n")[7:23]))
    return held(seen.folder)


def _show(found: "Sequence[LotSummary]", as_json: bool, failed: bool) -> None:
    """Show all lots together; failed: the labels that did not pass alone."""
    from wiremap.cli.output import terminal, write, write_json, write_line
    from wiremap.records.lots.statistics import together
    from wiremap.report.lot_rows import brief
    from wiremap.report.terminal.lot_page import failed_labels_page, lot_page
    from wiremap.report.words.lots import in_one_line

    whole = together(found)
    if as_json:
        write_json({"summary": {"lots": len(found), **brief(whole)}})
    elif failed:
        write(failed_labels_page(whole, terminal()))
    else:
        if len(found) > 1:
            for each in found:
                write_line(in_one_line(each), 2)
            write_line("")
        write(lot_page(whole, terminal()))


def _keep(found: "Sequence[LotSummary]", folders: Sequence[Path], targets: Sequence[Path], failed: bool) -> None:
    """Write the files that were asked for."""
    from wiremap.cli.output import talk
    from wiremap.records.lots.fleet import write_parquet
    from wiremap.records.lots.ledger import LEDGER
    from wiremap.records.lots.statistics import together
    from wiremap.report.print.lot_files import lot_file
    from wiremap.report.words.faults import how_many

    for target in targets:
        if target.suffix == ".parquet":
            lines = write_parquet([folder / LEDGER for folder in folders], target)
            talk(f"{target}: {how_many(lines, 'line')}")
        else:
            lot_file(target, found, together(found), failed)
            talk(str(target))
