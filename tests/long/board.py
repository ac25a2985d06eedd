"""The figures of the boards that can be built: the design's beside those of decks made from the netlists.

What is said was worked out once with other decks, written by hand; nothing was measured, and nobody has built a board.
"""

from functools import partial

from tests.bench import commission_checks
from tests.firmware_sim.hardware import figures
from tests.long import Check


def _check(group: str, _: int, count: int) -> str:
    return figures.shown(getattr(figures, group), count)


CHECKS = (
    Check("board: safety", partial(_check, "safety"), 2),
    Check("board: 57 V on any two contacts", partial(_check, "any_two"), 1224, least=16),
    Check("board: ohms", partial(_check, "ohms"), 20, least=2, from_share=0.1),
    Check("board: look", partial(_check, "look"), 1),
    Check("board: bridge", partial(_check, "bridge"), 500, least=100, from_share=0.1),
    Check("board: bare", partial(_check, "bare"), 1),
    Check("board: echo, an add-on", partial(_check, "echo"), 20, least=4, from_share=0.1),
    Check("board: the simulator beside the decks", partial(_check, "simulator"), 1),
    Check("board: times", partial(_check, "times"), 1),
    Check("board: faulty boards are refused", commission_checks.faulty_boards_are_caught, 200, least=4),
    Check("board: boards off where no step sees it", commission_checks.what_no_step_sees, 2, from_share=0.1),
    Check("board: sound boards pass", commission_checks.sound_boards_pass, 2, from_share=0.1),
)
