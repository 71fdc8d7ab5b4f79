"""Text on its way into a table that a spreadsheet may open, and back: nothing of it is ever run.

A spreadsheet takes a cell that begins with one of ``=``, ``+``, ``-``, ``@``, tab or carriage
return for a formula (OWASP, "CSV Injection"; the wide forms of the first four count as well in some
languages). Such a text gets an apostrophe before it, and so does one that has apostrophes before
such a beginning already: taking one apostrophe off again always gives the text back.
"""

from __future__ import annotations

import re

_RISKY = re.compile("'*[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
# What XML 1.0 (section 2.2), and so a spreadsheet and GPX, cannot hold; no text file holds it.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def guarded(text: str) -> str:
    """The text with an apostrophe before it if a spreadsheet might run it; a number stays as is."""
    if _NUMBER.fullmatch(text):
        return text
    return f"'{text}" if _RISKY.match(text) else text


def unguarded(text: str) -> str:
    """The text that ``guarded`` was given."""
    return text[1:] if text.startswith("'") and _RISKY.match(text) else text


def table_text(text: str) -> str:
    """The text without characters that no table can hold, its line ends of one kind."""
    return _UNWRITABLE.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
