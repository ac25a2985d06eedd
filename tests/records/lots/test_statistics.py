import importlib
import random
from pathlib import Path

import pytest
from msgspec.structs import replace
from scipy import stats

from wiremap.errors import FileError
from wiremap.judge.findings import Verdict
from wiremap.records.lots.ledger_entry import FORMAT, Entry, EntryKind, LedgerFault, entry_of, line_digest, line_of
from wiremap.records.lots.so_far import LotSoFar
from wiremap.records.lots.statistics import (
    FailedLabel,
    FaultPlace,
    LotSummary,
    again_and_again,
    binomial_tail,
    share,
    summarise,
    summarise_entries,
    together,
)

OPEN_3 = LedgerFault("open", ("3",), ("3",), "far")
REVERSED = LedgerFault("reversed-pair", ("4", "5"), ("5", "4"))


def entry(
    number: int,
    verdict: Verdict = "pass",
    of: int | None = None,
    faults: tuple[LedgerFault, ...] = (),
    kind: EntryKind = "test",
    hour: int = 8,
    ohm: float | None = 0.2,
    length_m: float | None = None,
) -> Entry:
    """Return one entry of a ledger."""
    made = f"2026-03-01T{hour:02d}:00:00Z"
    return Entry(
        FORMAT,
        kind,
        number,
        made,
        f"R-{of or number}",
        of=of,
        verdict=verdict,
        faults=faults,
        contact_ohm=ohm,
        length_m=length_m,
    )


def write(path: Path, entries: list[Entry]) -> Path:
    """Write a ledger."""
    path.write_bytes(b"".join(map(line_of, entries)))
    return path


@pytest.mark.parametrize(
    ("count", "total", "low", "high"),
    [
        (8, 10, 0.490162, 0.943318),
        (20, 20, 0.838875, 1.0),
        (1, 30, 0.005909, 0.166704),
        (95, 100, 0.888250, 0.978456),
        (0, 12, 0.0, 0.242494),
    ],
)
def test_intervals_are_wilsons(count: int, total: int, low: float, high: float) -> None:
    """Shares carry Wilson's 95 % interval (NIST/SEMATECH e-Handbook 7.2.4.1), as scipy and statsmodels give it."""
    found = share(count, total)
    assert found is not None
    assert [found.low, found.high] == pytest.approx([low, high], abs=1e-6)
    scipy = stats.binomtest(count, total).proportion_ci(0.95, "wilson")
    assert [found.low, found.high] == pytest.approx([float(scipy.low), float(scipy.high)])
    theirs = importlib.import_module("statsmodels.stats.proportion").proportion_confint(count, total, 0.05, "wilson")
    assert [found.low, found.high] == pytest.approx(list(theirs))


def test_nothing_tested_has_no_share() -> None:
    """With no cable there is no yield, rather than one of 0 or 100 %."""
    assert share(0, 0) is None
    assert summarise_entries([], "empty").first_pass is None


def test_first_pass_and_final_yield() -> None:
    """First-pass yield counts each cable's first test, final yield its newest; retests are linked."""
    summary = summarise_entries(
        [
            entry(1),
            entry(2, "fail", faults=(OPEN_3,)),
            entry(3, of=2),
            entry(4, "fail", faults=(REVERSED,)),
            entry(5, "undecided"),
        ],
        "rack",
    )
    assert (summary.cables, summary.tests) == (4, 5)
    assert summary.first_pass is not None
    assert summary.first_pass.count == 1
    assert summary.final is not None
    assert summary.final.count == 2
    assert summary.newest == (("pass", 2), ("fail", 1), ("undecided", 1))


def test_what_does_not_count() -> None:
    """Tests taken back, notes, reference cords, skipped labels and verdicts never shown are no cables."""
    summary = summarise_entries(
        [
            entry(1),
            entry(2, "fail"),
            entry(3, kind="undo", of=2),
            entry(4, kind="note", of=1),
            entry(5, kind="reference", ohm=0.15),
            entry(6, kind="skip"),
            entry(7, kind="unshown"),
            entry(8, "fail"),
            entry(9, of=8),
            entry(10, kind="undo", of=9),
        ],
        "rack",
    )
    assert (summary.cables, summary.tests, summary.undone) == (2, 2, 2)
    assert dict(summary.newest) == {"pass": 1, "fail": 1, "undecided": 0}
    assert summary.reference_ohm == (0.15,)


def test_a_test_taken_back_counts_nowhere() -> None:
    """With a test taken back, a lot says what it would say without it: faults, places, hours, lengths, resistance."""
    kept = [entry(1, length_m=2.0), entry(4, "fail", faults=(REVERSED,), ohm=0.3)]
    gone = [
        entry(2, "fail", faults=(OPEN_3,), hour=9, length_m=9.0),
        entry(3, kind="undo", of=2),
        entry(5, of=4, hour=10, ohm=5.0),
        entry(6, kind="undo", of=5),
    ]
    with_gone = summarise_entries(sorted([*kept, *gone], key=lambda line: line.number), "rack")
    assert with_gone.undone == 2
    assert replace(with_gone, undone=0) == summarise_entries(kept, "rack")


def test_the_labels_that_did_not_pass() -> None:
    """Each label of which a test did not pass is listed once, with all that was found and where it stands now."""
    lines = [
        entry(1, "fail", faults=(OPEN_3,)),
        entry(2, "fail", of=1, faults=(OPEN_3, REVERSED)),
        entry(3, of=1).counted(2, 3, 100),
        entry(4),
        entry(5, "fail", faults=(REVERSED,)),
        entry(6, of=5),
        entry(7, kind="undo", of=6),
        entry(8, "fail", faults=(OPEN_3,)),
        entry(9, kind="undo", of=8),
        entry(10, "undecided"),
        entry(11, "undecided", of=10),
    ]
    assert summarise_entries(lines, "rack").failed_labels == (
        FailedLabel("rack", "R-5", "fail", (REVERSED,), "fail"),
        FailedLabel("rack", "R-10", "undecided", (), "undecided"),
        FailedLabel("rack", "R-1", "fail", (OPEN_3, REVERSED), "pass"),
    )


def test_a_ledger_whose_tests_repeat_each_other_ends() -> None:
    """Two tests that each say to repeat the other, which no lot writes, do not go round for ever."""
    lines = [entry(1, "fail", of=2, faults=(OPEN_3,)), entry(2, "fail", of=1, faults=(OPEN_3,))]
    assert [label.now for label in summarise_entries(lines, "rack").failed_labels] == ["fail"]


def test_faults_by_kind_contact_and_end() -> None:
    """Faults are counted once a test, by kind, and by contact and end where the end is known."""
    both = (OPEN_3, LedgerFault("open", ("6",), ("6",), "far"))
    summary = summarise_entries([entry(1, "fail", faults=both), entry(2, "fail", faults=(OPEN_3, REVERSED))], "rack")
    assert summary.faults == (("open", 2), ("reversed-pair", 1))
    assert set(summary.places) == {
        FaultPlace("open", "far", "3", 2),
        FaultPlace("open", "far", "6", 1),
        FaultPlace("reversed-pair", None, "4", 1),
        FaultPlace("reversed-pair", None, "5", 1),
    }
    assert summary.places[0] == FaultPlace("open", "far", "3", 2)


def lot_with(failures: dict[str, int], tests: int = 120) -> LotSummary:
    """Return a lot in which contacts of the far end failed so many times."""
    faults = [LedgerFault("open", (contact,), (contact,), "far") for contact, n in failures.items() for _ in range(n)]
    entries = [entry(number, "fail", faults=(fault,)) for number, fault in enumerate(faults, 1)]
    return summarise_entries([*entries, *(entry(number) for number in range(len(entries) + 1, tests))], "rack")


def test_a_contact_that_fails_again_and_again_is_named() -> None:
    """A contact that fails far more often than the others is named, one that shares the failures evenly is not."""
    assert again_and_again(lot_with({"3": 9, "1": 1, "6": 1})) == (("far", "3", 9),)
    assert again_and_again(lot_with({str(contact): 3 for contact in range(1, 9)})) == ()
    assert again_and_again(lot_with({"3": 2})) == ()


def test_contacts_are_seldom_named_by_chance() -> None:
    """With failures spread by chance over all contacts, a contact is named in fewer than 1 lot of 100."""
    draw = random.Random(1)
    named = 0
    for _ in range(300):
        failures: dict[str, int] = {}
        for _ in range(20):
            contact = str(draw.randrange(1, 9))
            failures[contact] = failures.get(contact, 0) + 1
        named += bool(again_and_again(lot_with(failures, 60)))
    assert named < 3


def test_the_tail_is_that_of_the_binomial() -> None:
    """The chance of so many failures or more is scipy's."""
    for count, total, chance in [(3, 10, 0.0625), (1, 200, 0.01), (9, 11, 1 / 16), (0, 5, 0.5)]:
        assert binomial_tail(count, total, chance) == pytest.approx(stats.binom.sf(count - 1, total, chance))


def test_lengths_and_hours() -> None:
    """Lengths give median and range; tests are counted by the hour."""
    entries = [entry(k, hour=8 + k // 3, length_m=2.0 + k / 100) for k in range(1, 6)]
    summary = summarise_entries(entries, "rack")
    assert summary.lengths is not None
    assert (summary.lengths.median_m, summary.lengths.low_m, summary.lengths.high_m) == (2.03, 2.01, 2.05)
    assert summary.hours == (("2026-03-01T08", 2), ("2026-03-01T09", 3))


def test_a_file_says_what_its_entries_say(tmp_path: Path) -> None:
    """A ledger read in pieces says what the same entries say in memory, wherever the pieces are cut."""
    draw = random.Random(2)
    entries: list[Entry] = []
    for number in range(1, 3000):
        faults = draw.choice([(), (), (OPEN_3,), (OPEN_3, REVERSED)])
        again = entries[-1].number if entries and entries[-1].verdict == "fail" and not entries[-1].of else None
        entries.append(entry(number, "fail" if faults else "pass", again, faults, ohm=draw.gauss(0.2, 0.01)))
    path = write(tmp_path / "ledger.jsonl", entries)
    whole = summarise_entries(entries, "rack")
    for size in (5000, 40_001, 4_000_000):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("wiremap.records.lots.statistics.PIECE_BYTES", size)
            assert summarise(path, "rack") == whole


def test_half_a_line_at_the_end_is_left_out(tmp_path: Path) -> None:
    """A line that is being written while the ledger is read does not count yet."""
    path = write(tmp_path / "ledger.jsonl", [entry(1), entry(2)])
    path.write_bytes(path.read_bytes() + b'{"format":1,"ki')
    assert summarise(path, "rack").cables == 2


def test_a_bad_line_is_named(tmp_path: Path) -> None:
    """A line that is none is refused with its number; a ledger that is not there with its name."""
    path = write(tmp_path / "ledger.jsonl", [entry(1), entry(2)])
    path.write_bytes(path.read_bytes() + b"junk\n")
    with pytest.raises(FileError, match="line 3"):
        summarise(path, "rack")
    with pytest.raises(FileError, match="cannot be read"):
        summarise(tmp_path / "none.jsonl", "none")


def test_many_lots_together() -> None:
    """Several lots together say what one lot of all their cables would say of yield, faults and places."""
    first = [entry(1), entry(2, "fail", faults=(OPEN_3,)), entry(3, of=2)]
    second = [entry(1, "fail", faults=(OPEN_3, REVERSED)), entry(2, hour=9)]
    shifted = [entry(11, "fail", faults=(OPEN_3, REVERSED)), entry(12, hour=9)]
    both = together([summarise_entries(first, "a"), summarise_entries(second, "b")])
    one = summarise_entries([*first, *shifted], "a")
    assert both.lots == ("a", "b")
    for key in ("cables", "tests", "undone", "first_pass", "final", "newest", "hours", "origins"):
        assert getattr(both, key) == getattr(one, key)
    assert dict(both.faults) == dict(one.faults)
    assert set(both.places) == set(one.places)
    assert set(both.failed) == set(one.failed)


def test_a_long_lot_is_thinned_for_the_picture() -> None:
    """Of a long lot the means of stretches are kept, of a short one every value."""
    entries = [entry(number, ohm=0.2 + number / 1e6) for number in range(1, 5001)]
    thin = summarise_entries(entries, "long").contact_ohm
    assert len(thin) == 2000
    assert list(thin) == sorted(thin)
    assert [thin[0], thin[-1]] == pytest.approx([0.2, 0.205], abs=1e-5)
    assert len(summarise_entries(entries[:50], "short").contact_ohm) == 50


@pytest.mark.parametrize(
    "wrong", ['"number":1000000000000', f'"number":{10**30}', '"number":0', '"number":-1', '"of":0']
)
def test_numbers_that_no_line_has_are_refused(tmp_path: Path, wrong: str) -> None:
    """A number that no ledger has so many lines for is no line of one, before anything is made as large."""
    path = tmp_path / "ledger.jsonl"
    line = line_of(entry(2, of=1))
    hurt = line.replace(b'"of":1' if "of" in wrong else b'"number":2', wrong.encode())
    assert hurt != line
    path.write_bytes(line_of(entry(1)) + hurt)
    with pytest.raises(FileError, match="line 2: no line of a ledger"):
        summarise(path, "rack")
    with pytest.raises(FileError, match="no line of a ledger"):
        entry_of(hurt.rstrip(b"\n"), "here")


def test_lines_of_the_chain_are_not_read_twice() -> None:
    """The digest that chains a ledger is that of the line with its line feed (FIPS 180-4: "abc")."""
    assert line_digest(b"abc") == "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_lot_that_grows_says_what_it_would_say_read_anew() -> None:
    """Line by line, with retests, tests taken back and lines of other kinds, the open lot says what the whole says."""
    for seed in range(20):
        draw = random.Random(seed)
        so_far, entries, standing = LotSoFar(), list[Entry](), list[Entry]()
        for number in range(1, 80):
            line = _next_line(draw, number, standing)
            entries.append(line)
            whole = summarise_entries(entries, "rack")
            open_labels = [label.label for label in whole.failed_labels if not label.mended]
            counts = so_far.counts(entries)
            assert counts is so_far.counts(entries)
            for key in ("cables", "first_pass", "final", "newest", "origins"):
                assert getattr(counts, key) == getattr(whole, key), (seed, number, key)
            assert (counts.not_passed, counts.labels) == (len(open_labels), tuple(open_labels[:6]))


def _next_line(draw: random.Random, number: int, standing: list[Entry]) -> Entry:
    """Return a line as the lot loop writes one, and change what stands by it."""
    kind: EntryKind = draw.choice(("test", "test", "test", "test", "undo", "note", "reference"))
    before = draw.choice(standing) if standing and draw.random() < 0.5 else None
    if kind in ("undo", "note"):
        gone = standing[-1] if standing else None
        if kind == "undo" and gone is not None:
            standing.remove(gone)
        return entry(number, of=gone.number if gone is not None else None, kind=kind if gone else "note")
    verdict: Verdict = draw.choice(("pass", "pass", "fail", "undecided"))
    repeats = before.number if before is not None and kind == "test" else None
    made = entry(number, verdict, repeats, (OPEN_3,) if verdict == "fail" else (), kind)
    made = replace(made, label=before.label if before is not None and repeats else f"R-{number}")
    made = replace(made, origin=draw.choice(("measured", "simulated")))
    if kind == "test":
        standing[:] = [one for one in standing if one is not before] + [made]
    return made


def test_a_cable_is_one_cable_after_a_test_taken_back_was_forgotten() -> None:
    """A ledger made again has a test that was taken back; with the one after it, it is one cable, at its newest."""
    again = [entry(1, "fail", faults=(OPEN_3,)), entry(2, "fail", 1, (OPEN_3,)), entry(3, "pass", 1), entry(4, "fail")]
    whole, counts = summarise_entries(again, "rack"), LotSoFar().counts(again)
    assert dict(whole.newest) == dict(counts.newest) == {"pass": 1, "fail": 1, "undecided": 0}
    assert [(label.label, label.mended) for label in whole.failed_labels] == [("R-4", False), ("R-1", True)]
    assert counts.labels == ("R-4",)
