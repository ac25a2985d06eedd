"""What is known of one tester: zero, scale, age, uncertainty. A Reading carries it, so judging reads no files."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Calibration:
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
