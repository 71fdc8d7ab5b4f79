"""What is kept of the engine: every answer it gives, for invented jobs that reach all of it."""

from __future__ import annotations

from kept.engine import lines, logs, mixes, plans, questions, rules, what_ifs
from kept.keeping import Groups

GROUPS: Groups = {
    "plans": plans.PLANS,
    "grounds": plans.GROUNDS,
    "why": questions.WHY,
    "work": questions.WORK,
    "suits": questions.SUITS,
    "rules": rules.RULES,
    "what_ifs": what_ifs.WHAT_IFS,
    "mixes": mixes.MIXES,
    "lines": lines.LINES,
    "line_grounds": lines.LINE_GROUNDS,
    "left": logs.LEFT,
    "board": logs.BOARD,
    "after": logs.AFTER,
    "watch": logs.WATCH,
}
