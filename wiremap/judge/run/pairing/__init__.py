"""Which conductors are twisted together, and which expected pairs are split."""
