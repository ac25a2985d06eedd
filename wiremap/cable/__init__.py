"""What a cable is before any measurement.

In: data files (patterns, colours, terminations, limits). Out: frozen types.
"""
