"""Records in, answers out; no I/O, no clock, randomness only from a given seed."""
