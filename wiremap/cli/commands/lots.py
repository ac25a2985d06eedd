"""`wiremap lots`: what the ledgers of lots say."""

from pathlib import Path
from typing import Annotated

import typer

from wiremap.cli import options


def command(
    lots: Annotated[
        list[str] | None,
        typer.Argument(metavar="LOT...", help="Lots by name, or their folders; else all of this bench."),
    ] = None,
    save: Annotated[
        list[Path] | None,
        typer.Option("--save", metavar="FILE", help="A .png, .pdf, .svg, .csv or .parquet of it; may be repeated."),
    ] = None,
    rebuild: Annotated[bool, typer.Option("--rebuild", help="Make the ledgers again from the captures.")] = False,
    as_json: options.Json = False,
) -> None:
    """Say what the ledgers say: yield, faults by contact, drift, length, rate. Many lots and benches together."""
    from wiremap.cli.output import error_content, talk, talk_error, terminal, write, write_json
    from wiremap.errors import FileError, UsageError
    from wiremap.records.lots import ledger
    from wiremap.records.lots.fleet import write_parquet
    from wiremap.records.lots.plan import lot_folder, lots_folder
    from wiremap.records.lots.statistics import summarise, together
    from wiremap.report.lot_rows import brief
    from wiremap.report.print.lot_files import KINDS, lot_file
    from wiremap.report.terminal.lot_page import lot_page
    from wiremap.report.words.lots import in_one_line

    for target in save or ():
        if target.suffix not in (*KINDS, ".parquet"):
            raise UsageError(f"--save {target}: of no kind known", "Give " + ", ".join((*KINDS, ".parquet")) + ".")
        if target.exists():
            raise FileError(f"{target}: is there already", "Remove it, or give another name.")
    if lots:
        folders = [Path(lot) if Path(lot).is_dir() else lot_folder(lot) for lot in lots]
    else:
        folders = sorted(path.parent for path in lots_folder().glob(f"*/{ledger.LEDGER}"))
    if not folders:
        raise UsageError("there is no lot yet", "`wiremap batch LOT` begins one.")
    found, unreadable = [], False
    for folder in folders:
        try:
            if rebuild:
                talk(f"{folder.name}: {ledger.rebuild(folder)} captures entered again.")
            found.append(summarise(folder / ledger.LEDGER, folder.name))
        except FileError as error:
            unreadable = True
            if as_json:
                write_json({"command": "lots", "source": str(folder), **error_content(error)})
            else:
                talk_error(error)
            continue
        if as_json:
            write_json({"command": "lots", "source": str(folder), "lot": folder.name, **brief(found[-1])})
    if found:
        whole = found[0] if len(found) == 1 else together(found)
        if as_json:
            write_json({"summary": {"lots": len(found), **brief(whole)}})
        else:
            if len(found) > 1:
                write("".join(in_one_line(each) + "\n" for each in found) + "\n")
            write(lot_page(whole, terminal()))
        for target in save or ():
            if target.suffix == ".parquet":
                lines = write_parquet([folder / ledger.LEDGER for folder in folders], target)
                talk(f"{target}: {lines} lines")
            else:
                lot_file(target, found, whole)
                talk(str(target))
    raise typer.Exit(6 if unreadable else 0)
