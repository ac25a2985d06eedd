"""Ledgers of many benches in one table, by an engine made for it: DuckDB, the extra `fleet`, reads and writes."""

import contextlib
import re
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec

from wiremap.errors import FileError, UsageError, spelled_out
from wiremap.files import read_at_most
from wiremap.records.lots.ledger_entry import HINT, LARGEST_LEDGER_BYTES
from wiremap.records.new_file import as_file_error, check_new, written_beside

LEDGER_COLUMNS = {
    "format": "INTEGER",
    "kind": "VARCHAR",
    "number": "BIGINT",
    "made_utc": "VARCHAR",
    "label": "VARCHAR",
    "before": "VARCHAR",
    "of": "BIGINT",
    "verdict": "VARCHAR",
    "faults": 'STRUCT(fault VARCHAR, near VARCHAR[], far VARCHAR[], "end" VARCHAR)[]',
    "capture": "VARCHAR",
    "file": "VARCHAR",
    "tester": "VARCHAR",
    "insertion": "BIGINT",
    "reference_due": "BIGINT",
    "contact_ohm": "DOUBLE",
    "length_m": "DOUBLE",
    "text": "VARCHAR",
}


def write_parquet(ledgers: Sequence[Path], target: Path) -> int:
    """Write every line of these ledgers as one Parquet file, with the ledger it came from; return their number.

    Each column is one key of a ledger line, a key that a line does not have is NULL, made_utc a timestamp. What a
    screen would obey in a text is spelled out.
    """
    _duckdb()
    check_new(target)
    with TemporaryDirectory() as folder:
        return _put_together([_shown(path, Path(folder)) for path in ledgers], target)


def _shown(ledger: Path, folder: Path) -> tuple[Path, str]:
    """Return a ledger that holds nothing a screen would obey, and what it is called: a copy where it holds such texts.

    What is no JSON stays as it is, for the engine to refuse.
    """
    content, called = read_at_most(ledger, LARGEST_LEDGER_BYTES, HINT), spelled_out(str(ledger), lines=False)
    if content.isascii() and b"\\" not in content and called == str(ledger):
        return ledger, called
    copy = folder / f"{len(list(folder.iterdir()))}.jsonl"
    with contextlib.suppress(ValueError, RecursionError):
        content = b"".join(
            msgspec.json.encode(_spelled_out(msgspec.json.decode(line))) + b"\n"
            for line in content.removesuffix(b"\n").split(b"\n")
        )
    copy.write_bytes(content)
    return copy, called


def _spelled_out(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _spelled_out(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_spelled_out(part) for part in value]
    return spelled_out(value, lines=False) if isinstance(value, str) else value


def _put_together(ledgers: Sequence[tuple[Path, str]], target: Path) -> int:
    """Write the ledgers, each with what it is called, as one Parquet file; return the number of lines."""
    duckdb = _duckdb()
    columns = ", ".join(f"{_text(name)}: {_text(kind)}" for name, kind in LEDGER_COLUMNS.items())
    files = ", ".join(_text(_no_glob(str(path))) for path, _ in ledgers)
    called = " ".join(f"WHEN {_text(str(path))} THEN {_text(name)}" for path, name in ledgers)
    chosen = ", ".join(f'"{name}"' for name in LEDGER_COLUMNS if name != "made_utc")
    try:
        with as_file_error(target), written_beside(target) as part, duckdb.connect() as engine:
            engine.execute("SET enable_progress_bar = false")
            engine.execute(
                f"COPY (SELECT CASE filename {called} END AS ledger, "
                f"strptime(made_utc, '%Y-%m-%dT%H:%M:%SZ') AS made_utc, {chosen} "
                f"FROM read_json([{files}], format = 'newline_delimited', filename = true, columns = {{{columns}}})) "
                f"TO {_text(str(part))} (FORMAT parquet)"
            )
            (count,) = engine.execute(f"SELECT count(*) FROM read_parquet({_text(_no_glob(str(part)))})").fetchone()
    except duckdb.Error as error:
        raise FileError(
            f"{target}: the ledgers could not be put together ({str(error).splitlines()[0]})",
            "Check each lot with `wiremap lots LOT`, which names the line that is wrong.",
        ) from error
    return int(count)


def _no_glob(path: str) -> str:
    """Return a path that means this file alone where the engine takes *, ? and [ for patterns."""
    return re.sub(r"[*?\[]", r"[\g<0>]", path)


def _text(value: str) -> str:
    """Return a text as SQL has it."""
    return "'" + value.replace("'", "''") + "'"


def _duckdb() -> Any:
    try:
        import duckdb
    except ImportError as error:
        raise UsageError(
            "Parquet needs DuckDB, which is not installed", "Install it with: pip install 'wiremap[fleet]'"
        ) from error
    return duckdb
