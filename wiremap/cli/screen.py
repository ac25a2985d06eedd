"""A page that is drawn anew in place, on a terminal that can, and after the one before on one that cannot."""

import sys

from wiremap.cli.output import for_terminal, terminal, write, write_as_it_is
from wiremap.report.terminal.display import Terminal

HOME, CLEAR_LINE, CLEAR_BELOW = "\x1b[H", "\x1b[K", "\x1b[J"


class Screen:
    """Shows one page after the other; a page that is the same as before is not drawn again."""

    def __init__(self, as_json: bool) -> None:
        self.draws = sys.stdout.isatty() and not as_json
        self._shown = ""

    @property
    def terminal(self) -> Terminal:
        """Return what it can show."""
        return terminal()

    def forget(self) -> None:
        """Draw the next page in any case, since something else was written meanwhile."""
        self._shown = ""

    def page(self, text: str) -> None:
        """Show a page."""
        if text == self._shown:
            return
        self._shown = text
        where = self.terminal
        display = for_terminal(text, where)
        if not (where.colours or where.blocks):
            write("\n" + text)
            return
        lines = display.rstrip("\n").split("\n")
        write_as_it_is(HOME + "".join(f"{line}{CLEAR_LINE}\n" for line in lines[:-1]) + lines[-1] + CLEAR_BELOW)

    def leave(self) -> None:
        """Go below the page."""
        if self.draws and self._shown:
            write("\n")
