"""`wiremap verify`: is a capture as it was written, who signed it, does its verdict follow from its reading."""

import functools
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any

import typer
from msgspec.structs import replace

from wiremap.cli import options
from wiremap.errors import FileError, ProgramError, WiremapError
from wiremap.records.broken import keeping
from wiremap.records.captures.chain import ChainLink, ChainState, chain
from wiremap.records.captures.check import Checked, capture_files, check
from wiremap.records.lots.held import HeldLot, held, lots_in
from wiremap.records.lots.ledger import LEDGER
from wiremap.report.words.records import verified

CLOCKS_APART = timedelta(hours=1)  # of two machines that are both thought to be right


def command(
    captures: Annotated[list[Path] | None, typer.Argument(metavar="CAPTURE...", help="Captures, or folders.")] = None,
    trust: options.Trust = None,
    require_signature: Annotated[
        bool, typer.Option("--require-signature", help="A capture without the signature of a known key is not sound.")
    ] = False,
    public_key: Annotated[bool, typer.Option("--public-key", help="Print your own public key (PEM) and end.")] = False,
    cores: options.Cores = 1,
    as_json: options.Json = False,
) -> None:
    """Check digest, signature and chain of captures, and judge their readings again."""
    from wiremap.cli.output import (
        EXIT_OF_ERROR,
        error_content,
        exit_code_of_many,
        talk,
        talk_error,
        write,
        write_json,
        write_line,
    )
    from wiremap.errors import UsageError
    from wiremap.records.keys import known_keys, own_key, public_pem, read_public
    from wiremap.report.words import records as wording

    if public_key:
        write(public_pem(own_key().public).decode())
        raise typer.Exit
    if not captures:
        raise UsageError("no capture was given", "Give captures, or folders with captures.")
    known = {read_public(word): Path(word).stem for word in trust} if trust else known_keys()
    paths = [path for given in captures for path in capture_files(given)]
    if not paths:
        raise FileError(f"{captures[0]}: holds no captures", "Captures are files ending in .json.")
    found, errors = _look(paths, known, cores)
    lots = _lots(captures, known, errors)
    for path, error in errors:
        if as_json:
            write_json({"command": "verify", "source": str(path), **error_content(error)})
        else:
            talk_error(error)
    unsound = sum(_said(checked, state, bool(trust) or require_signature, as_json) for checked, state in found)
    lots_unsound = sum(_lot_said(seen, as_json) for seen in lots)
    if len(paths) > 1:
        counts = {"sound": len(found) - unsound, "not_sound": unsound + lots_unsound, "unreadable": len(errors)}
        if as_json:
            write_json({"summary": counts})
        else:
            write_line(wording.verify_summary(counts))
    if not as_json:
        talk(wording.VERIFY_CLAIM)
    codes = {EXIT_OF_ERROR[error.kind] for _, error in errors} | ({3} if unsound + lots_unsound else set())
    raise typer.Exit(exit_code_of_many(codes))


def _said(checked: Checked, state: ChainState, must_be_signed: bool, as_json: bool) -> bool:
    """Say what was found of one capture, and return whether it is not sound."""
    from wiremap.cli.output import UNDER_WORD, write_json, write_line
    from wiremap.report.words.records import verify_line

    soon = datetime.now(UTC) + CLOCKS_APART
    problems, notes = verified(checked, state, must_be_signed, f"{soon:%Y-%m-%dT%H:%M:%SZ}")
    if as_json:
        write_json(_content(checked, state, problems, notes))
    else:
        write_line(verify_line(checked.source, problems, notes), UNDER_WORD)
    return bool(problems)


def _look(
    paths: Sequence[Path], known: Mapping[str, str], cores: int
) -> tuple[list[tuple[Checked, ChainState]], list[tuple[Path, WiremapError]]]:
    """Check every file, and then the chain they make; return what was found, and what could not be read."""
    from wiremap.cli.many import for_each

    found: list[Checked] = []
    errors: list[tuple[Path, WiremapError]] = []
    links = []
    checks = for_each(functools.partial(_checked, known=known), paths, "Verifying", cores)
    for path, (checked, link) in zip(paths, checks, strict=True):
        if isinstance(checked, WiremapError):
            errors.append((path, checked))
            continue
        if link is not None:
            links.append(link)
        found.append(checked)
    states = dict(zip((link.source for link in links), chain(links), strict=True))
    return [(checked, states.get(checked.source, "single")) for checked in found], errors


def _checked(path: Path, known: Mapping[str, str]) -> tuple[Checked | WiremapError, ChainLink | None]:
    """Return what was found of one file, without what is in it, and what the chain needs; or why it cannot be read."""
    from wiremap.records.captures.files import read_bounded

    try:
        with keeping(source=str(path)):
            checked = check(read_bounded(path), str(path), known, path.parent)
    except (FileError, ProgramError) as error:
        return error, None
    return replace(checked, capture=None), checked.link()


def _lots(given: Sequence[Path], known: Mapping[str, str], errors: list[tuple[Path, WiremapError]]) -> list[HeldLot]:
    """Return the lots in the folders given, held against themselves; one that cannot be read joins `errors`."""
    found = []
    for folder in (lot for path in given for lot in lots_in(path)):
        try:
            with keeping(source=str(folder)):
                found.append(held(folder, known))
        except (FileError, ProgramError) as error:
            errors.append((folder, error))
    return found


def _lot_said(seen: HeldLot, as_json: bool) -> bool:
    """Say what was found of a lot where there is anything to say, and return whether it is not sound."""
    from wiremap.cli.output import UNDER_WORD, write_json, write_line
    from wiremap.report.lot_rows import held_rows
    from wiremap.report.words.records import verify_line

    rows = held_rows(seen)
    if not (rows["problems"] or rows["notes"]):
        return False
    source = str(seen.folder / LEDGER)
    if as_json:
        write_json({"command": "verify", "source": source, "sound": not rows["problems"], **rows})
    else:
        write_line(verify_line(source, rows["problems"], rows["notes"]), UNDER_WORD)
    return bool(rows["problems"])


def _content(checked: Checked, state: ChainState, problems: Sequence[str], notes: Sequence[str]) -> dict[str, Any]:
    return {
        "command": "verify",
        "source": checked.source,
        "sound": not problems,
        "origin": checked.origin,
        "digest": checked.digest,
        "digest_holds": checked.digest_holds,
        "signature": checked.signature,
        "key": checked.key,
        "signer": checked.signer,
        "chain": state,
        "verdict": checked.verdict_then,
        "verdict_again": checked.verdict_now,
        "calibration": checked.calibration,
        "judging": checked.judging,
        "own_limits": checked.own_limits,
        "photos": dict(checked.photos),
        "problems": list(problems),
        "notes": list(notes),
    }
