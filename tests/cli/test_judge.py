"""`wiremap judge`: files of every kind, good and bad."""

import json
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.judge.wiring.test_terminators import bus
from tests.reading.as_json import to_json
from tests.strategies import cable, plugs, reading_of
from wiremap.cable.patterns import pattern


def csv(order: dict[int, int], folder: Path, name: str = "cable.csv") -> str:
    """Write an 8 x 8 continuity table, near contact -> far contact, and return its path."""
    rows = (",".join("1" if order.get(near) == far else "0" for far in range(1, 9)) for near in range(1, 9))
    path = folder / name
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return str(path)


STRAIGHT = {n: n for n in range(1, 9)}
CROSSOVER = STRAIGHT | {1: 3, 2: 6, 3: 1, 6: 2}  # T568A to T568B, ANSI/TIA-568
REVERSED = STRAIGHT | {4: 5, 5: 4}


def test_pass_fail_and_undecided_have_their_exit_codes(tmp_path: Path) -> None:
    """A cable as expected exits 0, one that is not 3, one of which nothing was expected 4."""
    file = csv(STRAIGHT, tmp_path)
    passed = run("judge", file, "--expect", "straight")
    assert (passed.code, passed.err) == (0, "")
    assert passed.out.startswith("PASS")
    failed = run("judge", file, "--expect", "crossover")
    assert (failed.code, failed.err) == (3, "")
    assert failed.out.startswith("FAIL")
    undecided = run("judge", file)
    assert (undecided.code, undecided.err) == (4, "")
    assert undecided.out.startswith("UNDECIDED")
    assert "--expect straight" in undecided.out


def test_required_check_makes_it_undecided(tmp_path: Path) -> None:
    """A check that was required and not made leaves the verdict undecided, and the page says which."""
    file = csv(STRAIGHT, tmp_path)
    done = run("judge", file, "--expect", "straight", "--require", "split-pairs,length")
    assert done.code == 4
    assert "Required but not checked: split pairs, length." in done.out


def test_terminators_that_are_asked_for(tmp_path: Path) -> None:
    """A bus lead with one terminator fails by itself, passes where one is asked for, and says which is missing."""
    path = tmp_path / "bus.json"
    path.write_bytes(to_json(bus((2, 3, 4, 5), 1, 0)))
    words = ("judge", str(path), "--expect", "m12a-5pole")
    alone = run(*words)
    assert alone.code == 3
    assert "one is missing at the far end" in " ".join(alone.out.split())
    assert run(*words, "--terminators", "1").code == 0
    none = run(*words, "--terminators", "0")
    assert none.code == 3
    assert "Take out the terminator at the near end." in " ".join(none.out.split())


def test_json_of_one_cable(tmp_path: Path) -> None:
    """--json prints one object with the contract's keys, absent where nothing was made."""
    file = csv(REVERSED, tmp_path)
    (found,) = run("judge", file, "--expect", "straight", "--json").objects()
    assert found["format"] == 1
    assert found["command"] == "judge"
    assert found["source"] == file
    assert found["verdict"] == "fail"
    assert found["expect"] == "straight"
    assert found["findings"] == [
        {
            "fault": "reversed-pair",
            "near": ["4", "5"],
            "far": ["5", "4"],
            "end": None,
            "at_m": None,
            "certainty": "confirmed",
        }
    ]
    assert {"what": "split-pairs", "why": "not-measured"} in found["not_checked"]
    assert found["next_step"].endswith(".")
    assert "capture" not in found


def test_many_files_are_one_line_each_and_a_summary(tmp_path: Path) -> None:
    """Of many files each has one line; a bad one is reported and the rest go on; the worst exit code counts."""
    good, bad = csv(STRAIGHT, tmp_path, "good.csv"), csv(REVERSED, tmp_path, "bad.csv")
    done = run("judge", good, bad, "--expect", "straight")
    assert done.code == 3
    assert done.out.splitlines() == [
        f"PASS       {good}  FROM A TABLE: Every conductor arrives where straight wants it.",
        f"FAIL       {bad}  FROM A TABLE: Pair 4-5 is reversed.",
        "1 pass, 1 fail, 2 in all",
    ]
    (tmp_path / "junk.csv").write_bytes(b"\x00\x01\x02")
    done = run("judge", good, str(tmp_path / "junk.csv"), bad, "--expect", "straight")
    assert done.code == 6
    assert "1 pass, 1 fail, 1 unreadable, 3 in all" in done.out
    assert "junk.csv" in done.err
    assert "hint: " in done.err
    assert run("judge", good, good, "--expect", "straight").code == 0
    assert run("judge", good, good).code == 4


def test_json_of_many_ends_with_a_summary(tmp_path: Path) -> None:
    """--json of many prints one object each, an error object for a bad file, and a summary last."""
    good = csv(STRAIGHT, tmp_path)
    found = run("judge", good, str(tmp_path / "none.csv"), "--expect", "straight", "--json").objects()
    assert [one.get("verdict") for one in found] == ["pass", None, None]
    assert found[1]["error"]["kind"] == "file"
    assert found[1]["source"].endswith("none.csv")
    assert found[2] == {"format": 1, "summary": {"pass": 1, "fail": 0, "undecided": 0, "unreadable": 1, "broken": 0}}


def test_reading_json_and_ends_named_by_the_job(tmp_path: Path) -> None:
    """A reading in JSON is judged, the page calls the ends as the job does."""
    expect = pattern("straight")
    nets = cable(expect, STRAIGHT | {3: 6, 6: 3})
    file = tmp_path / "reading.json"
    file.write_bytes(to_json(reading_of(nets, plugs(expect))))
    done = run("judge", str(file), "--expect", "straight", "--job", "near=helm", "--job", "far=mast")
    assert done.code == 3
    assert "helm  colour, if T568B    mast" in done.out


def test_cells_and_colours(tmp_path: Path) -> None:
    """--cells says what 0 and 1 mean, --colours and --near-order what the conductors look like."""
    ohms = tmp_path / "ohms.csv"
    ohms.write_text("1,,,\n,1,,\n,,1,\n,,,1\n", encoding="utf-8")
    asked = run("judge", str(ohms), "--expect", "m12d-m12d")
    assert asked.code == 6
    assert "--cells" in asked.err
    done = run("judge", str(ohms), "--expect", "m12d-m12d", "--cells", "ohms")
    assert done.code == 0
    assert "yellow" in done.out
    plain = run("judge", csv(STRAIGHT, tmp_path), "--expect", "straight", "--colours", "plain-white")
    assert "white (with orange)" in plain.out
    other = run("judge", csv(STRAIGHT, tmp_path), "--expect", "straight", "--near-order", "T568A")
    assert "colour (T568A)" in other.out


def test_a_table_of_far_rows_is_told_as_it_was_read(tmp_path: Path) -> None:
    """Page and JSON say how a table was read; a spreadsheet's rows of far contacts are judged as far contacts."""
    file = tmp_path / "typed.csv"
    lines = [";" + ";".join(f"N{n}" for n in range(1, 5))]
    lines += [f"F{n};" + ";".join("0,4" if n == other else "OL" for other in range(1, 5)) for n in range(1, 5)]
    file.write_text("\r\n".join(lines), encoding="utf-16")
    done = run("judge", str(file), "--expect", "m12d-m12d")
    assert done.code == 0
    assert "Table: far rows, near columns, ohms with a decimal comma, OL = open." in done.out
    (found,) = run("judge", str(file), "--expect", "m12d-m12d", "--json").objects()
    assert found["read_as"] == "far rows, near columns, ohms with a decimal comma, OL = open"


def rows_with(cell: str) -> str:
    """Return an 8 x 8 table of ohms with one cell replaced."""
    rows = [["0.5" if near == far else "open" for far in range(8)] for near in range(8)]
    rows[2][4] = cell
    return "\n".join(",".join(row) for row in rows) + "\n"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"\n\n  \n", "is empty"),
        (rows_with("abc").encode(), "line 3, column 5"),
        (rows_with("-2").encode(), "line 3, column 5"),
        (rows_with("nan").encode(), "line 3, column 5"),
        (rows_with("1e400").encode(), "line 3, column 5"),
        (b"1,0\n0,1,0\n", "line"),
        (b"1,0,0\n0,1,0\n0,0,1\n", "3"),
        (b"\x00\xff\xfe\x01" * 400, "junk"),
        (b"\xff\xfe1\x00,\x000\x00", "junk"),
        (b'{"format": 1}', "reading"),
        (b'{"format": 99, "near_contacts": ["1"]}', "format is 99"),
        (b'{"format": 1', "JSON"),
        (b'{"a":' * 100_000, "JSON"),
        (b"[1, 2]", "line 1"),
    ],
)
def test_bad_files_are_refused_with_a_hint(tmp_path: Path, content: bytes, says: str) -> None:
    """Wrong shapes, letters, negative and NaN ohms, binary junk, empty and foreign files: place, hint, exit code 6."""
    file = tmp_path / "junk.csv"
    file.write_bytes(content)
    done = run("judge", str(file), "--expect", "straight")
    assert done.code == 6
    assert done.out == ""
    assert done.err.startswith("wiremap: ")
    assert "junk.csv" in done.err
    assert says in done.err
    assert done.err.split("\n\nhint: ")[1].strip()
    (found,) = run("judge", str(file), "--json").objects()
    assert set(found) == {"format", "error"}
    assert found["error"]["kind"] == "file"
    assert found["error"]["hint"]
    assert list(tmp_path.iterdir()) == [file]


def test_a_table_that_does_not_fit_the_pattern_is_refused(tmp_path: Path) -> None:
    """An 8 x 8 table is no cable with M12 D plugs; the error says how many rows there should be."""
    done = run("judge", csv(STRAIGHT, tmp_path), "--expect", "m12d-m12d")
    assert done.code == 6
    assert "M12 D-coded" in done.err


def test_asymmetric_reading_is_refused(tmp_path: Path) -> None:
    """A near-near resistance that differs by direction is no measurement; the error names both contacts."""
    expect = pattern("straight")
    plain = json.loads(to_json(reading_of(cable(expect, STRAIGHT), plugs(expect))))
    plain["resistance_ohm"][1][4] = 3.0
    file = tmp_path / "reading.json"
    file.write_text(json.dumps(plain), encoding="utf-8")
    done = run("judge", str(file), "--expect", "straight")
    assert done.code == 6
    assert "between near 2 and near 5" in done.err


def test_a_file_of_3_gb_is_refused_unread(tmp_path: Path) -> None:
    """A line of 3 GB is refused by a process that may use 2 GB at most."""
    file = tmp_path / "big.csv"
    with file.open("wb") as out:
        out.truncate(3_000_000_000)
    done = subprocess.run(
        [sys.executable, "-m", "wiremap", "judge", str(file), "--expect", "straight"],
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            "OMP_NUM_THREADS": "1",
            "OPENBLAS_NUM_THREADS": "1",
        },
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000)),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 6
    assert "larger than" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_stream_without_end_is_refused() -> None:
    """A stream that never ends its first line is read to the limit and no further."""
    program = "import sys\nwhile True: sys.stdout.buffer.write(b'1,' * 50_000)"
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as source:
        for name in ("-", "/dev/stdin"):
            command = [sys.executable, "-m", "wiremap", "judge", name, "--expect", "straight"]
            done = subprocess.run(command, stdin=source.stdout, capture_output=True, text=True, check=False)
            assert done.returncode == 6
            assert "larger than" in done.stderr
        source.kill()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--expect", "strait"), "straight"),
        (("--screen", "maybe"), "any, both, near, far, none"),
        (("--require", "colour"), "split-pairs"),
        (("--cells", "volts"), "continuity, ohms"),
        (("--colours", "rainbow"), "tia"),
        (("--near-order", "T568C"), "T568B"),
        (("--near-order", "m12d-industrial", "--expect", "straight"), "near plug"),
        (("--job", "boat=x"), "vessel"),
        (("--terminators", "2", "--expect", "straight"), "straight has none"),
        (("--terminators", "7", "--expect", "m12a-5pole"), "0<=x<=6"),
    ],
)
def test_wrong_use_says_what_is_allowed(tmp_path: Path, words: tuple[str, ...], says: str) -> None:
    """A request that makes no sense exits 2 with what is allowed, as text on stderr also under --json."""
    for more in ((), ("--json",)):
        done = run("judge", csv(STRAIGHT, tmp_path), *words, *more)
        assert done.code == 2
        assert done.out == ""
        assert says in done.err


def test_own_files_are_named_when_wrong(tmp_path: Path) -> None:
    """A wrong pattern, colour or termination file of the user's exits 6 with file and key."""
    file = tmp_path / "mine.toml"
    file.write_text('format = 1\nname = "x"\ntitel = "x"\n', encoding="utf-8")
    for option in ("--expect", "--colours", "--near-order"):
        done = run("judge", csv(STRAIGHT, tmp_path), option, str(file))
        assert done.code == 6
        assert "mine.toml: key 'title'" in done.err


def test_services_in_four_lines_and_as_a_table(tmp_path: Path) -> None:
    """A cable with 3 and 4 exchanged must not be connected: said on the page; --services adds why, with clauses."""
    file = csv(STRAIGHT | {3: 4, 4: 3}, tmp_path)
    page = run("judge", file, "--expect", "straight").out
    assert "DO NOT CONNECT: PoE (four pairs)" in page
    assert "more with --services" in page
    assert "IEEE" not in page
    whole = run("judge", file, "--expect", "straight", "--services").out
    assert whole.startswith(page)
    assert "+ and - can meet on one pair (3-6, 4-5) and destroy the equipment." in " ".join(whole.split())
    assert "[IEEE 802.3 Table 145-3]" in whole
