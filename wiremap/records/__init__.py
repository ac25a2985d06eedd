"""What is kept. In: Reading and Diagnosis. Out: files that can be checked."""
