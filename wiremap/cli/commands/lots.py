"""`wiremap lots`: what the ledgers of lots say."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wiremap.cli import options

if TYPE_CHECKING:
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
    as_json: options.Json = False,
) -> None:
    """Say what the ledgers say: yield, faults by contact, drift, length, rate. Many lots and benches together."""
    _check_targets(save or ())
    folders = _folders(lots)
    found = _summaries(folders, rebuild, as_json)
    if found:
        _show(found, as_json, failed)
        _keep(found, folders, save or (), failed)
    raise typer.Exit(6 if len(found) < len(folders) else 0)


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


def _summaries(folders: Sequence[Path], rebuild: bool, as_json: bool) -> "list[LotSummary]":
    """Return what each ledger says, made again first where that was asked; one that cannot be read is left out."""
    from wiremap.cli.output import error_content, talk, talk_error, write_json
    from wiremap.errors import FileError
    from wiremap.records.lots import ledger
    from wiremap.records.lots.plan import planned_cables
    from wiremap.records.lots.statistics import summarise
    from wiremap.report.lot_rows import brief

    found = []
    for folder in folders:
        try:
            if rebuild:
                talk(f"{folder.name}: {ledger.rebuild(folder)} captures entered again.")
            found.append(summarise(folder / ledger.LEDGER, folder.name, planned_cables(folder)))
        except FileError as error:
            if as_json:
                write_json({"command": "lots", "source": str(folder), **error_content(error)})
            else:
                talk_error(error)
            continue
        if as_json:
            write_json({"command": "lots", "source": str(folder), "lot": folder.name, **brief(found[-1])})
    return found


def _show(found: "Sequence[LotSummary]", as_json: bool, failed: bool) -> None:
    """Show all lots together; failed: the labels that did not pass alone."""
    from wiremap.cli.output import terminal, write, write_json
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
            write("".join(in_one_line(each) + "\n" for each in found) + "\n")
        write(lot_page(whole, terminal()))


def _keep(found: "Sequence[LotSummary]", folders: Sequence[Path], targets: Sequence[Path], failed: bool) -> None:
    """Write the files that were asked for."""
    from wiremap.cli.output import talk
    from wiremap.records.lots.fleet import write_parquet
    from wiremap.records.lots.ledger import LEDGER
    from wiremap.records.lots.statistics import together
    from wiremap.report.print.lot_files import lot_file

    for target in targets:
        if target.suffix == ".parquet":
            lines = write_parquet([folder / LEDGER for folder in folders], target)
            talk(f"{target}: {lines} lines")
        else:
            lot_file(target, found, together(found), failed)
            talk(str(target))
