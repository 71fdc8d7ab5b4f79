"""Frozen, validated records: what a job is made of and what a plan says. SI inside, no I/O."""
