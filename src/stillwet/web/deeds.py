"""What a line of the audit means: a request in plain words."""

from __future__ import annotations

import re

# Of every door that does more than tell. Written down as asked, before anything is done.
DEEDS = {
    "POST /api/draft/edits": "changed the draft",
    "POST /api/draft/undo": "took an edit of the draft back",
    "POST /api/draft/redo": "brought an edit of the draft back",
    "POST /api/draft/files": "brought a file to the draft",
    "POST /api/runs": "planned, or made the packet",
    "DELETE /api/runs/{run_id}": "stopped a plan or packet",
    "POST /api/compare": "tried what changes of the job would do",
    "POST /api/clock": "held a device's clock against this machine's",
    "POST /api/log": "sent entries for the log",
    "POST /api/lines": "reckoned the lines",
    "POST /api/trials": "wrote trials down",
    "POST /api/trials/file": "brought a table of trials",
    "POST /api/proportioner": "reckoned proportioner checks",
    "POST /api/people": "let somebody in",
    "DELETE /api/people": "let somebody out",
    "POST /api/join": "joined again with a code",
    "POST /api/leave": "left",
}
_PATTERNS = {re.compile(re.sub(r"\{\w+\}", "[^/]+", deed)): words for deed, words in DEEDS.items()}


def deed_words(what: str) -> str:
    """A line's ``what`` in plain words; as it is where it is words, or of an older version."""
    return next((words for deed, words in _PATTERNS.items() if deed.fullmatch(what)), what)
