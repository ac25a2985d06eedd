"""From a diagnosis to what to do: which end, in which order, what would run on the cable as it is."""
