"""Stillwet: how thick, how mixed and until when a gel coat holds against the coming fire."""

__version__ = "0.1.0"
