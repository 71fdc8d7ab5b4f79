"""The JSON API: one resource a file."""
