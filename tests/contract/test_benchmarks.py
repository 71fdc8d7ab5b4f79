"""Every benchmark with a limit is guarded by make bench-guard, or told to be a longer one."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_every_limit_is_guarded_or_told() -> None:
    """A benchmark with a limit is in GUARDED, or on the page's list of longer ones."""
    limited = {
        path.stem.removeprefix("bench_")
        for path in (ROOT / "benchmarks").glob("bench_*.py")
        if re.search(r"^LIMIT", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    guarded = set(re.findall(r"^GUARDED := (.*)$", makefile, re.MULTILINE)[0].split())
    page = (ROOT / "docs" / "benchmarks.md").read_text(encoding="utf-8")
    (longer,) = re.findall(r"The longer ones with a limit \((.*?)\)", page, re.DOTALL)
    told = set(re.findall(r"bench_(\w+)\.py", longer))
    assert len(guarded) >= 5
    assert guarded | told == limited | told
    assert guarded <= limited
    assert not guarded & told
