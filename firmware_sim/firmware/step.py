"""The step and the counts after it: four small programs for the chip's programmable I/O.

The step leaves at GP15 and comes back through the comparator at GP16. Counting takes two cycles a count, 16 ns.
Programs and the two cycles of the input's synchroniser give, for a comparator that changes t after the step:
count_up sees it in count k when 16 k - 24 ns < t <= 16 k - 8 ns, count_down when 16 k + 16 ns < t <= 16 k + 32 ns.
count_down looks away at first, so that the launch, delayed by up to a tick, is over when it looks: a fall within
32 ns (about 3 m) is count 0.
"""

import time

import bus
from machine import PWM, Pin
from rp2 import PIO, StateMachine, asm_pio

TYPE_CHECKING = False
if TYPE_CHECKING:
    from rp2.asm_pio import *

CLOCK_HZ = 125_000_000
CYCLE_PS = 8_000
TICK_PS = 16_000
COMPARATOR_PS = 4_000  # its delay, from its data sheet
# From the first count to the step at the contact, so that ticks * TICK_PS less this and the dither is the time.
UP_LAUNCH_PS = 16_000 + COMPARATOR_PS
DOWN_LAUNCH_PS = -24_000 + COMPARATOR_PS
WORDS = 8  # what the sampler's queue holds: 256 samples of one cycle
FULL_DUTY = 65536
THRESHOLD_US = 300  # ten time constants of the threshold's filter


@asm_pio(set_init=PIO.OUT_LOW)
def count_up() -> None:
    """Count from the step until the comparator is high; X passes zero to all ones when it never is."""
    wrap_target()
    pull()
    mov(x, osr)
    set(pins, 1)
    label("count")
    jmp(pin, "there")
    jmp(x_dec, "count")
    label("there")
    mov(isr, x)
    set(pins, 0)
    push()
    wrap()


@asm_pio(set_init=PIO.OUT_LOW)
def count_down() -> None:
    """Count from the step, after which the comparator must be high, until it is low again."""
    wrap_target()
    pull()
    mov(x, osr)
    set(pins, 1)[5]
    label("count")
    jmp(pin, "still")
    jmp("there")
    label("still")
    jmp(x_dec, "count")
    label("there")
    mov(isr, x)
    set(pins, 0)
    push()
    wrap()


@asm_pio(set_init=PIO.OUT_LOW, in_shiftdir=PIO.SHIFT_LEFT, autopush=True, push_thresh=32, fifo_join=PIO.JOIN_RX)
def sample() -> None:
    """Send the step out and sample the comparator in every cycle; it stops when the queue is full."""
    set(pins, 1)
    wrap_target()
    in_(pins, 1)
    wrap()


@asm_pio()
def edges() -> None:
    """Queue a word for every rising edge."""
    wrap_target()
    wait(0, pin, 0)
    wait(1, pin, 0)
    push(noblock)
    wrap()


_step = Pin(15)
_comparator = Pin(16, Pin.IN)
_threshold = PWM(Pin(17), freq=122_000, duty_u16=FULL_DUTY // 2)
_up = StateMachine(0, count_up, freq=CLOCK_HZ, set_base=_step, jmp_pin=_comparator)
_down = StateMachine(1, count_down, freq=CLOCK_HZ, set_base=_step, jmp_pin=_comparator)
_sampler = StateMachine(2, sample, freq=CLOCK_HZ, set_base=_step, in_base=_comparator)
_edges = StateMachine(3, edges, freq=CLOCK_HZ, in_base=_comparator)


def down() -> None:
    """Take the step down and stop every program."""
    for machine in (_up, _down, _sampler, _edges):
        machine.active(0)
    _up.exec("set(pins, 0)")


def threshold(share: int) -> None:
    """Set the comparator's threshold, in 65536ths of the supply, and wait until the filter has followed."""
    _threshold.duty_u16(share)
    time.sleep_us(THRESHOLD_US)


def count(limit: int, rising: bool) -> int:
    """Send a step and return the count at which the comparator changes, -1 when it does not within the limit."""
    machine = _up if rising else _down
    machine.active(1)
    machine.put(limit)
    left = machine.get()
    machine.active(0)
    if left > limit:
        return -1
    return limit - left


def samples(words: "list[int]") -> None:
    """Send a step and put its 256 samples into eight words, the earliest in the highest bit."""
    _sampler.restart()
    _sampler.active(1)
    for place in range(WORDS):
        words[place] = _sampler.get()
    _sampler.active(0)
    while _sampler.rx_fifo():
        _sampler.get()
    _sampler.exec("set(pins, 0)")


def listen_begin() -> None:
    """Start to catch edges."""
    while _edges.rx_fifo():
        _edges.get()
    _edges.restart()
    _edges.active(1)


def heard() -> bool:
    """Return whether an edge came since listen_begin, and stop."""
    found = _edges.rx_fifo() > 0
    _edges.active(0)
    return found


def phases(count: int) -> "list[int]":
    """Return delays that step evenly through one tick, picoseconds, as the delay converter makes them."""
    step = bus.DELAY_STEP_PS
    return [(number * TICK_PS // count + step // 2) // step * step for number in range(count)]
