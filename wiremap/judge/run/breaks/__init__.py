"""Where along the run a fault lies."""
