"""Whole answers, kept as they were: a change of any number or word of them is seen."""
