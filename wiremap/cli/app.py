"""The command line: which commands there are, and what becomes of errors. Commands load when they are asked for."""

import functools
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from wiremap.errors import WiremapError, spelled_out

READER_GONE = 141  # what shells say of a program that wrote to a pipe which nobody reads any more
COMMANDS = {
    "test": "wiremap.cli.commands.test",
    "judge": "wiremap.cli.commands.judge",
    "testers": "wiremap.cli.commands.tester.testers",
    "kinds": "wiremap.cli.commands.kinds",
    "report": "wiremap.cli.commands.report",
    "verify": "wiremap.cli.commands.verify",
    "batch": "wiremap.cli.commands.batch",
    "lots": "wiremap.cli.commands.lots",
    "watch": "wiremap.cli.commands.watch",
    "pinout": "wiremap.cli.commands.pinout",
    "calibrate": "wiremap.cli.commands.tester.calibrate",
    "commission": "wiremap.cli.commands.tester.commission",
    "learn": "wiremap.cli.commands.tester.learn",
    "mend": "wiremap.cli.commands.mend",
    "phone": "wiremap.cli.commands.phone",
}


class Group(TyperGroup):
    """The commands together; what typer itself says of words it cannot use passes the gate of all text from outside."""

    def invoke(self, ctx: Any) -> Any:
        """Run a command; see TyperGroup."""
        try:
            return super().invoke(ctx)
        except typer.TyperException as error:
            error.message = spelled_out(error.message)
            raise


def main(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    """Find what is wrong with a networked cable, say which end to re-terminate, keep the proof."""
    if version:
        from wiremap.version import SOFTWARE

        print(SOFTWARE)
        raise typer.Exit


def build(names: Sequence[str]) -> typer.Typer:
    """Return the program with these commands."""
    app = typer.Typer(cls=Group, rich_markup_mode=None, pretty_exceptions_enable=False)
    app.callback(invoke_without_command=True)(main)
    for name in names:
        app.command(name)(guarded(importlib.import_module(COMMANDS[name]).command))
    return app


def guarded(command: Callable[..., None]) -> Callable[..., None]:
    """Return the command with its errors said and turned into exit codes."""

    @functools.wraps(command)
    def run_guarded(**options: Any) -> None:
        from wiremap.cli.output import EXIT_OF_ERROR, INTERRUPTED, error_content, talk, talk_error, write_json

        try:
            _run_to_its_end(command, options)
        except WiremapError as error:
            if options.get("as_json") and error.kind != "usage":
                write_json(error_content(error))
            else:
                talk_error(error)
            raise typer.Exit(EXIT_OF_ERROR[error.kind]) from error
        except KeyboardInterrupt:
            talk("wiremap: interrupted")
            raise typer.Exit(INTERRUPTED) from None

    return run_guarded


def _run_to_its_end(command: Callable[..., None], options: dict[str, Any]) -> None:
    """Run a command; a fault of the program itself is kept, and raised as an error like any other."""
    try:
        command(**options)
    except (WiremapError, typer.Exit, typer.Abort, typer.TyperException, BrokenPipeError):
        raise
    except Exception as error:
        from wiremap.records.broken import broken

        raise broken(error) from error


def run(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; only the command that is asked for is loaded."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    asked = [words[0]] if words and words[0] in COMMANDS else list(COMMANDS)
    _open_what_is_closed()
    try:
        build(asked)(args=words or ["--help"], prog_name="wiremap")
    except SystemExit as ended:
        if isinstance(ended.__context__, BrokenPipeError):  # the library under typer ends so, with a crash's code
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            sys.exit(READER_GONE)
        raise


def _open_what_is_closed() -> None:
    """Put nothing where a shell gave no standard input or output, so that no file of ours gets its number."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115, PTH123 - lasts as long as we do
