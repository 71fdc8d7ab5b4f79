"""Stillwet: how thick, how mixed, until when a gel coat holds water against the fire that is coming."""

__version__ = "0.1.0"
