"""From a Reading to what is wrong and how to put it right; pure. In: Reading and Pattern. Out: Diagnosis."""
