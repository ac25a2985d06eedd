"""Limits: every threshold of judging, as data with its reason (limits.toml).

A capture carries the limits it was judged with, so that a later version judges it alike.
"""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar, cast, get_args

from msgspec import Struct

from wiremap.cable.tables import Table, read_table

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind
    from wiremap.cable.materials import Materials
    from wiremap.cable.remotes import RemoteSet

T = TypeVar("T")
Basis = Literal["standard", "practice", "assumption"]
FILE = Path(__file__).with_name("limits.toml")


class Limits(Struct, frozen=True):
    """The thresholds; limits.toml says why each is what it is. Ohms, volts or plain ratios, as the name says.

    joined_ohm: two contacts are joined up to here. high_resistance_ohm: an expected conductor counts as joined
    up to here. leakage_ohm: any other two contacts leak below this.
    terminated_*: on a bus contacts are metal up to joined_ohm, and resistors are looked for up to network_ohm.
    step_*: a conductor is of high resistance above the median of its cable by more than the greatest of
    step_ohm, step_ratio x median and step_uncertainties x standard uncertainty.
    unbalance_*: a pair's Rmax - Rmin may be unbalance_ratio x (Rmax + Rmin), but never has to be under
    unbalance_floor_ohm; not checked where that is under unbalance_resolutions x the tester's resolution.
    film_*: a resistance that falls by more than film_ohm, and by more than film_sigmas deviations of the
    tester's low level where it says them, is a film.
    pairing_confirmed, pairing_likely: margin of a pairing, in standard uncertainties. pairing_floor_pf: least
    standard uncertainty of a capacitance in it. unsteady_*: joined contacts whose capacitances differ by more were not
    joined all the while. pairing_contrast: partners must stand out by this share.
    section_*: how a split section of a run is seen.
    pairing_direct_contrast: the same by direct capacitances. *_uneven: how uneven these are, relative. quad_*, row_*:
    what tells a star quad and conductors side by side from pairs.
    *_m: shortest cable of which each way of seeing split pairs says anything; pairing_large_pins_factor times
    that for two-terminal values where a contact has more than pairing_large_pins_pf.
    longest_m: longest run.
    plug_m: a fault nearer than this to an end is in its plug. broken_share: with the far end open, a conductor
    that shows less than this share of the others' capacitance is broken. early_echo_share: a pair whose echo comes
    within this share of the latest one's time ends early.
    echo_zero_u_ps, break_*, place_sigmas, short_*, partners_u, pairs_u, conductors_u, halves_u: uncertainties in
    finding and placing a break or a short. broken_pair_share, alone_share: a pair, a conductor, with less of others'
    capacitance is cut short. partners_part: partners part by no more than this.
    screen_share, present_*: what tells a conductor or screen from a bare contact. screened_pf: a screen shows more.
    pairing_cord_*: against a good cord of the same kind. split_*, sound_impedance_ratio, launch_u: what split pairs
    show to echoes, as ratios. remote_*: how well readings of a remote must fit. plugged_pf: a cable is in a socket.
    stray_pf, near_pin_ohm, far_pin_ohm, plug_*, and names ending in _u, _u_pf, _u_ps: of the measurement itself.
    trace_*: how a sampled reflection is read, picoseconds and parts of the drive.
    other_gauge, clad_*, strand_factor, shape_*: what kinds of cable may be; see reasons.
    own_*: what a metre of cable is taken for, the remotes, and the kinds of cable; None = those that ship.
    """

    joined_ohm: float
    high_resistance_ohm: float
    leakage_ohm: float
    step_ohm: float
    step_ratio: float
    step_uncertainties: float
    unknown_resolution_ohm: float
    terminated_joined_ohm: float
    terminated_network_ohm: float
    unbalance_ratio: float
    unbalance_floor_ohm: float
    unbalance_resolutions: float
    film_ohm: float
    film_sigmas: float
    foreign_voltage_v: float
    equipment_loop_ohm: float
    equipment_between_ohm: float
    pairing_confirmed: float
    pairing_likely: float
    pairing_floor_pf: float
    unsteady_pf: float
    unsteady_share: float
    pairing_contrast: float
    pairing_direct_contrast: float
    pairing_uneven: float
    pairing_two_terminal_uneven: float
    pairing_likely_m: float
    quad_middle: float
    quad_sigmas: float
    quad_from: float
    quad_from_u: float
    quad_hidden: float
    quad_to: float
    quad_to_u: float
    row_conductors: float
    row_level_pf: float
    row_alike: float
    row_third: float
    row_u_pf: float
    row_m: float
    pairing_refined: float
    pairing_least_pf: float
    usual_direct_pf_per_m: float
    section_z: float
    section_walked_z: float
    section_alone_z: float
    section_confirmed: float
    section_power_z: float
    section_usual_z: float
    section_coupled_pf: float
    section_least_coupled: float
    section_rise: float
    section_from_ps: float
    section_to_end: float
    section_place_m: float
    section_place_share: float
    section_share_u: float
    pairing_two_terminal_m: float
    pairing_two_terminal_screened_m: float
    pairing_large_pins_pf: float
    pairing_large_pins_factor: float
    pairing_reference_m: float
    lengths_m: float
    launch_m: float
    echoes_m: float
    longest_m: float
    plug_m: float
    broken_share: float
    early_echo_share: float
    echo_zero_u_ps: float
    break_plug_pf: float
    break_sigmas: float
    place_sigmas: float
    partners_u: float
    quad_partners_u: float
    pairs_u: float
    conductors_u: float
    broken_pair_share: float
    one_broken_sigmas: float
    two_terminal_place_u: float
    partners_part: float
    alone_share: float
    halves_u: float
    short_contacts_u_ohm: float
    short_whole_loop: float
    short_conductors_u: float
    screen_share: float
    screened_pf: float
    pairing_cord_floor_pf: float
    pairing_cord_longer: float
    present_sigmas: float
    present_share: float
    split_time_ratio: float
    sound_impedance_ratio: float
    split_impedance_ratio: float
    launch_u: float
    remote_sigmas: float
    remote_gain_share: float
    plugged_pf: float
    stray_pf: float
    near_pin_ohm: float
    far_pin_ohm: float
    drift_u_per_year: float
    offset_u_pf: float
    plug_next_pf: float
    plug_next_u_pf: float
    plug_second_pf: float
    plug_second_u_pf: float
    comparator_u_ps: float
    earliest_count_sigmas: float
    coarsest_loop_u: float
    echo_shape_u: float
    neighbours_u: float
    split_capacitance_unscreened: float
    split_capacitance_unscreened_tied: float
    split_capacitance_screened: float
    split_capacitance_screened_tied: float
    split_ratio_unscreened: float
    split_ratio_screened: float
    trace_launch_from_ps: float
    trace_launch_to_ps: float
    trace_before_echo_ps: float
    trace_settled_share: float
    trace_faintest_share: float
    trace_second_share: float
    trace_shape_u_ps: float
    plug_scatter: float
    asymmetry_pf_per_root_m: float
    usual_pf_per_m: float
    coarsest_capacitance_u: float
    two_terminal_u: float
    tolerated_chi2: float
    other_gauge: float
    clad_share: float
    clad_factor: float
    strand_factor: float
    least_of_floating: float
    shape_pairs: float
    shape_pairs_u: float
    shape_each_u: float
    shape_overall_floating: float
    shape_each_floating: float
    shape_floating_u: float
    wet_likely: float
    wet_confirmed: float
    metal_remark: float
    metal_likely: float
    metal_confirmed: float
    impedance_spread_u: float
    same_reel_u: float
    same_reel_share: float
    same_make_u: float
    same_make_share: float
    unknown_gauge_u: float
    velocity_of_kinds_u: float
    velocity_of_makes_u: float
    velocity_of_reels_u: float
    impedance_of_kinds_u: float
    impedance_of_makes_u: float
    impedance_of_reels_u: float
    resistance_of_kinds_u: float
    resistance_of_makes_u: float
    resistance_of_reels_u: float
    spoken_against: float
    told_nvp_u: float
    echo_impedance_ratio: float
    metal_from_m: float
    wet_fall: float
    wet_deepest: float
    wet_together: float
    wet_sure_fall: float
    wet_slower: float
    wet_slower_u: float
    wet_fuller: float
    own_materials: "Materials | None" = None
    own_remotes: "RemoteSet | None" = None
    own_kinds: "tuple[Kind, ...] | None" = None

    @property
    def materials(self) -> "Materials":
        """Return what a metre of cable is taken for; those that ship are read when they are first asked for."""
        from wiremap.cable.materials import materials

        return self.own_materials or materials()

    @property
    def remotes(self) -> "RemoteSet":
        """Return the remotes that a far end may be in."""
        from wiremap.cable.remotes import remote_set

        return self.own_remotes or remote_set()

    @property
    def kinds(self) -> "tuple[Kind, ...]":
        """Return the kinds of cable that are thought of."""
        from wiremap.cable.kinds import kinds

        return self.own_kinds or kinds()

    def to_builtins(self) -> dict[str, float]:
        """Return the thresholds as a plain dict, for a capture; materials and remotes have forms of their own."""
        return {name: getattr(self, name) for name in THRESHOLDS}


RETIRED = ("disagreement", "pairing_direct_m")  # that records of earlier versions carry, and nothing asks for any more
OWN = ("own_materials", "own_remotes", "own_kinds")
THRESHOLDS = tuple(name for name in Limits.__struct_fields__ if name not in OWN)


class Threshold(Struct, frozen=True):
    """One limit with its reason; basis: where the value comes from."""

    name: str
    value: float
    basis: Basis
    reason: str


def read_thresholds(path: Path) -> tuple[Threshold, ...]:
    """Read a file of limits, every one of them; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    found = []
    for name in THRESHOLDS:
        entry = table.take_table(name)
        value = entry.take_number("value", 1e-6, 1e9)
        basis = cast(Basis, entry.take_choice("basis", get_args(Basis)))
        found.append(Threshold(name, value, basis, entry.take_text("reason")))
        entry.finish()
    table.finish()
    return tuple(found)


@cache
def limits() -> Limits:
    """Return the limits that ship."""
    values: dict[str, Any] = {threshold.name: threshold.value for threshold in read_thresholds(FILE)}
    return Limits(**values)


def limits_from_builtins(
    plain: dict[str, object],
    own_materials: dict[str, object] | None = None,
    own_remotes: dict[str, object] | None = None,
    own_kinds: dict[str, object] | None = None,
) -> Limits:
    """Return the limits a capture carries; FileError names a value that is missing, unknown or not allowed.

    A limit that the capture's version did not know yet takes the value that ships; materials, remotes and kinds that
    the capture does not carry (None or empty) are those that ship.
    """
    from wiremap.cable.kinds import kinds, kinds_from
    from wiremap.cable.materials import materials, materials_from
    from wiremap.cable.remotes import remote_set, remotes_from

    table = Table("limits", plain)
    shipped = limits()
    values: dict[str, Any] = {name: table.take_number(name, 1e-6, 1e9, getattr(shipped, name)) for name in THRESHOLDS}
    for name in RETIRED:
        table.take_number(name, 1e-6, 1e9, 1.0)
    table.finish()
    return Limits(
        **values,
        own_materials=_other(materials_from(Table("materials", own_materials)), materials()) if own_materials else None,
        own_remotes=_other(remotes_from(Table("remotes", own_remotes)), remote_set()) if own_remotes else None,
        own_kinds=_other(kinds_from(Table("kinds", own_kinds)), kinds()) if own_kinds else None,
    )


def _other(found: T, shipped: T) -> T | None:
    """Return what was found where it is not what ships, else None."""
    return None if found == shipped else found
