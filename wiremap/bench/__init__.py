"""Loops around the tester at the bench: waiting for cables, watching for intermittents."""
