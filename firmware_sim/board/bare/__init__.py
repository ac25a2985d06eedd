"""The bare board: a pin of the chip behind a resistor at every contact, and nothing else."""
