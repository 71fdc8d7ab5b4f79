"""A process that writes entries one by one and says each one's id once the disk has it.

Arguments: the job file, the seed of the entries, how many, and the largest size in bytes that this
process may let a file grow to (0: no limit).
"""

from __future__ import annotations

import resource
import sys
from pathlib import Path

from stillwet.errors import StillwetError
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import add_entries
from store_fixture import NOW_S, some_entries


def main() -> int:
    """Write; 3 when the disk was full, and told so."""
    path, seed, count, limit = Path(sys.argv[1]), *map(int, sys.argv[2:5])
    if limit:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    with open_job_file(path, now_s=NOW_S) as job_file:
        print("ready", flush=True)
        for entry in some_entries(count, seed):
            try:
                add_entries(job_file, [entry])
            except StillwetError as error:
                print(error, file=sys.stderr)
                return 3
            print(entry.id, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
