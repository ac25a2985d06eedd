"""What a terminal can show is told from its environment; without colours text stays as it is."""

import pytest

from wiremap.cable.colours import colour_set
from wiremap.report.terminal.display import Terminal, cube_index, terminal_of

SIZE = (100, 30)


@pytest.mark.parametrize(
    ("environment", "colours"),
    [
        ({"TERM": "xterm-256color"}, 256),
        ({"TERM": "tmux-256color"}, 256),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, 256),
        ({"TERM": "xterm"}, 8),
        ({"TERM": "linux"}, 8),
        ({"TERM": "dumb"}, 0),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, 0),
        ({"TERM": "xterm-256color", "NO_COLOR": ""}, 256),
    ],
)
def test_colours_of_a_terminal(environment: dict[str, str], colours: int) -> None:
    """TERM and COLORTERM say how many colours there are; NO_COLOR, when not empty, says none (no-color.org)."""
    found = terminal_of(environment, True, SIZE, "UTF-8")
    assert found == Terminal(100, 30, found.colours, environment["TERM"] != "dumb")
    assert found.colours == colours


def test_a_pipe_is_plain() -> None:
    """What is no terminal gets 80 columns, no end, no colours and no blocks, whatever the environment says."""
    assert terminal_of({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, False, SIZE, "utf-8") == Terminal()


@pytest.mark.parametrize(("encoding", "blocks"), [("utf-8", True), ("UTF8", True), ("ascii", False), ("cp1252", False)])
def test_blocks_need_utf8(encoding: str, blocks: bool) -> None:
    """Block characters are used only where the encoding has them."""
    assert terminal_of({"TERM": "xterm"}, True, SIZE, encoding).blocks is blocks


def test_plain_text_stays_plain() -> None:
    """Without colours nothing is added to a text, and no swatch is drawn."""
    plain = Terminal()
    blue = colour_set("tia").colour("blue")
    assert plain.styled("x", "1") == "x"
    assert plain.bar("PASS ", "pass") == "PASS"
    assert plain.swatch(blue) == plain.swatch(None) == ""
    assert Terminal(80, 24, 8).swatch(blue) == ""


def test_a_bar_fills_the_line() -> None:
    """The verdict's bar reaches the right edge in its own colour: green, red or yellow (ECMA-48 SGR 42, 41, 43)."""
    wide = Terminal(10, 24, 8)
    assert wide.bar("PASS", "pass") == "\x1b[1;30;42mPASS      \x1b[0m"
    assert "41m" in wide.bar("FAIL", "fail")
    assert "43m" in wide.bar("?", "undecided")


def test_striped_conductors_show_both_colours() -> None:
    """A white conductor with a stripe is drawn in turns of white and its colour, a plain one in its colour alone."""
    terminal = Terminal(80, 24, 256)
    tia = colour_set("tia")
    white, orange = (cube_index(tia.colour(name).body) for name in ("white-orange", "orange"))
    assert terminal.swatch(tia.colour("white-orange")).count(f"48;5;{orange}m") == 2
    assert terminal.swatch(tia.colour("white-orange")).count(f"48;5;{white}m") == 2
    assert terminal.swatch(tia.colour("orange")).count(f"48;5;{orange}m") == 4


@pytest.mark.parametrize("name", ["tia", "iec61918", "device-bus"])
def test_conductors_differ_on_a_terminal(name: str) -> None:
    """On 256 colours no two conductors of a set look alike, unless they cannot be told apart in hand either."""
    colours = colour_set(name)
    drawn = {(cube_index(one.body), cube_index(one.stripe or one.body)) for one in colours.conductors}
    assert len(drawn) == len({one.looks for one in colours.conductors})


def test_corners_of_the_cube() -> None:
    """Black, white, red, green and blue are where the 6 x 6 x 6 cube of 256-colour terminals has them (16-231)."""
    for rgb, index in (("#000000", 16), ("#ffffff", 231), ("#ff0000", 196), ("#00ff00", 46), ("#0000ff", 21)):
        assert cube_index(rgb) == index
