"""Use case: the wet board of an open job, reckoned quickly again and again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.board import Board
from stillwet.domain.log_merge import standing
from stillwet.domain.plan import Plan
from stillwet.services.job_view import JobView, view_job
from stillwet.services.trials import with_trials
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import load_log
from stillwet.store.stamp import Stamp, stamp_of

if TYPE_CHECKING:
    from stillwet.domain.log import Entry
    from stillwet.engine.prepared import Prepared

_CLOCK_AHEAD_S = 900.0  # by so much a phone's clock may be ahead of this machine's
_MOST_KEPT = 64  # boards kept for the moments that were asked for


class BoardDesk:
    """Keeps what is costly of one job file: the prepared job, its plan, and boards already made.

    Everything is made anew when the file's stamp says that it has changed.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._stamp: Stamp | None = None
        self._view: JobView | None = None
        self._prepared: Prepared | None = None
        self._plan: Plan | None = None
        self._entries: tuple[Entry, ...] = ()
        self._boards: dict[float, Board] = {}

    def board_json(self, at_s: float, now_s: float, units: str) -> dict[str, Any]:
        """The board at ``at_s`` as plain data, in the reader's units."""
        from stillwet.reports.board_json import board_to_json

        board = self.board(at_s, now_s)
        return {**board_to_json(board, now_s=now_s, units=units), "log_row": self._log_row}

    def board(self, at_s: float, now_s: float) -> Board:
        """The board at ``at_s``, of the file as it stands."""
        from stillwet.engine.board import make_board
        from stillwet.engine.left import what_is_left

        self._look(now_s)
        assert self._view is not None
        assert self._prepared is not None
        assert self._plan is not None
        if at_s not in self._boards:
            job = self._prepared.job
            known = _by_now(self._entries, now_s)
            left = what_is_left(self._prepared, self._plan, known, now_s=at_s, seed=job.seed)
            if len(self._boards) >= _MOST_KEPT:
                self._boards.pop(next(iter(self._boards)))
            self._boards[at_s] = make_board(job, self._plan, self._view.crew_plan, left, known)
        return self._boards[at_s]

    @property
    def _log_row(self) -> int:
        return 0 if self._stamp is None else self._stamp.log_row

    def _look(self, now_s: float) -> None:
        """Take up what has changed in the file since it was last looked at."""
        with open_job_file(self._path, now_s=now_s) as job_file:
            stamp = stamp_of(job_file)
            if stamp == self._stamp:
                return
            self._entries = standing(load_log(job_file)).entries
        self._boards.clear()
        before, self._stamp = self._stamp, stamp
        if before is None or _without_log(before) != _without_log(stamp):
            self._take_job(now_s)

    def _take_job(self, now_s: float) -> None:
        from stillwet.engine.make_plan import plan_of
        from stillwet.engine.prepared import prepare

        self._view = view_job(self._path, now_s=now_s)
        self._prepared = prepare(with_trials(self._view.job))
        kept = self._view.plan
        is_own = kept is not None and kept.input_hash == self._view.job.input_hash
        self._plan = kept if is_own else plan_of(self._prepared, now_s=self._view.job.start_s)


def _by_now(entries: tuple[Entry, ...], now_s: float) -> tuple[Entry, ...]:
    """The entries of what has happened; those of a clock a little ahead happened just now."""
    near = (entry for entry in entries if entry.when_s <= now_s + _CLOCK_AHEAD_S)
    return tuple(replace(entry, when_s=min(entry.when_s, now_s)) for entry in near)


def _without_log(stamp: Stamp) -> tuple[object, ...]:
    return (stamp.input_hash, stamp.coats_row, stamp.crews_row, stamp.lines_row, stamp.trials_row)
