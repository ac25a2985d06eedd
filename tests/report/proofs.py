"""Captures as sheets and pictures show them."""

from collections.abc import Iterable
from datetime import timedelta, timezone
from typing import Any

from msgspec.structs import replace

from tests.records.samples import START, plain_record, published_key, reading
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.cable.terminations import termination
from wiremap.calibration import Calibration
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Origin, Reading, square
from wiremap.records.captures.capture import Job, Photo, Work, read_capture, to_bytes
from wiremap.records.captures.work_list import work_list
from wiremap.report.proof import Proof

REVERSED_AND_OPEN = (0, 1, 5, 3, 4, 2, 6, None)
JOB = Job(
    vessel="Survey catamaran",
    site="Berth 4",
    cable="MAST-CAM-01",
    near="helm",
    far="mast",
    who="the technician",
    note="Plug at the mast renewed, drip loop made.",
    photos=(Photo("old-plug.jpg", "sha256:" + "ab" * 32),),
    re_terminated="far",
)
LENGTHS = [
    {"pair": None, "method": "fused", "length_m": 18.42, "u_m": 0.26, "low_m": 17.9, "high_m": 18.95},
    {"pair": ["1", "2"], "method": "capacitance", "length_m": 18.3, "u_m": 0.5, "low_m": 17.2, "high_m": 19.4},
]


def case(arrives: Iterable[int | None] = range(8), job: Job = JOB, origin: Origin = "tester", **asked: Any) -> Case:
    """Return a straight cable, or one whose near contacts arrive elsewhere, judged."""
    wanted = Requirements(expect=pattern("straight"), **asked)
    return judge_case(replace(reading(arrives), origin=origin), wanted, JobNames(job.near, job.far, job.cable))


def proof(arrives: Iterable[int | None] = range(8), job: Job = JOB, origin: Origin = "tester", **more: Any) -> Proof:
    """Return a signed capture of such a cable."""
    found = reading(arrives)
    calibrated = Reading(
        found.taken_utc,
        Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES",), 0.5),
        Calibration("0007", "2026-01-02T10:00:00Z"),
        "tester",
        found.near_contacts,
        found.far_contacts,
        found.resistance_ohm,
        origin=origin,
    )
    plain = plain_record(
        calibrated,
        now=START.astimezone(timezone(timedelta(hours=2))),
        job=job,
        work=more.pop("work", work_list().ticked(("power-off", "re-terminated", "strain-relief"))),
        near_order=termination("T568B"),
        colours=colour_set("tia"),
        **more,
    )
    plain["diagnosis"]["lengths"] = LENGTHS
    wanted = Requirements(pattern("straight"), near_order=termination("T568B"), colours=colour_set("tia"))
    shown = judge_case(calibrated, wanted, JobNames(job.near, job.far, job.cable))
    return Proof(shown, read_capture(to_bytes(plain, published_key()), "x"))


def crowded() -> Proof:
    """Return a capture with as much to say as there can be: many faults, long texts, a full work list."""
    job = Job(
        vessel="A vessel with a name that is far longer than the space that there is for it on any sheet of paper " * 2,
        cable="A-CABLE-LABEL-THAT-DOES-NOT-END-" * 4,
        near="the upper helm station on the port side",
        far="the mast above the second spreader",
        who="somebody with a very long name " * 4,
        note="a note $x^2$ that goes on & on, with <b>marks</b> and \u65e5\u672c letters " * 12,
        photos=tuple(Photo(f"photo-{number}.jpg", "sha256:" + f"{number:064x}") for number in range(30)),
    )
    work = tuple(Work(f"{number} " + "something that was done, told at length " * 2, True) for number in range(20))
    return proof((None, 0, 1, 2, 7, 6, 5, None), job, work=work)


def m12d() -> Case:
    """Return a sensor cable from M12 D-coded to RJ45 with its screen, colours not told."""
    near, far = (*"1234", "S"), (*"12345678", "S")
    places = (*map(near_contact, near), *map(far_contact, far))
    ways = {"1": "1", "2": "3", "3": "2", "4": "6", "S": "S"}
    values: dict[tuple[Contact, Contact], Any] = {(near_contact(a), far_contact(b)): 0.6 for a, b in ways.items()}
    found = Reading(None, None, None, "tester", near, far, square(places, values, "open"))
    return judge_case(found, Requirements(pattern("m12d-rj45"), "both"), JobNames())


def shorted() -> Case:
    """Return a cable with conductors shorted to each other and to the screen."""
    names = (*"12345678", "S")
    places = (*map(near_contact, names), *map(far_contact, names))
    values: dict[tuple[Contact, Contact], Any] = {(near_contact(a), far_contact(a)): 0.6 for a in names}
    for a, b in (("1", "2"), ("8", "S")):
        for first, second in ((near_contact, near_contact), (far_contact, far_contact), (near_contact, far_contact)):
            values[first(a), second(b)] = 0.6
            values[first(b), second(a)] = 0.6
    found = Reading(None, None, None, "tester", names, names, square(places, values, "open"))
    return judge_case(found, Requirements(pattern("straight")), JobNames("helm", "mast", "SHORTED"))


def loopback() -> Case:
    """Return a loopback plug."""
    names = (*"12345678", "S")
    places = tuple(map(near_contact, names))
    values: dict[tuple[Contact, Contact], Any] = {
        (near_contact(a), near_contact(b)): 0.1 for a, b in (("1", "3"), ("2", "6"))
    }
    found = Reading(None, None, None, "open", names, (), square(places, values, "open"))
    return judge_case(found, Requirements(pattern("loopback-100")), JobNames("helm", "", "LOOP"))


def unplugged() -> Case:
    """Return a cable whose far plug was in nothing."""
    names = tuple("12345678")
    places = (*map(near_contact, names), *map(far_contact, names))
    found = Reading(None, None, None, "open", names, names, square(places, {}, "open"))
    return judge_case(found, Requirements(pattern("straight")), JobNames("helm", "mast", "UNPLUGGED"))
