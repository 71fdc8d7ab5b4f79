"""Fire from fuel and standing fires, from the job file and from an asset list."""

from __future__ import annotations

from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.domain.basis import BasisKind
from stillwet.domain.fire import StandingFire
from stillwet.exchange.fire import exposure_names
from stillwet.exchange.fire_also import standing_fires
from stillwet.exchange.fire_fuel import fire_taken_for, fuel_codes
from stillwet.tables import load_table

EXPOSURE = 'exposure = "brush fire"\n'
PLACE = "(job.toml, [fire])"


def with_keys(*lines: str, exposure: bool = True) -> str:
    """The job with these lines in its [fire] table."""
    wanted = (EXPOSURE if exposure else "") + "\n".join(lines) + "\n"
    return JOB.replace(EXPOSURE, wanted)


# --- fuel


def test_a_fuel_model_needs_no_exposure(tmp_path: Path) -> None:
    """GR4 is taken for a grass fire: its setback and width; flame numbers wait for the plan."""
    job = good(tmp_path, job=with_keys('fuel_model = "gr4"', exposure=False))
    fire = job.assets[0].fire
    assert fire.name == "grass fire"
    assert fire.setback_m == load_table("exposures")["grass fire"]["setback_m"][0]
    assert fire.fuel is not None
    assert fire.fuel.model == "GR4"
    assert fire.fuel.moisture_1h is None
    assert fire.fuel.moisture_herb == pytest.approx(0.6)
    basis = fire.fuel.basis["moisture_herb"]
    assert basis.kind is BasisKind.UNTESTED
    assert basis.low == pytest.approx(0.3)
    assert basis.high == pytest.approx(1.2)


def test_all_keys_of_a_fuel(tmp_path: Path) -> None:
    """Each key lands in the record, in SI and as given."""
    text = with_keys(
        'fuel_model = "SH5"',
        'fuel_slope = "1/4"',
        'moisture_1h = "5 %"',
        "moisture_10h = 0.06",
        'moisture_100h = "7 %"',
        'moisture_herb = "120 %"',
        'moisture_woody = "80 %"',
        'canopy_cover = "40 %"',
        'canopy_height = "60 ft"',
        "crown_ratio = 0.6",
        'ground_slope = "-5 deg"',
    )
    fire = good(tmp_path, job=text).assets[0].fire
    fuel = fire.fuel
    assert fuel is not None
    assert fuel.slope_deg == pytest.approx(14.036, abs=1e-3)
    dead = [fuel.moisture_1h, fuel.moisture_10h, fuel.moisture_100h]
    assert dead == pytest.approx([0.05, 0.06, 0.07])
    assert [fuel.moisture_herb, fuel.moisture_woody] == pytest.approx([1.2, 0.8])
    assert fuel.canopy_height_m == pytest.approx(18.288)
    assert [fuel.canopy_cover, fuel.crown_ratio] == pytest.approx([0.4, 0.6])
    assert fire.ground_slope_deg == -5.0
    assert {basis.kind for basis in fuel.basis.values()} == {BasisKind.GIVEN}
    assert fire.name == "brush fire"


def test_the_fire_runs_up_the_ground_that_is_told(tmp_path: Path) -> None:
    """A rising ground is the fuel's slope too; a falling one is not."""
    for told, wanted in (("20 deg", 20.0), ("-20 deg", 0.0)):
        text = with_keys('fuel_model = "4"', f'ground_slope = "{told}"')
        fuel = good(tmp_path, job=text).assets[0].fire.fuel
        assert fuel is not None
        assert fuel.slope_deg == wanted


def test_fuel_by_asset(tmp_path: Path) -> None:
    """A column of the list overrides the job's fuel; a blank cell keeps it. Numbers are codes."""
    rows = ASSETS.splitlines()
    told = ["fuel_model,moisture_1h [%]", "2,4", ",", "TL8,"]
    assets = "\n".join(f"{row},{more}" for row, more in zip(rows, told, strict=True))
    job = good(tmp_path, job=with_keys('fuel_model = "GS2"'), assets=assets)
    fuels = [asset.fire.fuel for asset in job.assets]
    assert [fuel and fuel.model for fuel in fuels] == ["2", "GS2", "TL8"]
    assert [fuel and fuel.moisture_1h for fuel in fuels] == [0.04, None, None]


def test_every_fuel_model_is_taken_for_a_named_fire() -> None:
    """All 53 standard models have one."""
    assert len(fuel_codes()) == 53
    assert {fire_taken_for(code) for code in fuel_codes()} <= set(exposure_names())


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        (['fuel_model = "GR44"'], "got 'GR44' (job.toml, [fire]); did you mean \"GR4\"?"),
        (
            ['moisture_1h = "5 %"'],
            "fuel_model: wanted a fuel model to go with moisture_1h, got nothing "
            f'{PLACE}; such as "GR4"',
        ),
        (
            ['fuel_model = "4"', 'moisture_1h = "400 %"'],
            f"moisture_1h: wanted 0 to 200 %, got '400 %' {PLACE}; is it in another unit?",
        ),
        (
            ['fuel_model = "4"', "moisture_herb = 90"],
            "moisture_herb: wanted a unit after the number",
        ),
        (
            ['fuel_model = "4"', "fuel_slope = 60"],
            f"fuel_slope: wanted 0 to 45 deg, got 60 {PLACE}; is it in another unit?",
        ),
        (
            ['fuel_model = "4"', 'canopy_cover = "50 %"'],
            "canopy_height: wanted a value, got nothing",
        ),
        (["ground_slope = 60"], f"ground_slope: wanted -45 to 45 deg, got 60 {PLACE}"),
    ],
)
def test_faults_of_fuel(tmp_path: Path, lines: list[str], wanted: str) -> None:
    """Each says the key, what was wanted, what came, and where."""
    found = messages(tmp_path, job=with_keys(*lines))
    assert any(wanted in message for message in found), found


# --- what burns beside the front


def also(tmp_path: Path, text: str) -> tuple[StandingFire, ...]:
    """The standing fires of the first asset when the job says ``also`` = text."""
    return good(tmp_path, job=with_keys(f'also = "{text}"')).assets[0].fire.also


def test_two_fires_in_one_text(tmp_path: Path) -> None:
    """What, how far, from where; the rest is the named fire's own."""
    pile, fence = also(tmp_path, "burning wood pile 3 m from N; burning fence 2 m from E, 6 m wide")
    assert (pile.name, pile.setback_m, pile.bearing_deg) == ("burning wood pile", 3.0, 0.0)
    assert pile.flame_width_m == load_table("exposures")["burning wood pile"]["flame_width_m"][0]
    assert pile.basis["flame_width"].kind is BasisKind.UNTESTED
    assert pile.basis["setback"].kind is BasisKind.GIVEN
    assert (fence.name, fence.setback_m, fence.bearing_deg) == ("burning fence", 2.0, 90.0)
    assert (fence.flame_width_m, fence.basis["flame_width"].kind) == (6.0, BasisKind.GIVEN)


@pytest.mark.parametrize(
    ("text", "setback_m", "bearing_deg", "width_m"),
    [
        ("burning shrub", 1.0, None, 2.0),
        ("Burning_Shrub 4 ft", 1.2192, None, 2.0),
        ("burning shrub from 225 deg", 1.0, 225.0, 2.0),
        ("burning shrub 1.5 m from SSW 3 m wide", 1.5, 202.5, 3.0),
        ("burning shrub 10 ft wide", 1.0, None, 3.048),
    ],
)
def test_ways_to_write_one(
    tmp_path: Path, text: str, setback_m: float, bearing_deg: float | None, width_m: float
) -> None:
    """Distance, direction and width may each be left out."""
    (found,) = also(tmp_path, text)
    assert found.setback_m == pytest.approx(setback_m)
    assert found.bearing_deg == bearing_deg
    assert found.flame_width_m == pytest.approx(width_m)


def test_tables_of_standing_fires(tmp_path: Path) -> None:
    """[[fire.also]] tables say the same with keys, and more."""
    tables = """
[[fire.also]]
exposure = "burning neighbour"
setback = "40 ft"
from = "NW"
flame_length = "10 m"
residence = "20 min"

[[fire.also]]
exposure = "burning fence"
"""
    job = JOB.replace("\n[product]", tables + "\n[product]")
    neighbour, fence = good(tmp_path, job=job).assets[0].fire.also
    assert (neighbour.flame_length_m, neighbour.residence_s) == (10.0, 1200.0)
    assert neighbour.setback_m == pytest.approx(12.192)
    assert neighbour.bearing_deg == 315.0
    assert fence.name == "burning fence"


def test_a_column_of_standing_fires(tmp_path: Path) -> None:
    """One asset has its own; the others have the job's."""
    rows = ASSETS.splitlines()
    told = ["also", "burning shrub 2 ft from N", "", ""]
    assets = "\n".join(f"{row},{more}" for row, more in zip(rows, told, strict=True))
    job = good(tmp_path, job=with_keys('also = "burning fence"'), assets=assets)
    assert [[fire.name for fire in asset.fire.also] for asset in job.assets] == [
        ["burning shrub"],
        ["burning fence"],
        ["burning fence"],
    ]


def test_only_fires_that_stand() -> None:
    """Fronts are not among them."""
    assert "burning wood pile" in standing_fires()
    assert "grass fire" not in standing_fires()


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('also = "grass fire 3 m from N"', "exposure: wanted one of burning neighbour"),
        ('also = "burning fence 3 from N"', "also: wanted fires that stand: what, how far"),
        ('also = "burning fence 3 m from upwind"', "from: wanted a compass point such as SW"),
        ('also = "burning fence 3 kg from N"', "setback: wanted a unit of length"),
        ('also = "burning fence 900 m"', "setback: wanted 0 to 500 m, got '900 m'"),
        ("also = 3", "also: wanted fires that stand: what, how far, from where, how wide, got 3"),
        ('also = [{ exposure = "burning fence", far = "3 m" }]', "[[fire.also]]: wanted one of"),
        ("also = [{ setback = '3 m' }]", "exposure: wanted a value, got nothing"),
        ('also = "burning fence;"', "also: wanted fires that stand"),
    ],
)
def test_faults_of_standing_fires(tmp_path: Path, line: str, wanted: str) -> None:
    """Each says what was wanted and what came."""
    found = messages(tmp_path, job=with_keys(line))
    assert any(wanted in message for message in found), found


# --- how long an error lasts


def test_persistence_of_the_forecast_error(tmp_path: Path) -> None:
    """12 h untested if left out, else as given; out of bounds is refused."""
    unsaid = good(tmp_path).uncertainty
    assert unsaid.persistence_s == 12 * 3600.0
    assert unsaid.basis["persistence"].kind is BasisKind.UNTESTED
    said = good(tmp_path, job=JOB + '\n[uncertainty]\npersistence = "1 day"\n').uncertainty
    assert said.persistence_s == 86400.0
    assert said.basis["persistence"].kind is BasisKind.GIVEN
    (message,) = messages(tmp_path, job=JOB + '\n[uncertainty]\npersistence = "5 min"\n')
    assert message.startswith("persistence: wanted 60 to 43200 min, got '5 min'")
