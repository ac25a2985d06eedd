"""Where a repair goes on: which plug, piece or lead a fault is in, and which answers are believed."""
