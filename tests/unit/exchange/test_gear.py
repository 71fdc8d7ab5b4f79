"""A crew's gear: what is said is read in SI, what is not said is a stated default."""

from __future__ import annotations

from pathlib import Path

import pytest

from job_folder import JOB, good, messages
from stillwet.domain.basis import BasisKind
from stillwet.domain.gear import Gear
from stillwet.errors import StillwetError
from stillwet.units import to_si

GPM = to_si(1.0, "gal/min", dimension="flow")
PSI = to_si(1.0, "psi", dimension="pressure")


def _job(more: str) -> str:
    return JOB.replace('spray_flow = "30 gal/min"', f'spray_flow = "30 gal/min"\n{more}')


def _gear(folder: Path, more: str) -> Gear:
    gear = good(folder, job=_job(more)).crews[0].gear
    assert gear is not None
    return gear


def test_gear_that_is_not_said_is_a_stated_default(tmp_path: Path) -> None:
    """Engines' least pump, 100 ft of 1.5 in hose; the nozzle passes the spray flow at 50 psi."""
    crew = good(tmp_path).crews[0]
    assert crew.gear is not None
    assert crew.gear.pump_flow_m3_s == pytest.approx((50 * GPM,))
    assert crew.gear.pump_pressure_pa == pytest.approx((150 * PSI,))
    assert crew.gear.hoses_m[0] == pytest.approx((0.0381, 30.48))
    assert crew.gear.nozzle_flow_m3_s == crew.spray_flow_m3_s
    assert crew.basis["pump_flow"].kind is BasisKind.PUBLISHED
    assert crew.basis["delivered_low"].kind is BasisKind.UNTESTED


def test_gear_that_is_said_is_read(tmp_path: Path) -> None:
    """A pump's curve, a lay of two hoses, a rated nozzle, an eductor, the proportioner's band."""
    gear = _gear(
        tmp_path,
        'pump = "0 gal/min at 175 psi; 40 gal/min at 12 bar"\n'
        'hose = "60 m of 1.5 in; 50 ft of 1 in"\n'
        'lift = "-3 m"\nnozzle = "25 gal/min at 75 psi"\neductor = "95 L/min"\n'
        'delivered_low = "95 %"\ndelivered_high = "1.1 fraction"',
    )
    assert gear.pump_flow_m3_s == pytest.approx((0.0, 40 * GPM))
    assert gear.pump_pressure_pa == pytest.approx((175 * PSI, 12e5))
    assert [length for _, length in gear.hoses_m] == pytest.approx([60.0, 15.24])
    assert [bore for bore, _ in gear.hoses_m] == pytest.approx([0.0381, 0.0254])
    assert gear.lift_m == -3.0
    assert gear.nozzle_pressure_pa == pytest.approx(75 * PSI)
    assert gear.eductor_flow_m3_s == pytest.approx(95e-3 / 60)
    assert (gear.delivered_low, gear.delivered_high) == pytest.approx((0.95, 1.1))


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('pump = "100 psi"', 'pump: wanted text such as "50 gal/min at 100 psi"'),
        ('pump = "0 gpm at 90 psi; 50 gpm at 100 psi"', "pressure never rising"),
        ('pump = "10 gpm at 90 psi; 50 gpm at 80 psi"', "points from flow 0 on"),
        ('hose = "100 ft of 1.4 in"', "hose: wanted a bore of 0.75, 1,"),
        ('hose = "100 ft of 1.5 gal"', "hose: wanted a unit of length"),
        (
            'nozzle = "30 gpm at 50 psi; 40 gpm at 50 psi"',
            "nozzle: wanted one flow at one pressure",
        ),
        ('delivered_low = "120 %"\ndelivered_high = "110 %"', "delivered_low: wanted at most"),
    ],
)
def test_gear_that_cannot_be_is_refused(tmp_path: Path, more: str, told: str) -> None:
    """Each fault names the key, what was wanted and what came."""
    assert any(told in message for message in messages(tmp_path, job=_job(more)))


def test_a_pump_of_one_point_holds_its_pressure_from_a_closed_nozzle() -> None:
    """Told 50 gal/min at 100 psi alone, it gives 100 psi at no flow as well."""
    gear = Gear(
        pump_flow_m3_s=(50 * GPM,),
        pump_pressure_pa=(100 * PSI,),
        hoses_m=((0.0381, 30.0),),
        lift_m=0.0,
        nozzle_flow_m3_s=30 * GPM,
        nozzle_pressure_pa=50 * PSI,
        nozzle_least_pa=20 * PSI,
        delivered_low=0.9,
        delivered_high=1.2,
    )
    assert gear.pump_curve == ((0.0, 50 * GPM), (100 * PSI, 100 * PSI))
    with pytest.raises(StillwetError, match="hose: wanted at least one hose"):
        Gear(
            pump_flow_m3_s=(50 * GPM,),
            pump_pressure_pa=(100 * PSI,),
            hoses_m=(),
            lift_m=0.0,
            nozzle_flow_m3_s=30 * GPM,
            nozzle_pressure_pa=50 * PSI,
            nozzle_least_pa=20 * PSI,
            delivered_low=0.9,
            delivered_high=1.2,
        )
