"""A lot with the phone as its screen: the same is kept, said and reported as with the keys of a terminal."""

import functools
import hashlib
import ssl
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from tests.cli.benches import Bench, plugged_in
from tests.cli.running import process
from tests.phone import lots
from tests.phone.aboard import free_port
from tests.phone.lot_kills import lot_loses_nothing
from wiremap.bench.handset import TOO_LATE

LOT = ("--expect", "straight", "--count", "4", "--prefix", "R-")
SHOWN = [
    ("R-001", "pass"),
    ("R-002", "fail"),
    ("R-004", "pass"),
    ("R-004", "fail"),
    ("R-004", "fail"),
    ("R-002", "pass"),
    ("R-005", "pass"),
]


def test_a_lot_of_four_from_the_phone_is_the_lot_of_the_terminal(tmp_path: Path) -> None:
    """Note, skip, a label taken back, a test again, one mended, stop: but for the times the same ledger, captures,
    lines on stdout and exit code, whether keys or a thumb asked for it; and the lot holds against itself.
    """
    with plugged_in(bench := Bench([])) as address, lots.swept(tmp_path / "keys", address, *LOT) as keys:
        by_keys = lots.sweep_four(bench, lots.KeyHand(keys))
        code = keys.end()
    port = free_port()
    words = (*LOT, *lots.on_phones(port))
    with plugged_in(bench := Bench([])) as address, lots.swept(tmp_path / "phone", address, *words) as phone:
        by_phone = lots.sweep_four(bench, lots.PhoneHand(phone, lots.let_in(phone, port)))
        assert phone.end() == code == 3
    assert by_keys == by_phone == SHOWN
    assert lots.kept(keys.folder) == lots.kept(phone.folder)
    kinds = [line["kind"] for line in lots.kept(phone.folder)[0]]
    assert kinds == ["test", "test", "note", "skip", "test", "undo", "test", "test", "test", "test"]
    assert lots.timeless(keys.shown) == lots.timeless(phone.shown)
    assert len(phone.shown) == len(SHOWN) + 1
    assert process("verify", str(phone.folder)).code == 0


def test_a_lot_on_a_phone_that_is_killed_loses_nothing(tmp_path: Path) -> None:
    """Killed at random moments, every verdict the phone showed is in the ledger once, no label is given twice, and a
    note that was pressed while the laptop was away is entered once.
    """
    said = lot_loses_nothing(tmp_path, seed=5, cables=5, kills=3)
    assert said.startswith("3 kills: ")


def test_a_lot_is_served_over_https_too(tmp_path: Path) -> None:
    """With --tls the page comes by https, by a certificate whose fingerprint stands on the terminal."""
    port = free_port()
    words = (*LOT, *lots.on_phones(port), "--tls")
    with plugged_in(Bench(["none"])) as address, lots.swept(tmp_path, address, *words) as swept:
        swept.until_served()
        assert f"https://127.0.0.1:{port}/#" in swept.talk
        shown = ssl.get_server_certificate(("127.0.0.1", port))
        mark = hashlib.sha256(ssl.PEM_cert_to_DER_cert(shown)).hexdigest().upper()
        assert mark in swept.talk.replace(":", "")
        swept.type("q")
        assert swept.end() == 0


def pressed_by_both(phones: list[lots.LotPocket], what: str) -> tuple[str, list[dict[str, Any]]]:
    """Let two phones press the same button at once, of a page with a verdict but for skip.

    Return what it is meant for, and the answers.
    """
    page = phones[0].page(lambda page: what in lots.buttons(page) and (what == "skip" or lots.large(page)))
    seen = lots.buttons(page)[what]
    with ThreadPoolExecutor(2) as both:
        said = list(both.map(lambda phone: phone.answer(what, [seen, ""]), phones))
    return seen, [one for one in said if one is not None]


def has_lines(swept: lots.Swept, lines: int) -> bool:
    """Whether the ledger has so many lines."""
    return swept.lines() == lines


def test_two_phones_at_once_make_one_step(tmp_path: Path) -> None:
    """Both look at the same page and press the same: one test more, one label skipped, one taken back; the one that
    came second reads why nothing was done. A label that moved on meanwhile is refused with words.
    """
    port = free_port()
    words = (*LOT, *lots.on_phones(port))
    with plugged_in(Bench(["none"])) as address, lots.swept(tmp_path, address, *words) as swept:
        phones = [lots.let_in(swept, port), lots.let_in(swept, port)]
        for what, lines in (("main", 2), ("undo", 3), ("skip", 4)):
            seen, said = pressed_by_both(phones, what)
            assert sorted(one["ok"] for one in said) == [False, True], said
            swept.until(functools.partial(has_lines, swept, lines))
        (refused,) = [one["said"] for one in said if not one["ok"]]
        assert refused.startswith("Nothing was done, since R-003 is next now. ")
        late = phones[1].answer("skip", [seen, ""])
        assert late is not None
        assert late["said"].startswith("Nothing was done, since R-003 is next now. ")
        other = phones[0].answer("note", ["winter: 3", "of another lot"])
        assert other is not None
        assert other["said"] == "Nothing was done, since that was meant for another lot. This is rack."
        assert swept.lines() == 4
        old = phones[0].answer("main", [lots.buttons(phones[0].page(bool))["stop"], ""], age_s=9.0)
        assert old == {"ok": False, "said": TOO_LATE}
        phones[1].press("stop")
        assert swept.end() == 0
