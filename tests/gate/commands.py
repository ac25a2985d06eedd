"""A command that is run on what means harm, and what it says checked."""

from tests.cli.running import run
from tests.gate import texts


def said(*words: str) -> str:
    """Run a command and check what it says; return it."""
    ran = run(*words)
    assert ran.code in (0, 2, 3, 4, 5, 6), ran
    texts.check_text(ran.err)
    if "--json" in words:
        texts.check_json(ran.out)
    else:
        texts.check_text(ran.out, styled=True)
    return ran.out + ran.err
