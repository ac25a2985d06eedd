"""The termination card: every pattern's plugs, on the page and as a picture, in the order in which a plug is seen."""

import io
import re
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from tests.cli.running import run
from tests.strategies import cable, plugs, reading_of
from wiremap.cable.colours import colour_set
from wiremap.cable.connectors import connectors
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.cable.terminations import carried, known_as, termination, terminations
from wiremap.cable.workmanship import workmanship, workmanship_limits
from wiremap.contact import End
from wiremap.judge.case import JobNames, judge_case, requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.report.card import CAUTIONS, Card, card, to_builtins
from wiremap.report.print.canvas import MM_PER_POINT
from wiremap.report.print.card_picture import HEIGHT, WIDTH, card_picture
from wiremap.report.terminal.card_page import card_page
from wiremap.report.terminal.display import Terminal
from wiremap.report.termination import card_for_repair

PLAIN = Terminal()
TIA = colour_set("tia")
T568B = dict(termination("T568B").conductors)
PER_MM = 4
CAP_HEIGHT = 0.729  # of DejaVu Sans, of its size
READ_FROM = 250  # times its height a letter can be read from: common practice, no source


def made(now: dict[str, str | None] | None = None) -> Card:
    """Return the card of a T568B plug at the mast."""
    plug = termination("T568B").connector
    return card(
        plug,
        TIA,
        T568B,
        end="mast",
        pattern="straight",
        named="T568B",
        why="The mast end is wrong.",
        now=now,
    )


def pixels(content: bytes) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    """Return a picture's pixels, (rows, columns, red green blue)."""
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))


def at(picture: np.ndarray[tuple[int, int, int], np.dtype[np.uint8]], x_mm: float, y_mm: float) -> str:
    """Return the colour at a place, "#rrggbb"."""
    red, green, blue = picture[round(y_mm * PER_MM), round(x_mm * PER_MM)]
    return f"#{red:02x}{green:02x}{blue:02x}"


def test_contacts_stand_as_they_are_seen() -> None:
    """With the contacts up 1 is at the left: the page and the picture have the conductors from 1 to 8 in that order."""
    lines = [line.split() for line in card_page(made(), PLAIN).splitlines() if re.match(r"[ !] +\d ", line)]
    assert [line[0] for line in lines] == list("12345678")
    assert [line[1] for line in lines] == [T568B[contact] for contact in "12345678"]
    picture = pixels(card_picture(made(), "png", round(25.4 * PER_MM)))
    pitch = (WIDTH - 14) / 8
    for place, contact in enumerate("12345678"):
        colour = TIA.colour(T568B[contact])
        x = 7 + (place + 0.5) * pitch
        assert at(picture, x - 4, 52.3) == colour.body  # between two bands
        if colour.stripe:
            assert at(picture, x - 4, 49.0) == colour.stripe  # a band at the top
        else:
            assert at(picture, x - 4, 49.0) == colour.body


def test_old_places_and_changes() -> None:
    """What is in the plug now: the contact each conductor comes from, and a mark where another one goes in."""
    now: dict[str, str | None] = {**T568B, "3": "green", "6": "white-green"}
    lines = {line.contact: line for line in made(now).lines}
    assert (lines["3"].now_in, lines["3"].changes) == ("6", True)
    assert (lines["1"].now_in, lines["1"].changes) == ("1", False)
    shown = card_page(made(now), PLAIN)
    assert len(re.findall(r"^! +[36]  ", shown, re.MULTILINE)) == 2
    loose: dict[str, str | None] = {**T568B, "8": None}
    assert {line.contact: line.now_in for line in made(loose).lines}["8"] == ""
    assert "not in" in card_page(made(loose), PLAIN)
    assert all(line.now_in is None for line in made().lines)


def test_readable_at_a_metre() -> None:
    """Contact numbers, letters of the conductors, their names and old places are high enough for one metre."""
    for points in (30, 17, 13):
        assert points * MM_PER_POINT * CAP_HEIGHT * READ_FROM >= 800
    assert 30 * MM_PER_POINT * CAP_HEIGHT * READ_FROM >= 1900


@pytest.mark.parametrize("name", ["m12d-T568B", "m12x-T568B", "device-bus", "m12d-industrial"])
def test_m12_is_drawn_from_both_sides(name: str) -> None:
    """The wiring side is the mirror image of the mating face about the key, conductor by conductor."""
    known = termination(name)
    colours = colour_set(known.colours)
    drawn = card(
        known.connector,
        colours,
        dict(known.conductors),
        end="sensor",
        pattern="m12d-rj45",
        named=name,
    )
    picture = pixels(card_picture(drawn, "png", round(25.4 * PER_MM)))
    face = workmanship(known.connector).face
    dot = 7.6 if len(face) < 7 else 5.6
    for contact, across, up in face:
        conductor = known.conductor_at(contact)
        if conductor is None:
            continue
        body = colours.colour(conductor).body
        y = 60.0 - up * 0.66 * 25 + 0.85 * dot
        assert at(picture, 33.0 + across * 0.66 * 25, y) == body
        assert at(picture, 88.0 - across * 0.66 * 25, y) == body


def test_every_plug_of_every_pattern_has_a_card() -> None:
    """Each plug of each pattern has a page within 80 columns, with lengths, cautions and what goes on first."""
    for name in pattern_names():
        known = pattern(name)
        for end in ("near", "far"):
            if end == "far" and known.far_connector is None:
                continue
            ran = run("pinout", "--expect", name, "--end", end)
            if ran.code == 2:
                assert "near-order" in ran.err
                continue
            assert ran.code == 0
            assert max(map(len, ran.out.splitlines())) <= 80
            for word in ("On the cable first:", "Untwist at most 13 mm", "Power off and both ends unplugged"):
                assert word in " ".join(ran.out.split())


@pytest.mark.parametrize("name", ["straight", "crossover", "m12d-rj45", "m12x-rj45", "rj45-m12d"])
def test_the_far_card_is_what_the_pattern_carries(name: str) -> None:
    """The far plug's card holds what the near plug's conductors are at their far contacts."""
    known = pattern(name)
    assert known.far_connector is not None
    for near in terminations():
        if near.connector != known.near_connector:
            continue
        ran = run("pinout", "--expect", name, "--end", "far", "--near-order", near.name, "--json")
        assert ran.code == 0
        lines = ran.objects()[0]["card"]["lines"]
        held = tuple((line["contact"], line["conductor"]) for line in lines if line["conductor"])
        assert held == carried(near, known)
        named = known_as(known.far_connector, held)
        assert ran.objects()[0]["card"]["termination"] == (named.name if named else None)


def test_cautions_and_workmanship() -> None:
    """Lengths are those of TIA-568 and common practice, with power off, offcuts, heights and local codes in mind."""
    limits = workmanship_limits()
    assert (limits.untwist_mm, limits.bend_diameters) == (13.0, 4.0)
    rj45 = workmanship(connectors()["rj45"])
    assert (rj45.strip_mm, rj45.field_trim_mm) == (25.0, 19.0)
    said = " ".join(CAUTIONS)
    for word in ("Power off", "57 V", "offcuts", "antennas", "harness", "local codes", "licensed"):
        assert word in said
    assert set(connectors()) == {name for name in connectors() if workmanship(connectors()[name]).first}


LONG_WHY = (
    "Look first: this is only what is usual. Likelier it is the mast end (64 %, helm 36 %) until somebody looks. Look "
    "at contact 3 of the mast end: its colour decides most (--far-colours 3=COLOUR, or all of them)."
)


@pytest.mark.parametrize("why", ["", LONG_WHY])
@pytest.mark.parametrize("name", [one.name for one in terminations()])
def test_a_card_fits_the_window_with_its_title(name: str, why: str) -> None:
    """At 80 x 24 and 40 x 16 a card has its title, every contact with its conductor, and the first caution."""
    order = termination(name)
    for colours in (colour_set(order.colours), *([colour_set("plain-white")] if order.colours == "tia" else [])):
        held = dict(order.conductors)
        told = card(order.connector, colours, held, end="mast", pattern="straight", named=name, why=why, now=held)
        told = replace(told, look_first=bool(why))
        for width, height in ((80, 24), (40, 16)):
            shown = card_page(told, Terminal(width, height, 0, True))
            lines = shown.splitlines()
            assert len(lines) < height, shown
            assert max(map(len, lines)) <= width, shown
            assert " ".join(lines).startswith(told.title), shown
            assert CAUTIONS[0] in " ".join(shown.split())
            assert "Look first: this is only what is usual." in shown or not why
            for line in told.lines:
                assert re.search(rf"^[ !] +{line.contact}  {re.escape(line.said)} ", shown, re.MULTILINE), shown
    assert ("both views below" in card_page(told, PLAIN)) is False  # they are on the picture, and not on the page


@pytest.mark.parametrize("kind", ["png", "pdf", "svg"])
def test_pictures_of_all_kinds(tmp_path: Path, kind: str) -> None:
    """The card is kept as PNG, PDF and SVG of A5 size, never over a file, and the same bytes each time."""
    path = tmp_path / f"card.{kind}"
    ran = run("pinout", "--expect", "m12x-rj45", "--end", "near", "--job", "near=camera", "--save", str(path))
    assert ran.code == 0
    first = path.read_bytes()
    again = run("pinout", "--expect", "m12x-rj45", "--end", "near", "--save", str(path))
    assert again.code == 6
    assert "is there already" in again.err
    other = tmp_path / f"other.{kind}"
    run("pinout", "--expect", "m12x-rj45", "--end", "near", "--job", "near=camera", "--save", str(other))
    assert other.read_bytes() == first
    if kind == "png":
        assert pixels(first).shape[1] / pixels(first).shape[0] == pytest.approx(WIDTH / HEIGHT, rel=0.01)


@pytest.mark.parametrize(
    ("right", "end", "said"), [("near", "far", False), ("near", "near", True), ("far", "near", False)]
)
def test_a_card_of_the_plug_that_is_right_says_why_it_would_do(right: End, end: End, said: bool) -> None:
    """A crossover cable where straight is wanted, one plug known to be right: the other's card needs no such word."""
    straight = pattern("straight")
    turned = {n: n for n in range(1, 9)} | {1: 3, 2: 6, 3: 1, 6: 2}
    told = Statements(near_colours="1=white-orange", sound=(right,))
    case = judge_case(reading_of(cable(straight, turned), plugs(straight)), requirements("straight", statements=told))
    made = card_for_repair(case, end)
    assert ("Either plug would do: made so, the near end fits the other as that is." in made.why) == said
    assert made.named == ("T568A" if end == "near" else "T568B")


@pytest.mark.parametrize("end", [None, "near", "far"])
def test_no_card_while_nobody_knows_which_end(end: End | None) -> None:
    """As long as the first step is to look, a card shows what is usual at either end, says so, and has no moves."""
    straight = pattern("straight")
    exchanged = {n: n for n in range(1, 9)} | {3: 6, 6: 3, 4: 5, 5: 4}
    reading = reading_of(cable(straight, exchanged), plugs(straight))
    unknown = card_for_repair(judge_case(reading, requirements("straight"), JobNames("helm", "mast")), end)
    assert unknown.look_first
    assert unknown.title.endswith(f"{'mast' if end == 'far' else 'helm'} end: LOOK FIRST")
    assert {line.contact: line.colour.name for line in unknown.lines if line.colour} == T568B
    assert not any(line.changes or line.now_in for line in unknown.lines)
    assert "Usual: helm end T568B, mast end T568B." in unknown.why
    assert "Look at contact" in unknown.why
    assert to_builtins(unknown)["look_first"] is True
    said = Statements(near_colours=",".join(f"{contact}={colour}" for contact, colour in T568B.items()))
    settled = card_for_repair(judge_case(reading, requirements("straight", statements=said)), end or "far")
    assert not settled.look_first
    assert [line.contact for line in settled.lines if line.changes] == ["3", "4", "5", "6"]


def test_wrong_requests() -> None:
    """Another kind of file, an unknown end, the far end of a plug that has none: each is refused with a hint."""
    assert "cannot be '.jpg'" in run("pinout", "--save", "card.jpg").err
    assert "near or far" in run("pinout", "--end", "left").err
    assert "one plug only" in run("pinout", "--expect", "loopback-100", "--end", "far").err


def test_a_card_in_json() -> None:
    """In JSON a card has plug, end, order and a line for each contact."""
    plain = to_builtins(made())
    assert plain["termination"] == "T568B"
    assert plain["why"] == "The mast end is wrong."
    lines = plain["lines"]
    assert isinstance(lines, list)
    first = {"contact": "1", "conductor": "white-orange", "twisted_with": "2", "now_in": None, "changes": False}
    assert lines[0] == first
