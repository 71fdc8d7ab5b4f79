"""Use case: the wet board of an open job, reckoned quickly again and again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from stillwet.domain.board import Board
from stillwet.services.left import LeftReckoner
from stillwet.services.line_watch import lag_alarms

_MOST_KEPT = 64  # boards kept for the moments that were asked for


class BoardDesk:
    """Boards of one job file, each kept until the file changes."""

    def __init__(self, path: Path) -> None:
        self._reckoner = LeftReckoner(path)
        self._boards: dict[tuple[float, float], Board] = {}

    def board_json(self, at_s: float, now_s: float, units: str) -> dict[str, Any]:
        """The board at ``at_s`` as plain data, in the reader's units."""
        from stillwet.reports.board_json import board_to_json

        board = self.board(at_s, now_s)
        plain = board_to_json(board, now_s=now_s, units=units)
        late = lag_alarms(self._reckoner.path, at_s=at_s, now_s=now_s)
        stamp = self._reckoner.stamp
        return {
            **plain,
            "alarms": [*late, *plain["alarms"]],
            "log_row": 0 if stamp is None else stamp.log_row,
        }

    def board(self, at_s: float, now_s: float) -> Board:
        """The board at ``at_s`` by what is known ``now_s``, of the file as it stands."""
        if self._reckoner.look(now_s):
            self._boards.clear()
        if (at_s, now_s) not in self._boards:
            if len(self._boards) >= _MOST_KEPT:
                self._boards.pop(next(iter(self._boards)))
            self._boards[at_s, now_s] = self._make(at_s, now_s)
        return self._boards[at_s, now_s]

    def _make(self, at_s: float, now_s: float) -> Board:
        from stillwet.engine.board import make_board

        left = self._reckoner.left(at_s, now_s=now_s)
        made = self._reckoner.made
        known = self._reckoner.known(now_s)
        return make_board(made.prepared.job, made.plan, made.view.crew_plan, left, known)
