"""A job's own units are those of every command that shows it, unless others are asked for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import click
import pytest

from stillwet.cli.group import OK, run, stillwet
from stillwet.services.starter import write_starter

NOW_S = datetime(2030, 6, 30, 18, 0, tzinfo=UTC).timestamp()
NOW = "2030-07-01T07:00-06:00"


def _verbs(group: click.Group, above: str = "") -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        verb = group.get_command(context, name)
        assert verb is not None
        if isinstance(verb, click.Group):
            yield from _verbs(verb, f"{above}{name} ")
        else:
            yield f"{above}{name}", verb


def test_only_the_starter_has_units_of_its_own_accord() -> None:
    """Everywhere else nothing stands in for the job's units before it has been read."""
    chosen = {
        name: option.default
        for name, verb in _verbs(stillwet)
        for option in verb.params
        if option.name == "units"
    }
    assert {"plan", "crews", "line", "packet", "mix", "left", "after", "outlook"} <= set(chosen)
    assert {name for name, default in chosen.items() if isinstance(default, str)} == {"new"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job file of the metric starter."""
    folder = tmp_path_factory.mktemp("metric")
    job = write_starter(folder / "job", now_s=NOW_S, units="metric")
    assert run(["keep", str(job), str(folder / "day.gpkg")]) == OK
    return folder / "day.gpkg"


@pytest.mark.parametrize(
    "typed",
    [
        ["plan", "--members", "8", "--now", NOW],
        ["crews", "--members", "8", "--iterations", "0", "--now", NOW],
        ["mix", "--members", "8"],
        ["demand"],
        ["explain", "a1", "--members", "8"],
        ["compare", "--set", "wind=+30%", "--members", "8"],
        ["after", "--now", NOW],
    ],
    ids=lambda typed: typed[0],
)
def test_a_metric_job_is_shown_metric(
    kept: Path, typed: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a word as with ``--units metric``; otherwise when US is asked for."""
    verb, *rest = typed
    shown = []
    for more in ([], ["--units", "metric"], ["--units", "us"]):
        assert run([verb, str(kept), *rest, *more]) == OK
        shown.append(capsys.readouterr().out)
    assert shown[0] == shown[1]
    assert shown[0] != shown[2]
