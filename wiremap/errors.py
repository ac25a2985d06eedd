"""What can go wrong around a cable test, as opposed to with the cable.

WiremapError
├── TesterError   the tester or its line            exit code 5
├── FileError     a file that cannot be used        exit code 6
├── UsageError    a request that makes no sense     exit code 2
└── ProgramError  a fault of the program itself     exit code 70

Every one carries what happened, with the value that was met, and a hint: what to do next.
"""


class WiremapError(Exception):
    """Something that a technician can put right; `what` happened and a `hint` what to do next.

    What happened is one line, whatever the file's name in it, but where `has_lines` says otherwise.
    """

    kind = "error"
    has_lines = False

    def __init__(self, what: str, hint: str) -> None:
        self.what = spelled_out(what, lines=self.has_lines)
        super().__init__(self.what)
        self.hint = spelled_out(hint)

    @property
    def said(self) -> str:
        """Return both in one line."""
        return f"{self.what}{'' if self.what.endswith(('.', '!', '?')) else '.'} {self.hint}"

    def __reduce__(self) -> tuple[type["WiremapError"], tuple[str, str]]:
        return type(self), (self.what, self.hint)


MOST_MARKS = 4  # marks on one letter; no language has more, and a pile of them covers other lines


def spelled_out(text: str, lines: bool = True) -> str:
    """Return a text with what a screen would obey, hide or cannot write spelled out: the gate of all text from outside.

    So are control characters, what turns the direction of writing, half letters, and marks piled on one letter.
    lines: leave line ends as they are.
    """
    if not text.isprintable():
        text = "".join(c if c.isprintable() or (lines and c == "\n") else repr(c)[1:-1] for c in text)
    return text if text.isascii() else _few_marks(text)


def _few_marks(text: str) -> str:
    from unicodedata import category  # only where a text has more than ASCII

    marks, shown = 0, []
    for letter in text:
        marks = marks + 1 if category(letter) in ("Mn", "Me") else 0
        shown.append(letter if marks <= MOST_MARKS else f"\\u{ord(letter):04x}")
    return "".join(shown)


class TesterError(WiremapError):
    """The tester is not there, does not answer, or its answer cannot be believed."""

    kind = "tester"
    has_lines = True  # of what the tester said


class FileError(WiremapError, ValueError):
    """A file or a value read from one is not what it should be; names file, place and what is allowed."""

    kind = "file"


class UsageError(WiremapError, ValueError):
    """What was asked for does not exist or does not fit the cable."""

    kind = "usage"


class ProgramError(WiremapError):
    """The program itself failed; what is known of it was kept, and the hint says where."""

    kind = "program"
