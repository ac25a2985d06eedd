"""What the tester saw, unjudged: the Reading, its checks, its file forms."""
