"""How hypothesis runs here: no deadline, for a busy machine is not a fault of the code."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("stillwet", deadline=None)
settings.load_profile("stillwet")
