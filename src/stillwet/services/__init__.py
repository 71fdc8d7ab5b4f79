"""Use cases: the only place with a clock and paths."""
