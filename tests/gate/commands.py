"""A command that is run on what means harm, and what it says checked."""

from tests.cli.running import run
from tests.gate import texts
from wiremap.cli import output
from wiremap.report.terminal.display import OWN_STYLE


def said(*words: str) -> str:
    """Run a command and check what it says; return it."""
    ran = run(*words)
    assert ran.code in (0, 2, 3, 4, 5, 6), ran
    texts.check_text(ran.err)
    if "--json" in words:
        texts.check_json(ran.out)
    else:
        texts.check_text(ran.out, styled=True)
        where = output.terminal()
        too_wide = [line for line in OWN_STYLE.sub("", ran.out).split("\n") if len(line) > where.width]
        assert where.height is None or not too_wide, (words, too_wide)
    return ran.out + ran.err
