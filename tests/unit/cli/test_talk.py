"""Progress: only when a person watches, only when the work takes a while."""

from __future__ import annotations

import io
import sys
import threading

import pytest

from stillwet.cli import talk as talk_module
from stillwet.cli.talk import Talk


class Screen(io.StringIO):
    """A stand-in for a terminal that says when something has been drawn."""

    def __init__(self, *, is_terminal: bool) -> None:
        super().__init__()
        self.is_terminal = is_terminal
        self.drawn = threading.Event()

    def isatty(self) -> bool:
        """True when a person is taken to be watching."""
        return self.is_terminal

    def flush(self) -> None:
        """Note that a line was drawn."""
        self.drawn.set()


def _screen(monkeypatch: pytest.MonkeyPatch, *, is_terminal: bool, patience_s: float) -> Screen:
    screen = Screen(is_terminal=is_terminal)
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(talk_module, "PATIENCE_S", patience_s)
    monkeypatch.setattr(talk_module, "TICK_S", 0.001)
    return screen


def test_long_work_is_shown_and_wiped_away(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line has the share done and the step's name, and nothing of it stays at the end."""
    screen = _screen(monkeypatch, is_terminal=True, patience_s=0.001)
    talk = Talk()
    talk.progress("what the sky will take", 0.4)
    assert screen.drawn.wait(5)
    talk.finish()
    lines = screen.getvalue().split("\r")
    assert any(" 40%  what the sky will take" in line for line in lines)
    assert lines[-1] == ""
    assert lines[-2].strip() == ""
    assert len(lines[-2]) >= max(len(line) for line in lines)


def test_short_work_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that ends before the patience runs out draws nothing."""
    screen = _screen(monkeypatch, is_terminal=True, patience_s=60.0)
    talk = Talk()
    talk.progress("reading the job", 0.0)
    talk.progress("done", 1.0)
    talk.finish()
    assert screen.getvalue() == ""


@pytest.mark.parametrize(("is_terminal", "quiet"), [(False, False), (True, True)])
def test_nobody_watching(monkeypatch: pytest.MonkeyPatch, is_terminal: bool, quiet: bool) -> None:
    """No thread is started when stderr is not a terminal, or when asked to be quiet."""
    screen = _screen(monkeypatch, is_terminal=is_terminal, patience_s=0.0)
    talk = Talk()
    talk.quiet = quiet
    before = threading.active_count()
    talk.progress("reading the job", 0.5)
    assert threading.active_count() == before
    talk.finish()
    assert screen.getvalue() == ""


def test_quiet_silences_notes(capsys: pytest.CaptureFixture[str]) -> None:
    """Notes go to stderr, and nowhere when asked to be quiet."""
    talk = Talk()
    talk.note("wrote plan.json")
    assert capsys.readouterr() == ("", "wrote plan.json\n")
    talk.quiet = True
    talk.note("wrote plan.json")
    assert capsys.readouterr() == ("", "")
