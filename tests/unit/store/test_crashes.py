"""Nothing that was acknowledged is lost: killed writers, full disks, two writers at once."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from stillwet.store.doctor import examine
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import Receipt, add_entries, load_log
from store_fixture import NOW_S, all_faces, kept_job, some_entries

TESTS = Path(__file__).parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": f"{TESTS}{os.pathsep}{TESTS.parent / 'src'}"}


def start_writer(path: Path, *, seed: int = 1, count: int, limit: int = 0) -> subprocess.Popen[str]:
    """A process that writes entries and prints the id of each that is safe."""
    command = [sys.executable, str(TESTS / "store_writer.py"), str(path)]
    return subprocess.Popen(
        [*command, str(seed), str(count), str(limit)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
    )


def stored_ids(path: Path) -> set[str]:
    """The entries that the file holds when it is opened again."""
    with open_job_file(path, now_s=NOW_S) as job_file:
        return {entry.id for entry in load_log(job_file)}


def complaints(path: Path, now_s: float = NOW_S + 10_000) -> list[str]:
    """What the doctor finds wrong with a file, this machine's own disk apart."""
    health = examine(path, all_faces, now_s=now_s)
    return [f.words for f in health.findings if f.grade == "fault" and f.topic != "disk"]


def kill_after(path: Path, count: int, seed: int) -> None:
    """Kill a writer at a random moment after so many entries; all it acknowledged is there."""
    source = random.Random(seed)
    before = stored_ids(path)
    writer = start_writer(path, seed=seed, count=500)
    assert writer.stdout is not None
    assert writer.stdout.readline() == "ready\n"
    told = [writer.stdout.readline().strip() for _ in range(count)]
    for _ in range(source.randrange(20_000)):
        pass  # somewhere inside the next write
    writer.send_signal(signal.SIGKILL)
    told += [line.strip() for line in writer.stdout.readlines() if line.endswith("\n")]
    writer.communicate()
    after = stored_ids(path)
    assert before | set(told) <= after
    # At most the one that was under way is there without having been acknowledged.
    assert len(after - before - set(told)) <= 1
    assert complaints(path) == []


def test_killed_writers_lose_nothing(tmp_path: Path) -> None:
    """Killed (signal 9) five times in 25 writes: the file opens, is sound, and all is there."""
    path = kept_job(tmp_path)
    for number in range(5):
        kill_after(path, 5 * number, seed=100 + number)


@pytest.mark.slow
def test_killed_at_random_points_of_500_writes(tmp_path: Path) -> None:
    """25 writers of 500 entries, each killed at a random point."""
    path = kept_job(tmp_path)
    source = random.Random(9)
    for number in range(25):
        kill_after(path, source.randrange(495), seed=200 + number)


def test_full_disk_loses_nothing(tmp_path: Path) -> None:
    """A file that may not grow: the write is refused in words, and all before it is there.

    The limit is the system's own on file sizes (RLIMIT_FSIZE), which fails a write as a full disk
    does, in the middle of a transaction.
    """
    path = kept_job(tmp_path)
    writer = start_writer(path, count=500, limit=path.stat().st_size + 100_000)
    out, err = writer.communicate()
    told = set(out.split()) - {"ready"}
    assert writer.returncode == 3
    assert "nothing that was acknowledged is lost" in err
    assert 5 < len(told) < 500
    assert stored_ids(path) == told
    assert complaints(path) == []


@pytest.mark.skipif(os.geteuid() != 0, reason="mounting a small disk needs root")
def test_really_full_disk_loses_nothing(tmp_path: Path) -> None:
    """The same on a disk of 2 MB that fills up; with room again, writing goes on."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(disk)]
    if subprocess.run(command, capture_output=True, check=False).returncode != 0:
        pytest.skip("this system does not let a test mount a disk")
    try:
        path = kept_job(disk)
        ballast = disk / "ballast"
        ballast.write_bytes(b"x" * max(0, shutil.disk_usage(disk).free - 150_000))
        writer = start_writer(path, count=500)
        out, err = writer.communicate()
        told = set(out.split()) - {"ready"}
        assert writer.returncode == 3
        assert "disk" in err
        assert 3 < len(told) < 500
        assert stored_ids(path) == told
        assert complaints(path) == []
        ballast.unlink()
        with open_job_file(path, now_s=NOW_S) as job_file:
            again = add_entries(job_file, some_entries(500))
            assert again.count(Receipt.KEPT) == 500 - len(told)
        assert complaints(path) == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def two_writers(path: Path, count: int) -> None:
    """Two processes write at once; every entry of both is there."""
    writers = [start_writer(path, seed=seed, count=count) for seed in (1, 2)]
    told: set[str] = set()
    for writer in writers:
        out, err = writer.communicate()
        assert writer.returncode == 0, err
        told |= set(out.split()) - {"ready"}
    assert len(told) == 2 * count
    assert stored_ids(path) == told
    assert complaints(path) == []


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Two processes, 40 entries each."""
    two_writers(kept_job(tmp_path), 40)


@pytest.mark.slow
def test_two_writers_of_500(tmp_path: Path) -> None:
    """Two processes, 500 entries each."""
    two_writers(kept_job(tmp_path), 500)


def test_sending_again_changes_nothing(tmp_path: Path) -> None:
    """Entries sent twice, in other company and order, are there once; new ones are counted."""
    path = kept_job(tmp_path)
    entries = some_entries(10)
    with open_job_file(path, now_s=NOW_S) as job_file:
        assert set(add_entries(job_file, entries[:6])) == {Receipt.KEPT}
        assert add_entries(job_file, reversed(entries)).count(Receipt.KEPT) == 4
        assert set(add_entries(job_file, entries)) == {Receipt.HERE}
        assert load_log(job_file) == frozenset(entries)
