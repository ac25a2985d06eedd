"""The command run in this process, or as a process of its own as a user would."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from typer.testing import CliRunner

from wiremap.cli.app import COMMANDS, build
from wiremap.cli.output import EXIT_OF_ERROR


class Ran(NamedTuple):
    """What a run gave."""

    code: int
    out: str
    err: str

    def objects(self) -> list[dict[str, Any]]:
        """Return stdout as JSON objects, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


def run(*words: str, typed: bytes = b"") -> Ran:
    """Run the command in this process; typed: what stands on standard input. A fault of the program fails the test."""
    ran = run_whatever(*words, typed=typed)
    assert ran.code != EXIT_OF_ERROR["program"], ran.err
    return ran


def run_whatever(*words: str, typed: bytes = b"") -> Ran:
    """Run the command in this process as `run` does; it may say that the program itself failed."""
    asked = [words[0]] if words and words[0] in COMMANDS else list(COMMANDS)
    result = CliRunner().invoke(build(asked), list(words), prog_name="wiremap", input=typed)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Ran(result.exit_code, result.stdout, result.stderr)


def process(
    *words: str, folder: Path | None = None, environment: Mapping[str, str] | None = None, typed: str = ""
) -> Ran:
    """Run the command as a process of its own; typed: what stands on its standard input."""
    done = subprocess.run(
        [sys.executable, "-m", "wiremap", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), **(environment or {})},
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)
