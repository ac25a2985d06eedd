"""What can go wrong around a cable test, as opposed to with the cable.

WiremapError
├── TesterError   the tester or its line            exit code 5
├── FileError     a file that cannot be used        exit code 6
└── UsageError    a request that makes no sense     exit code 2

Every one carries what happened, with the value that was met, and a hint: what to do next.
"""


class WiremapError(Exception):
    """Something that a technician can put right; `what` happened and a `hint` what to do next."""

    kind = "error"

    def __init__(self, what: str, hint: str) -> None:
        super().__init__(_printable(what))
        self.what = _printable(what)
        self.hint = _printable(hint)

    def __reduce__(self) -> tuple[type["WiremapError"], tuple[str, str]]:
        return type(self), (self.what, self.hint)


def _printable(text: str) -> str:
    """Return a text with what a terminal would obey or cannot write (control characters, half letters) spelled out."""
    return "".join(c if c.isprintable() or c == "\n" else repr(c)[1:-1] for c in text)


class TesterError(WiremapError):
    """The tester is not there, does not answer, or its answer cannot be believed."""

    kind = "tester"


class FileError(WiremapError, ValueError):
    """A file or a value read from one is not what it should be; names file, place and what is allowed."""

    kind = "file"


class UsageError(WiremapError, ValueError):
    """What was asked for does not exist or does not fit the cable."""

    kind = "usage"
