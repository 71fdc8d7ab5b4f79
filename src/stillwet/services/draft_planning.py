"""Use cases that take time: a draft checked, files brought in, planned, explained, compared.

They run beside the server, in a process that can be stopped.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from stillwet.domain.draft import AddRows, Planned, SetFile, SetTexts, Step
from stillwet.domain.job import Job
from stillwet.domain.sharing import SourceFile
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.drafting import (
    DraftBook,
    Writer,
    add_steps,
    check_document,
    keep_upload,
    kept_hash,
    look_at_draft,
    materialised,
    plain_name,
)
from stillwet.services.planning import Progress
from stillwet.version import VERSION

MOST_UPLOAD = 50_000_000
_KINDS = {
    **dict.fromkeys(("assets", "lines", "streams", "wells", "crews", "water", "depots"), "list"),
    **dict.fromkeys(("weather", "trials", "roads"), "slot"),
    "product": "product",
}
UPLOADS = tuple(_KINDS)
LIST_UPLOADS = tuple(name for name, kind in _KINDS.items() if kind == "list")
SLOT_UPLOADS = tuple(name for name, kind in _KINDS.items() if kind == "slot")


class DraftDesk:
    """Whatever has to be read or reckoned of the draft in one job file, by name."""

    def __init__(self, path: Path) -> None:
        self._path, self._book = path, DraftBook(path)

    def check(self, now_s: float) -> dict[str, Any]:
        """Problems beside their fields, and what was assumed."""
        look = self._book.look(Writer("this machine", "check", now_s))
        checked = check_document(self._path, look.document)
        return {
            "row": look.row,
            "is_sound": checked.job is not None,
            "problems": [
                {
                    "field": one.field,
                    "wanted": one.wanted,
                    "got": one.got,
                    "place": one.place,
                    "hint": one.hint,
                    "spot": spot,
                }
                for one, spot in checked.problems
            ],
            "remarks": list(checked.remarks),
        }

    def bring(
        self, into: str, name: str, content: bytes, edit_id: str, replaces: bool, writer: Writer
    ) -> dict[str, Any]:
        """Take a file in; raises StillwetError, and changes nothing, when it cannot be read."""
        step, remarks = self._step(into, plain_name(name), content, edit_id, replaces)
        (became,) = add_steps(self._path, {edit_id: step}, writer)
        count = len(step.rows) if isinstance(step, AddRows) else 0
        return {"became": became, "rows": count, "remarks": remarks}

    def _step(
        self, into: str, name: str, content: bytes, edit_id: str, replaces: bool
    ) -> tuple[Step, list[str]]:
        from stillwet.exchange.draft_reader import (
            read_list_file,
            read_product_file,
            with_new_keys,
        )
        from stillwet.exchange.files import Files

        kind = _KINDS.get(into)
        if kind is None:
            raise StillwetError(Problem("into", "one of " + ", ".join(UPLOADS), shown(into)))
        if not content.strip():
            raise StillwetError(Problem("file", "a file with something in it", "none", name))
        if kind == "slot":
            return SetFile(into, keep_upload(self._path, name, content)), []
        with tempfile.TemporaryDirectory(prefix="stillwet-") as folder:
            (Path(folder) / name).write_bytes(content)
            files = Files(Path(folder))
            if kind == "product":
                return SetTexts(read_product_file(name, files)), []
            rows, remarks = read_list_file(into, name, files)
        return AddRows(into, with_new_keys(rows, edit_id[-8:]), replaces), remarks

    def explain(self, asset: str, units: str) -> dict[str, Any]:
        """Why the kept job's plan says what it says of one asset."""
        from stillwet.domain.chain import Chain
        from stillwet.reports.why_words import why_words
        from stillwet.services.explaining import explain_job

        found = explain_job(self._path, asset, None, units=units).found
        assert isinstance(found, Chain)
        return why_words(found, units)

    def compare(self, texts: Sequence[str], units: str) -> dict[str, Any]:
        """What one change, or each of the usual doubts, makes of the kept job's plan."""
        from stillwet.reports.why_words import flips_words
        from stillwet.services.comparing import compare_job

        compared = compare_job(self._path, texts, None, units=units)
        return flips_words(compared.comparisons, compared.not_tried)


def shown_plan(path: Path, units: str, now_s: float) -> dict[str, Any]:
    """The latest plan of coats that a job file keeps, in words; None before the first.

    ``trials_since`` says which trials were typed after it, if any.
    """
    from stillwet.reports.why_words import plan_words
    from stillwet.services.job_view import view_job
    from stillwet.services.typed_trials import since_words

    if not kept_hash(path):
        return {"plan": None, "trials_since": ""}
    view = view_job(path, now_s=now_s)
    plan, standing = view.plan, view.standing
    since = () if standing is None else standing.since
    return {
        "plan": None if plan is None else plan_words(plan, units),
        "trials_since": since_words(view.plan_id, since) if since else "",
    }


def plan_draft(path: Path, now_s: float, writer: Writer, progress: Progress) -> dict[str, Any]:
    """Plan the draft; only when that is done is it kept as the file's job, with the plan.

    Raises StillwetError with every problem that the draft has.
    """
    from stillwet.services.keeping import read_plain_job, source_files
    from stillwet.services.planning import make_job_plan
    from stillwet.services.trials import with_trials
    from stillwet.services.typed_trials import with_bench

    progress("reading the job", 0.0)
    look = look_at_draft(path, writer)
    with materialised(path, look.document) as job_path:
        job = read_plain_job(job_path)
        files = source_files(job_path, job)
    counted = with_bench(path, job, now_s=now_s)
    plan = make_job_plan(
        with_trials(counted), now_s, lambda label, share: progress(label, 0.05 + 0.9 * share)
    )
    progress("keeping the plan", 0.97)
    # Before the job is kept: whoever looks in between must not take it for somebody else's.
    add_steps(path, {f"planned-{plan.id}-{look.row}": Planned(job.input_hash)}, writer)
    _keep(path, job, counted, files, plan, now_s)
    return {"plan_id": plan.id, "row": look.row}


def _keep(
    path: Path, job: Job, counted: Job, files: tuple[SourceFile, ...], plan: Any, now_s: float
) -> None:
    """Keep the job of the draft's files, and the plan of it with the trials that count beside."""
    from stillwet.services.keeping import save_whole_job
    from stillwet.store.job_file import open_job_file
    from stillwet.store.plan_tables import Made, keep_plan
    from stillwet.store.trial_tables import keep_inputs

    with open_job_file(path, now_s=now_s) as job_file:
        save_whole_job(job_file, job, files, now_s)
        keep_inputs(job_file, counted, now_s=now_s)
        keep_plan(job_file, plan, Made(counted.input_hash, VERSION, job.seed, job.members))
