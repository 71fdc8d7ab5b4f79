"""The card's loop in single precision, here on this processor, against the double kernel."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.outlook import card
from stillwet.outlook.card import card_inputs, demand_in_single, demand_on_card, is_card_there
from stillwet.outlook.loading import load_region, open_forecast
from stillwet.outlook.region import RegionWeather, region_demand
from stillwet.outlook.store import open_store
from unit.outlook.made_grid import made_forecast
from unit.outlook.outlook_run import Run
from unit.outlook.test_point import ask, write

FLOOR = 0.05 / 3600  # kg/m2s; a coat of 1 mm would take a day to dry at this


def weather(tmp_path: Path, sun: str) -> RegionWeather:
    data = made_forecast(rows=8, columns=9, hours=60, sun="cloud")
    if sun == "ghi":
        data["ssrd"] = made_forecast(rows=8, columns=9, hours=60, sun="ghi")["ssrd"]
    forecast = open_forecast(write(data, tmp_path / f"{sun}.nc"))
    return load_region(forecast, slice(0, 8), slice(0, 9))


@pytest.mark.parametrize("sun", ["cloud", "ghi"])
def test_single_precision_agrees_with_double(tmp_path: Path, sun: str) -> None:
    """Within 1e-4 of demands above 0.05 mm/h, walls, roof, pole and blades."""
    cells = weather(tmp_path, sun)
    wanted = region_demand(cells, ask())[:, :, :, 0]
    found = demand_in_single(card_inputs(cells, ask()))
    assert found.dtype == np.float32
    assert (np.abs(found - wanted) / np.maximum(wanted, FLOOR)).max() < 1e-4
    assert wanted.max() > 20 * FLOOR


def test_the_card_refuses_what_it_cannot_reckon(tmp_path: Path) -> None:
    """A forecast without cloud is left to the processor, with a plain reason."""
    data = made_forecast(rows=2, columns=2, hours=10, sun="ghi")
    forecast = open_forecast(write(data, tmp_path / "no_cloud.nc"))
    with pytest.raises(StillwetError, match="--card: wanted cloud cover in the forecast"):
        card_inputs(load_region(forecast, slice(0, 2), slice(0, 2)), ask())


@pytest.mark.skipif(not is_card_there(), reason="no graphics card here")
def test_the_card_agrees_with_this_processor(tmp_path: Path) -> None:
    """The same functions on the card."""
    inputs = card_inputs(weather(tmp_path, "cloud"), ask())
    wanted = demand_in_single(inputs)
    assert (np.abs(demand_on_card(inputs) - wanted) / np.maximum(wanted, FLOOR)).max() < 1e-4


def test_without_a_card_the_answer_is_the_usual_one(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No card, or no compiler for one: the same bits, and one line that says why."""
    source = write(made_forecast(rows=3, columns=3, hours=24, sun="cloud"), tmp_path / "f.nc")
    plain = run(source, "--out", tmp_path / "plain.zarr", "--faces", "W")
    assert "--card" not in plain.output
    monkeypatch.setattr(card, "is_card_there", lambda: False)
    said = {
        None: 'no card can be used without its compiler (pip install "stillwet[gpu]")',
        "there": "no graphics card was found here",
    }
    for package, reason in said.items():
        monkeypatch.setattr(card, "find_spec", lambda _name, found=package: found)
        out = tmp_path / f"{package}.zarr"
        done = run(source, "--out", out, "--faces", "W", "--card")
        assert done.exit_code == 0, done.output
        assert f"note: --card: reckoned on this processor, because {reason}" in done.output
        np.testing.assert_array_equal(
            open_store(out).hold_time_sure.to_numpy(),
            open_store(tmp_path / "plain.zarr").hold_time_sure.to_numpy(),
        )
