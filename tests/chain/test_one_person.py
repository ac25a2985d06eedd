"""The technician's story: a sensor aloft is not seen, one end is reached, the wrong end is named, mended, proved."""

from pathlib import Path

from tests.cli.running import run

MAST = """format = 1
title = "the run to the thermal camera"
near = "T568B"
far = {far}
[[segment]]
cable = "F/UTP"
length_m = 27.0
"""
RIGHT = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
AS_FOUND = ("white-orange", "orange", "white-green", "white-blue", "blue", "green", "white-brown", "brown")
JOB = ("--job", "near=helm", "--job", "far=mast", "--job", "cable=thermal camera", "--key", "none")


def planted(folder: Path, far: tuple[str, ...]) -> str:
    """Write the cable as it hangs on the mast and return the tester's address."""
    names = ", ".join(f'"{name}"' for name in far)
    file = folder / "mast.toml"
    file.write_text(MAST.format(far=f"[{names}]"), encoding="utf-8")
    return f"sim:{file}"


def test_from_a_dark_sensor_to_a_proof(tmp_path: Path) -> None:
    """Tested from the helm, read at the helm alone, mended at the mast by the printed card, tested again, and kept."""
    before, after, picture = (tmp_path / name for name in ("before.json", "after.json", "card.png"))
    address = planted(tmp_path, AS_FOUND)
    asked = ("--expect", "straight")
    first = run("test", "--tester", address, *asked, *JOB, "--save", str(before))
    assert first.code == 3
    assert "Pair 4-5 is reversed." in first.out
    assert "It can be either end" in first.out

    looked: list[str] = []
    seen = run("judge", str(before), "--json").objects()[0]
    while not seen["as_built"]["settled"]:
        contact = next(step["look"]["contact"] for step in seen["repair"]["steps"] if step["action"] == "look")
        assert seen["repair"]["steps"][0]["look"]["end"] == "near"
        looked.append(f"{contact}={RIGHT[int(contact) - 1]}")
        seen = run("judge", str(before), "--json", "--near-colours", ",".join(looked)).objects()[0]
    assert 1 <= len(looked) <= 3
    assert seen["ends"]["wrong_end"] == "far"
    said = run("judge", str(before), "--near-colours", ",".join(looked))
    assert "The mast end is wrong (over 99 %). Re-terminate the mast end as T568B" in " ".join(said.out.split())
    aloft = run("judge", str(before), "--near-colours", ",".join(looked), "--closed", "far=60")
    instead = "Make the helm end match it, in no standard order (contacts 4 and 5); or re-terminate the mast end"
    assert instead in " ".join(aloft.out.split())

    printed = run("pinout", str(before), "--near-colours", ",".join(looked), "--save", str(picture))
    assert printed.code == 0
    assert "RJ45, mast end: T568B" in printed.out
    assert picture.read_bytes().startswith(b"\x89PNG")
    card = run("pinout", str(before), "--near-colours", ",".join(looked), "--json").objects()[0]["card"]
    assert [line["contact"] for line in card["lines"] if line["changes"]] == ["4", "5"]

    crimped = tuple(line["conductor"] for line in card["lines"])
    again = run("test", "--tester", planted(tmp_path, crimped), "--expect", "straight", *JOB, "--save", str(after))
    assert again.code == 0
    assert again.out.startswith("PASS")
    assert run("verify", str(before), str(after)).code == 0
    kept = run("judge", str(after), "--json").objects()[0]
    assert kept["verdict"] == "pass"


def test_with_a_remote_nobody_helps() -> None:
    """With remote B at the mast one person reads the whole mapping from the helm, and is told which remote it is."""
    ran = run("test", "--tester", "sim:mast-remote", "--far", "remote", "--expect", "straight", "--remote", "B=mast")
    assert ran.code == 0
    assert "Remote B, mast: the mapping is exact." in ran.out
    said = run("test", "--tester", "sim:mast-remote", "--far", "remote", "--expect", "straight", "--json").objects()[0]
    assert said["remote"]["letter"] == "B"
    assert said["remote"]["certainty"] == "exact"


def test_a_joining_plug_shows_loops() -> None:
    """With a joining plug the page has each pair's loop and unbalance, and says what it cannot see."""
    ran = run("test", "--tester", "sim:far-joined", "--far", "joined", "--expect", "straight")
    assert ran.code == 4
    assert ran.out.count(": loop ") == 4
    assert ran.out.count("gets through, loop ") == 8
    assert "unbalance" in ran.out
    assert "a plug that joins all contacts cannot show it" in " ".join(ran.out.split())


def test_equipment_closes_its_loops() -> None:
    """With equipment at the far end the pairs' loops are shown and the verdict is undecided."""
    ran = run("test", "--tester", "sim:equipment-attached", "--far", "equipment", "--expect", "straight")
    assert ran.code == 4
    assert ran.out.count(": loop ") == 4
    assert ran.out.count("gets through, loop ") == 8
    assert "equipment at the far end hides it" in " ".join(ran.out.split())


def test_what_would_run_on_it() -> None:
    """Between two ports that do not cross over a straight cable has no 100 Mbit/s link; the clause stands beside it."""
    words = ("--expect", "straight", "--port-near", "fixed-mdi", "--port-far", "fixed-mdi", "--services")
    ran = run("test", "--tester", "sim:patch", *words)
    text = " ".join(ran.out.split())
    assert "both ports transmit on the same pair" in text
    assert "IEEE 802.3 clause 14" in text
    assert "4-5 positive, 7-8 negative" in text
