"""`python -m firmware_sim`: the tester without a tester; `python -m firmware_sim board`: how to build one."""

import sys

from firmware_sim.hardware.command import board_command
from firmware_sim.launcher import main

if __name__ == "__main__":
    words = sys.argv[1:]
    sys.exit(board_command(words[1:]) if words[:1] == ["board"] else main(words))
