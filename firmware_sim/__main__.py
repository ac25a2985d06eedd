"""`python -m firmware_sim`: the tester without a tester."""

import sys

from firmware_sim.launcher import main

if __name__ == "__main__":
    sys.exit(main())
