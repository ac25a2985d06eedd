"""The command line run within the test's own process."""

from collections.abc import Sequence

import pytest

from wiremap.cli.app import run


def run_inside(words: Sequence[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Run a command and return its exit code, stdout and stderr."""
    with pytest.raises(SystemExit) as ended:
        run(list(words))
    out, err = capsys.readouterr()
    code = ended.value.code
    return (code if isinstance(code, int) else 1 if code else 0), out, err
