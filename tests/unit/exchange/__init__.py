"""Checks of the readers."""
