"""Stillwet: how thick, how mixed and until when a gel coat holds against the coming fire."""

from stillwet.version import VERSION

__version__ = VERSION
