"""Use case: the packet of an open job as a file: made in a folder, found again while it holds."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Any

from stillwet.services.job_view import job_stamp
from stillwet.services.planning import Progress
from stillwet.services.view import View


def make_packet_file(
    path: Path, folder: Path, now_s: float, units: str, progress: Progress
) -> dict[str, Any]:
    """Make the packet of the kept job as a PDF in ``folder``, where ``packet_file`` finds it."""
    from stillwet.services.packing import packet_of_job

    view = View(units, "letter" if units == "us" else "a4")
    out = folder / f"{secrets.token_hex(8)}.pdf"
    packed = packet_of_job(path, out, now_s=now_s, view=view, progress=progress)
    # Named only now: the plans made on the way are kept, and it rests on them.
    out.replace(_place(path, folder, now_s))
    return {"plan_id": packed.packet.plan.id, "missing": list(packed.packet.missing.values())}


def packet_file(path: Path, folder: Path, now_s: float) -> Path | None:
    """The packet made last, if job, trials and plan of coats are still those it was made of."""
    place = _place(path, folder, now_s)
    return place if place.is_file() else None


def _place(path: Path, folder: Path, now_s: float) -> Path:
    from stillwet.domain.codec import text_hash

    stamp = job_stamp(path, now_s=now_s)
    rests_on = f"{stamp.input_hash}|{stamp.coats_row}|{stamp.trials_row}"
    return folder / f"packet-{text_hash(rests_on)[:16]}.pdf"
