"""Use case: a job taken out as files that any GIS, spreadsheet or receiver opens."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.errors import Problem, StillwetError
from stillwet.exchange.sheets import Form
from stillwet.services.keeping import read_plain_job
from stillwet.services.outputs import bytes_writer, need_folder_place, write_whole


@dataclass(frozen=True, slots=True)
class Exported:
    """The files of a job in the order made, their sizes, and what to know of them."""

    folder: Path
    sizes: dict[str, int]
    remarks: tuple[str, ...]

    def text(self) -> str:
        """A file a line."""
        return "\n".join(str(self.folder / name) for name in self.sizes)


def export_job(source: Path, folder: Path, *, form: Form, dry_run: bool = False) -> Exported:
    """Write a job's files into a new or empty folder, all of them or none.

    With ``dry_run`` all is read and made, and nothing is written.
    """
    from stillwet.exchange.job_writer import make_job_files

    need_folder_place(folder, field="--to")
    if folder.exists() and any(folder.iterdir()):
        got, hint = "a folder with files in it", "nothing there is written over"
        raise StillwetError(Problem("--to", "a new or empty folder", got, str(folder), hint))
    made = make_job_files(read_plain_job(source), form)
    if not dry_run:
        write_whole(folder, {name: bytes_writer(content) for name, content in made.files.items()})
    sizes = {name: len(content) for name, content in made.files.items()}
    return Exported(folder, sizes, made.remarks)
