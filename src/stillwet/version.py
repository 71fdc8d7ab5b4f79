"""The version of the program, which every plan records."""

from __future__ import annotations

VERSION = "0.1.0"
