"""What the simulator of a board needs of its parts: whole numbers, read off the netlist by the nets that parts join."""

from dataclasses import dataclass

from firmware_sim.hardware.part import GROUND, Board

SHUNT_REFERENCE_MV = 2_495  # TL431, from memory of its data sheet


@dataclass(frozen=True)
class BenchValues:
    """The bench board's parts: ohms, femtofarads, millivolts; tolerances in millionths; JSON by `asdict`."""

    drive_ohm: int
    drive_tolerance: int
    port_series_ohm: int
    port_series_tolerance: int
    sense_ohm: int
    sense_tolerance: int
    up_ohm: int
    up_tolerance: int
    dn_ohm: int
    dn_tolerance: int
    step_ff: int
    step_tolerance: int
    pedestal_ff: int
    pedestal_tolerance: int
    step_series_ohm: int
    gain_thousandths: int
    known_top_ohm: int
    known_ohm: int
    known_bottom_ohm: int
    known_tolerance: int
    ground_lead_ohm: int
    lift_ohm: int
    converter_series_ohm: int
    shunt_mv: int
    bleed_ohm: int


@dataclass(frozen=True)
class BareValues:
    """The bare board's one value: ohms, its tolerance in millionths."""

    series_ohm: int
    series_tolerance: int


def _quantity(board: Board, a: str, b: str, name: str = "resistor", scale: float = 1.0) -> int:
    quantity = board.between(a, b, name).kind.quantity
    assert quantity is not None
    return round(quantity * scale)


def _tolerance(board: Board, a: str, b: str, name: str = "resistor") -> int:
    tolerance = board.between(a, b, name).kind.tolerance
    assert tolerance is not None
    return round(tolerance * 1_000_000)


def bench_values(board: Board) -> BenchValues:
    """Return the values of the bench board; contacts and sides are alike, so the first stands for all."""
    network = board.part("RN1").kind
    assert network.quantity is not None
    assert network.tolerance is not None
    above, below = _quantity(board, "VC", "SHUNT_REF"), _quantity(board, "SHUNT_REF", GROUND)
    return BenchValues(
        drive_ohm=_quantity(board, "N1", "N1_K"),
        drive_tolerance=_tolerance(board, "N1", "N1_K"),
        port_series_ohm=round(network.quantity),
        port_series_tolerance=round(network.tolerance * 1_000_000),
        sense_ohm=_quantity(board, "N1", "N1_S"),
        sense_tolerance=_tolerance(board, "N1", "N1_S"),
        up_ohm=_quantity(board, "UP_A", "COM_A"),
        up_tolerance=_tolerance(board, "UP_A", "COM_A"),
        dn_ohm=_quantity(board, "DN_A", "COM_A"),
        dn_tolerance=_tolerance(board, "DN_A", "COM_A"),
        step_ff=_quantity(board, "STEP_A_C", "COM_A", "capacitor", 1e15),
        step_tolerance=_tolerance(board, "STEP_A_C", "COM_A", "capacitor"),
        pedestal_ff=_quantity(board, "PED_A_C", "COM_A", "capacitor", 1e15),
        pedestal_tolerance=_tolerance(board, "PED_A_C", "COM_A", "capacitor"),
        step_series_ohm=_quantity(board, "STEP_A", "STEP_A_C"),
        gain_thousandths=1_000 + 2_000 * _quantity(board, "X11_A", "GAIN_A") // _quantity(board, "GAIN_A", "GAIN_B"),
        known_top_ohm=_quantity(board, "VC", "KNOWN_HI"),
        known_ohm=_quantity(board, "KNOWN_HI", "KNOWN_LO"),
        known_bottom_ohm=_quantity(board, "KNOWN_LO", GROUND),
        known_tolerance=_tolerance(board, "KNOWN_HI", "KNOWN_LO"),
        ground_lead_ohm=_quantity(board, "NGND", GROUND),
        lift_ohm=_quantity(board, "LIFT", "NGND"),
        converter_series_ohm=_quantity(board, "BUF_A", "ADC_A"),
        shunt_mv=SHUNT_REFERENCE_MV * (above + below) // below,
        bleed_ohm=_quantity(board, "VC", GROUND),
    )


def bare_values(board: Board) -> BareValues:
    """Return the values of the bare board."""
    return BareValues(_quantity(board, "N1", "N1_P"), _tolerance(board, "N1", "N1_P"))


def values_rows(board: Board) -> list[tuple[str, ...]]:
    """Return the values of any board as rows: what it is, how much, how far off the part may be."""
    head = ("what", "value", "tolerance")
    if board.name != "bench":
        bare = bare_values(board)
        return [head, ("contact to pin", f"{bare.series_ohm} ohm", _percent(bare.series_tolerance))]
    v = bench_values(board)
    return [
        head,
        ("drive", f"{v.drive_ohm} ohm", _percent(v.drive_tolerance)),
        ("between clamp and port", f"{v.port_series_ohm} ohm", _percent(v.port_series_tolerance)),
        ("sense", f"{v.sense_ohm} ohm", _percent(v.sense_tolerance)),
        ("UP", f"{v.up_ohm} ohm", _percent(v.up_tolerance)),
        ("DN", f"{v.dn_ohm} ohm", _percent(v.dn_tolerance)),
        ("known capacitor", f"{v.step_ff} fF", _percent(v.step_tolerance)),
        ("pedestal", f"{v.pedestal_ff} fF", _percent(v.pedestal_tolerance)),
        ("in series with both", f"{v.step_series_ohm} ohm", ""),
        ("gain of the difference", f"{v.gain_thousandths / 1000:g}", ""),
        ("known divider", f"{v.known_top_ohm} + {v.known_ohm} + {v.known_bottom_ohm} ohm", _percent(v.known_tolerance)),
        ("near port's ground lead", f"{v.ground_lead_ohm} ohm", ""),
        ("lift", f"{v.lift_ohm} ohm", ""),
        ("in series with the Pico's converter", f"{v.converter_series_ohm} ohm", ""),
        ("shunt holds VC under", f"{v.shunt_mv} mV", ""),
        ("bleed", f"{v.bleed_ohm} ohm", ""),
    ]


def _percent(millionths: int) -> str:
    return f"{millionths / 10_000:g} %"
