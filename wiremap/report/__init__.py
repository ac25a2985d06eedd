"""What people read. In: Reading, Diagnosis, Capture. Out: text, pictures, sheets, never printed here."""
