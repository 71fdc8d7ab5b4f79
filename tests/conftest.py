"""How hypothesis runs here: no deadline, for a busy machine is not a fault of the code.

Where CI is set the draws are the same every time, so that a change is what turns a test red;
elsewhere they are new in every run, and so go on looking.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("stillwet", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("stillwet")
