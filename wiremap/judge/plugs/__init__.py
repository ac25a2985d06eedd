"""From what is joined, paired and seen to what the plugs hold, and how likely: orders, priors, evidence, looks."""
