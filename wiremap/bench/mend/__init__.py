"""A guided repair, from the first test to the proof: what is reported comes in, the one thing to do comes out."""
