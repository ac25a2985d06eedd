"""`wiremap learn`: finds out the language of a tester that prints its own text, with one wire or two."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from wiremap.cli.keyboard import Keyboard
    from wiremap.reading.talk.learning import Learning
    from wiremap.tester.line import TalkLine

LISTEN_S = 15.0
MOST_TRIES = 4
PAUSE_TO_READ_S = 0.2


def command(
    tester: options.TesterAddress = None,
    contacts: Annotated[
        int, typer.Option("--contacts", min=2, max=36, help="Contacts of a plug, the screen not counted.")
    ] = 8,
    save: options.Save = None,
) -> None:
    """Learn the language of a tester that prints its own text: join near 1 to far 2 with one wire, and look.

    It is shown what was found, and asked before it is kept; then test and batch work with that tester.
    """
    from msgspec.structs import replace

    from wiremap.cli.keyboard import Keyboard
    from wiremap.cli.output import at_width, talk, write
    from wiremap.errors import TesterError, UsageError
    from wiremap.reading.talk.heard import in_words
    from wiremap.reading.talk.learning import Learning
    from wiremap.records.languages import keep_language
    from wiremap.report.words.origin import NO_CHECK_VALUE
    from wiremap.tester.line import device_serial, open_talk
    from wiremap.tester.listening import speed_of

    if tester is None:
        raise UsageError("which tester is to be learnt is not said", "Give its address, as --tester /dev/ttyUSB0.")
    keyboard = Keyboard()
    talk("Power off, and both ends of every cable unplugged: the tester's sockets are empty.")
    baud = speed_of(tester)
    with open_talk(tester, baud, "none") as line:
        state = Learning(plain=contacts)
        for _ in range(MOST_TRIES):
            state = _asked(state, keyboard, line)
            if state.step != "wire":
                break
    if state.step != "learnt":
        raise TesterError(
            f"{tester}: its language could not be learnt: {state.why or 'more wires would be needed'}",
            "Check the wire and try again, or describe the language in a TOML file (--talks).",
        )
    language = replace(state.language, baud=baud)
    write(at_width(f"{tester}: {in_words(language, language.count or contacts)}; {NO_CHECK_VALUE}.") + "\n")
    if keyboard.ask("Keep it? [y/N] ").lower() not in ("y", "yes"):
        write("Nothing was kept.\n")
        raise typer.Exit(4)
    place = keep_language(device_serial(tester), language, _file(save))
    write(f"Kept: {place}\n")


def _file(save: Path | None) -> Path | None:
    """Return the file that was named for the description; UsageError where it is none."""
    from wiremap.errors import UsageError

    if save is not None and save.suffix != ".toml":
        raise UsageError(f"--save {save}: a description is a .toml file", "Give a name such as mine.toml.")
    return save


def _asked(state: "Learning", keyboard: "Keyboard", line: "TalkLine") -> "Learning":
    """Have the wire joined, listen, and return where learning stands."""
    import time

    from wiremap.cli.output import talk
    from wiremap.reading.talk.learning import after_listening, no_screen

    near, far = state.wire
    screen = near == "S"
    if state.why:
        talk(f"Not yet: {state.why}.")
    name = "the near screen" if screen else f"near {near}"
    more = "; type n if the tester has no contact for the screen" if screen else ""
    answer = keyboard.ask(f"Join {name} to far {far} with one wire, nothing else, and press Enter{more}. ")
    if screen and answer.lower().startswith("n"):
        return no_screen(state)
    line.drain()
    content, after = b"", state
    until = time.monotonic() + LISTEN_S
    while time.monotonic() < until:
        content += line.read(PAUSE_TO_READ_S)
        after = after_listening(state, content)
        if not after.why:
            break
    return after
