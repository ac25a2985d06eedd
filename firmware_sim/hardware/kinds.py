"""The kinds of part that the boards are made of.

Pins and ratings are from memory of data sheets; compare them with the sheets of the parts that were bought. Prices are
estimates.
"""

from firmware_sim.hardware.part import Kind, Pin, Use


def _in_order(names: str, uses: dict[str, Use], other: Use) -> tuple[Pin, ...]:
    """Return pins 1, 2, ... by their names; uses says what those are that are not as the others."""
    of = {name: use for some, use in uses.items() for name in some.split()}
    return tuple(Pin(str(number), name, of.get(name, other)) for number, name in enumerate(names.split(), 1))


TWO_PINS = (Pin("1", "1"), Pin("2", "2"))


def _with_prefix(quantity: float) -> str:
    """Return 3000.0 as "3k", 2.2e-10 as "220p"."""
    for size, letter in ((1e3, "k"), (1.0, ""), (1e-6, "u"), (1e-9, "n"), (1e-12, "p")):
        if quantity >= size * 0.9999:
            return f"{quantity / size:g}{letter}"
    raise ValueError(f"{quantity} is smaller than any part here")


def resistor(ohm: float, tolerance: float = 0.01, watt: float = 0.25, volt: float | None = None) -> Kind:
    """Return a metal film resistor; 2 W come in a longer body."""
    big = watt > 1
    return Kind(
        "resistor",
        "R",
        _with_prefix(ohm),
        "axial, 17 x 6 mm" if big else "axial, 6.3 x 2.5 mm",
        "Resistor_THT:R_Axial_DIN0617_L17.0mm_D6.0mm_P20.32mm_Horizontal"
        if big
        else "Resistor_THT:R_Axial_DIN0207_L6.3mm_D2.5mm_P10.16mm_Horizontal",
        TWO_PINS,
        0.25 if big else 0.35 if tolerance < 0.005 else 0.04,
        ohm,
        tolerance,
        watt,
        volt or 200,
        "metal film" + (f", stands {volt:g} V" if volt else ""),
    )


def capacitor(farad: float, tolerance: float, ask_for: str, volt: float = 50) -> Kind:
    """Return a ceramic capacitor."""
    body = "Capacitor_THT:C_Disc_D5.0mm_W2.5mm_P5.00mm"
    package = "radial, 5 mm between leads"
    eur = 0.30 if "C0G" in ask_for else 0.10
    return Kind(
        "capacitor", "C", _with_prefix(farad), package, body, TWO_PINS, eur, farad, tolerance, None, volt, ask_for
    )


NETWORK_330 = Kind(
    "resistor network",
    "RN",
    "8 x 330",
    "DIP-16, 8 isolated",
    "Package_DIP:DIP-16_W7.62mm_Socket",
    _in_order("1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16", {}, Use.PASSIVE),
    0.80,
    330,
    0.02,
    0.125,
    100,
    "eight separate resistors",
    " ".join(str(number) for number in range(1, 17)),
)
CLAMP = Kind(
    "dual diode",
    "D",
    "BAV99",
    "SOT-23",
    "Package_TO_SOT_SMD:SOT-23",
    (Pin("1", "A"), Pin("2", "K"), Pin("3", "AK")),
    0.04,
    volt=70,
    ask_for="silicon, never Schottky: its leakage when warm ruins what is measured",
)
PORT = Kind(
    "port",
    "U",
    "MCP23S17",
    "DIP-28 in a socket",
    "Package_DIP:DIP-28_W7.62mm_Socket",
    _in_order(
        "GPB0 GPB1 GPB2 GPB3 GPB4 GPB5 GPB6 GPB7 VDD VSS CS SCK SI SO A0 A1 A2 RESET INTB INTA "
        "GPA0 GPA1 GPA2 GPA3 GPA4 GPA5 GPA6 GPA7",
        {"VDD VSS": Use.POWER_IN, "CS SCK SI A0 A1 A2 RESET": Use.INPUT, "SO": Use.TRI_STATE, "INTA INTB": Use.OUTPUT},
        Use.BIDIRECTIONAL,
    ),
    1.80,
    ask_for="16 lines, SPI, tri-state",
    free="GPA7 GPB4 GPB5 GPB6 GPB7 INTA INTB",
)
MULTIPLEXER = Kind(
    "multiplexer",
    "U",
    "74HC4067",
    "SO-24",
    "Package_SO:SOIC-24W_7.5x15.4mm_P1.27mm",
    _in_order(
        "Z Y7 Y6 Y5 Y4 Y3 Y2 Y1 Y0 S0 S1 GND S3 S2 E Y15 Y14 Y13 Y12 Y11 Y10 Y9 Y8 VCC",
        {"Z": Use.BIDIRECTIONAL, "GND VCC": Use.POWER_IN},
        Use.INPUT,  # a channel only looks: it lets no current through but what its common takes
    ),
    0.90,
    ask_for="HC at 3.3 V, not HCT; a ready module does",
    free="Y12 Y13 Y14 Y15",
)
QUAD = Kind(
    "quad op-amp",
    "U",
    "MCP6004",
    "DIP-14",
    "Package_DIP:DIP-14_W7.62mm_Socket",
    _in_order(
        "OUT1 IN1- IN1+ VDD IN2+ IN2- OUT2 OUT3 IN3- IN3+ VSS IN4+ IN4- OUT4",
        {"OUT1 OUT2 OUT3 OUT4": Use.OUTPUT, "VDD VSS": Use.POWER_IN},
        Use.INPUT,
    ),
    0.70,
    ask_for="CMOS, rail to rail at input and output, offset to 4.5 mV",
)
CONVERTER = Kind(
    "converter module",
    "U",
    "ADS1115",
    "module, 10 pins at 2.54 mm",
    "Connector_PinSocket_2.54mm:PinSocket_1x10_P2.54mm_Vertical",
    _in_order(
        "VDD GND SCL SDA ADDR ALRT A0 A1 A2 A3",
        {"VDD GND": Use.POWER_IN, "SDA": Use.BIDIRECTIONAL, "ALRT": Use.OUTPUT},
        Use.INPUT,
    ),
    4.00,
    ask_for="16 bit, I2C, 4 inputs, 860 a second, with its two pull-ups on the module",
    free="ALRT",
)
SWITCH = Kind(
    "P-channel FET",
    "Q",
    "IRLML6402",
    "SOT-23",
    "Package_TO_SOT_SMD:SOT-23",
    _in_order("G S D", {"G": Use.INPUT, "D": Use.POWER_OUT}, Use.PASSIVE),
    0.20,
    ask_for="under 0.2 ohm at 2.5 V from gate to source",
)
SHUNT = Kind(
    "shunt regulator",
    "U",
    "TL431B",
    "TO-92; flat side to you, left to right R A K",
    "Package_TO_SOT_THT:TO-92_Inline",
    _in_order("R A K", {"R": Use.INPUT}, Use.PASSIVE),
    0.30,
    tolerance=0.005,
    ask_for="grade of 0.5 %, 100 mA",
)
JACK = Kind(
    "jack",
    "J",
    "8P8C, screened",
    "for the circuit board, or on a carrier",
    "Connector_RJ:RJ45_Amphenol_RJHSE5380",
    (*_in_order("1 2 3 4 5 6 7 8", {}, Use.PASSIVE), Pin("SH", "S")),
    1.20,
    ask_for="modular jack without magnetics; its screen touches neither case nor ground",
)
PICO = Kind(
    "controller",
    "U",
    "Raspberry Pi Pico",
    "module, 40 pins",
    "Module:RaspberryPi_Pico_Common_THT",
    _in_order(
        "GP0 GP1 GND GP2 GP3 GP4 GP5 GND GP6 GP7 GP8 GP9 GND GP10 GP11 GP12 GP13 GND GP14 GP15 "
        "GP16 GP17 GND GP18 GP19 GP20 GP21 GND GP22 RUN GP26 GP27 AGND GP28 ADC_VREF 3V3 3V3_EN GND VSYS VBUS",
        {"GND AGND 3V3": Use.POWER_OUT, "RUN 3V3_EN": Use.INPUT, "ADC_VREF VSYS VBUS": Use.PASSIVE},
        Use.BIDIRECTIONAL,
    ),
    4.50,
    ask_for="the first Pico, RP2040: its successor's inputs leak",
    free=" ".join(f"GP{number}" for number in range(29)) + " RUN ADC_VREF 3V3 3V3_EN VSYS VBUS",
)
