"""How long the run is, by each method and fused, and whether it is as long as specified."""
