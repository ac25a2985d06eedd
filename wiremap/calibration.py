"""What is known of one tester: zero, scale, age, uncertainty. A Reading carries it, so judging reads no files."""

from itertools import chain

from msgspec import Struct

from wiremap import ranges

RANGES = {
    "open_u_pf": ranges.OWN_PICOFARADS,
    "pin_pf": ranges.OWN_PICOFARADS,
    "capacitance_scale": ranges.SCALE,
    "capacitance_scale_u": ranges.RELATIVE_U,
    "echo_zero_ps": ranges.PICOSECONDS,
    "echo_zero_u_ps": ranges.Range(0.0, 1e6, "ps"),
}
WHERE_KNOWN = {
    "nvp": ranges.NVP,
    "nvp_u": ranges.RELATIVE_U,
    "capacitance_pf_per_m": ranges.PF_PER_M,
    "capacitance_u_pf_per_m": ranges.Range(0.0, 1000.0, "pF/m"),
    "ohm_per_m": ranges.OHM_PER_M,
    "ohm_u_per_m": ranges.Range(0.0, 100.0, "ohm/m"),
    "known_length_m": ranges.LENGTH_M,
}
LARGEST_MATRIX = 64
MATRICES = ("open_pf", "open_double_pf", "cord_pf", "cord_double_pf")
ROWS = ("open_single_pf", "cord_single_pf")


class Calibration(Struct, frozen=True, forbid_unknown_fields=True):
    """Corrections of one tester, found with an open socket and with cables of known length.

    tester_serial: whose it is. made_utc: "YYYY-MM-DDTHH:MM:SSZ".
    open_pf: what each contact (near, then far) shows to all others with the socket empty, pF; symmetric,
        diagonal 0.0, None = not measured. open_single_pf, open_double_pf: the same by grounded groups.
        open_u_pf: standard uncertainty of one of them, pF.
    pin_pf: capacitance of one contact to the tester's ground, pF.
    capacitance_scale: true over shown, and its relative standard uncertainty.
    echo_zero_ps: what an echo of no length shows, ps. nvp: velocity over that of light, None = not measured.
    capacitance_pf_per_m: a pair's, None = not measured. ohm_per_m: of one conductor, None = not measured.
    known_length_m: of the reference cable, None = none used.
    cord_pf, cord_single_pf, cord_double_pf: what that cable showed, two-terminal and by grounded groups, as
        measured; other cords of its kind are compared with it. None = not kept.
    """

    tester_serial: str
    made_utc: str
    open_pf: tuple[tuple[float | None, ...], ...] | None = None
    open_single_pf: tuple[float | None, ...] | None = None
    open_double_pf: tuple[tuple[float | None, ...], ...] | None = None
    open_u_pf: float = 0.5
    pin_pf: float = 10.0
    capacitance_scale: float = 1.0
    capacitance_scale_u: float = 0.015
    echo_zero_ps: float = 0.0
    echo_zero_u_ps: float = 580.0
    nvp: float | None = None
    nvp_u: float | None = None
    capacitance_pf_per_m: float | None = None
    capacitance_u_pf_per_m: float | None = None
    ohm_per_m: float | None = None
    ohm_u_per_m: float | None = None
    known_length_m: float | None = None
    cord_pf: tuple[tuple[float | None, ...], ...] | None = None
    cord_single_pf: tuple[float | None, ...] | None = None
    cord_double_pf: tuple[tuple[float | None, ...], ...] | None = None

    def __post_init__(self) -> None:
        """Check every number; FileError names the place and what is allowed there."""
        ranges.check_text("calibration: tester_serial", self.tester_serial)
        ranges.check_moment("calibration: made_utc", self.made_utc)
        for key, allowed in RANGES.items():
            ranges.check_number(f"calibration: {key}", getattr(self, key), allowed)
        for key, allowed in WHERE_KNOWN.items():
            ranges.check_numbers(f"calibration: {key}", (getattr(self, key),), allowed)
        for key in ROWS:
            ranges.check_numbers(f"calibration: {key}", getattr(self, key) or (), ranges.PICOFARADS)
        for key in MATRICES:
            rows = getattr(self, key) or ()
            if len(rows) > LARGEST_MATRIX or any(len(row) != len(rows) for row in rows):
                raise ranges.wrong(f"calibration: {key}", f"{len(rows)} rows", f"a square of at most {LARGEST_MATRIX}")
            ranges.check_numbers(f"calibration: {key}", list(chain.from_iterable(rows)), ranges.PICOFARADS)
