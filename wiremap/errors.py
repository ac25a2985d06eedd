"""What can go wrong around a cable test, as opposed to with the cable.

WiremapError
├── TesterError   the tester or its line            exit code 5
├── FileError     a file that cannot be used        exit code 6
├── UsageError    a request that makes no sense     exit code 2
└── ProgramError  a fault of the program itself     exit code 70

Every one carries what happened, with the value that was met, and a hint: what to do next.
"""


class WiremapError(Exception):
    """Something that a technician can put right; `what` happened and a `hint` what to do next."""

    kind = "error"

    def __init__(self, what: str, hint: str) -> None:
        super().__init__(spelled_out(what))
        self.what = spelled_out(what)
        self.hint = spelled_out(hint)

    @property
    def said(self) -> str:
        """Return both in one line."""
        return f"{self.what}{'' if self.what.endswith(('.', '!', '?')) else '.'} {self.hint}"

    def __reduce__(self) -> tuple[type["WiremapError"], tuple[str, str]]:
        return type(self), (self.what, self.hint)


def spelled_out(text: str, lines: bool = True) -> str:
    """Return a text with what a terminal would obey or cannot write (control characters, half letters) spelled out.

    lines: leave line ends as they are. All text from outside is shown so.
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or (lines and c == "\n") else repr(c)[1:-1] for c in text)


class TesterError(WiremapError):
    """The tester is not there, does not answer, or its answer cannot be believed."""

    kind = "tester"


class FileError(WiremapError, ValueError):
    """A file or a value read from one is not what it should be; names file, place and what is allowed."""

    kind = "file"


class UsageError(WiremapError, ValueError):
    """What was asked for does not exist or does not fit the cable."""

    kind = "usage"


class ProgramError(WiremapError):
    """The program itself failed; what is known of it was kept, and the hint says where."""

    kind = "program"
