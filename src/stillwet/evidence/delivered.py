"""The delivered ratio of one proportioner check with its uncertainty, held against two rules."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stillwet.domain.products import RatioBasis
from stillwet.domain.proportioner import (
    Delivered,
    Judgement,
    Measured,
    Method,
    ProportionerCheck,
    Ruling,
    Standard,
)
from stillwet.errors import Problem, StillwetError
from stillwet.physics import proportioning
from stillwet.physics.uncertainty import (
    Line,
    coverage_factor,
    fit_line_york,
    propagate_kragten,
    rectangular,
)

CONFIDENCE = 0.95
MIX_WINDOW, FOAM_PRACTICE = "mix window", "foam practice"
_LEAST_SHARE = 1e-5  # of a reading: no error is smaller, or a line would hang on one point
_MOST_RATIO = 0.5
_WATER_KG_M3 = 998.2
_HIGH, _HIGH_WITHIN = (
    proportioning.WATER_READS_HIGH,
    0.5 * float(np.ptp(proportioning.WATER_READS_HIGH_INTERVAL)),
)

Windows = Sequence[tuple[str, tuple[float, float]]]


@dataclass(frozen=True, slots=True)
class Found:
    """A ratio, its standard uncertainty, and what each reading adds to that."""

    ratio: float
    uncertainty: float
    parts: Mapping[str, float]


def standard_of(reading: Measured) -> float:
    """Standard uncertainty of a reading known only to lie within its half-width (GUM 4.3.7)."""
    return max(rectangular(half_width=reading.within), _LEAST_SHARE * abs(reading.value))


def find_ratio(check: ProportionerCheck, standards: Sequence[Standard] = ()) -> Found:
    """The delivered ratio of a check [fraction] by the GUM's law of propagation.

    Raises StillwetError where the readings cannot be of one mix.
    """
    if check.needs == ("conductivity",):
        found = _by_conductivity(check, standards)
    else:
        function = _functions(check)
        readings = {name: check.readings[name] for name in check.needs}
        if check.water_stood_in:
            readings["water reads high"] = Measured(_HIGH, _HIGH_WITHIN)
        found = _propagate(check, function, readings)
    if not 0.0 < found.ratio < _MOST_RATIO:
        names = ", ".join(check.needs)
        raise StillwetError(
            Problem(
                "delivered ratio",
                f"above 0 and below {100 * _MOST_RATIO:.0f} %",
                f"{100 * found.ratio:.3g} % from {names}",
                check.id,
                "are the readings in the units they were given with?",
            )
        )
    return found


def _functions(check: ProportionerCheck) -> Callable[..., float]:
    if check.needs == ("shown",):
        return lambda shown: shown
    if check.method is Method.WEIGHED and check.ratio_basis is RatioBasis.MASS:
        return lambda drawn_mass, water_used: float(
            proportioning.ratio_by_mass(drawn_kg=drawn_mass, water_kg=_WATER_KG_M3 * water_used)
        )
    return _VOLUME_FUNCTIONS[check.method]


_VOLUME_FUNCTIONS: Mapping[Method, Callable[..., float]] = {
    Method.TIMED_DRAW: lambda drawn, seconds, mix_flow: float(
        proportioning.ratio_from_draw(drawn_m3=drawn, seconds=seconds, mix_flow_m3_s=mix_flow)
    ),
    Method.TANK_LEVELS: lambda drawn, water_used: float(
        proportioning.ratio_from_levels(drawn_m3=drawn, water_used_m3=water_used)
    ),
    Method.FLOW_METERS: lambda concentrate_flow, mix_flow: float(
        proportioning.ratio_from_flows(concentrate_m3_s=concentrate_flow, mix_m3_s=mix_flow)
    ),
    Method.WEIGHED: lambda drawn_mass, concentrate_density, mix_volume: float(
        proportioning.ratio_from_mass(
            drawn_kg=drawn_mass,
            concentrate_density_kg_m3=concentrate_density,
            mix_m3=mix_volume,
        )
    ),
    Method.DENSITY: lambda mix_density, water_density, concentrate_density: float(
        proportioning.ratio_from_density(
            mix_kg_m3=mix_density,
            water_kg_m3=water_density,
            concentrate_kg_m3=concentrate_density,
        )
    ),
}


def _propagate(
    check: ProportionerCheck, function: Callable[..., float], readings: Mapping[str, Measured]
) -> Found:
    _need_something_to_read(check)

    def ratio(**values: float) -> float:
        high = values.pop("water reads high", 1.0)
        return float(
            proportioning.ratio_corrected_for_water(ratio=function(**values), reads_high=high)
        )

    reckoned = propagate_kragten(
        function=ratio,
        values={name: one.value for name, one in readings.items()},
        uncertainties={name: standard_of(one) for name, one in readings.items()},
    )
    return Found(reckoned.value, reckoned.uncertainty, reckoned.parts)


def _need_something_to_read(check: ProportionerCheck) -> None:
    """A concentrate as dense as water leaves nothing for a hydrometer."""
    if check.method is not Method.DENSITY:
        return
    water, concentrate = check.readings["water_density"], check.readings["concentrate_density"]
    apart = abs(concentrate.value - water.value)
    if apart <= 3.0 * (standard_of(concentrate) + standard_of(water)):
        raise StillwetError(
            Problem(
                "concentrate_density",
                "a density that the hydrometer can tell from water's",
                f"{concentrate.value:.0f} beside {water.value:.0f} kg/m3",
                check.id,
                "use a timed draw or weigh the can",
            )
        )


def _by_conductivity(check: ProportionerCheck, standards: Sequence[Standard]) -> Found:
    line = calibration_of(check, standards)
    reading = check.readings["conductivity"]
    ratio = line.x_of(reading.value)
    own = standard_of(reading) / abs(line.slope)
    whole = line.uncertainty_of_x(reading.value, standard_of(reading))
    rest = math.sqrt(max(whole**2 - own**2, 0.0))
    return Found(ratio, whole, {"conductivity": own, "calibration": rest})


def calibration_of(check: ProportionerCheck, standards: Sequence[Standard]) -> Line:
    """The line of conductivity against ratio through the known samples, errors in both."""
    known = [one for one in standards if one.device == check.device]
    ratios = {one.ratio.value for one in known}
    if len(known) < 3 or len(ratios) < 2:
        raise StillwetError(
            Problem(
                "known_ratio",
                "at least 3 samples of known ratio, of 2 ratios or more, in the same water",
                f"{len(known)} of {len(ratios)}",
                check.id,
                "mix them in jugs; the water's own hardness conducts too",
            )
        )
    return fit_line_york(
        x=np.array([one.ratio.value for one in known]),
        y=np.array([one.conductivity.value for one in known]),
        x_uncertainty=np.array([max(standard_of(one.ratio), 1e-6) for one in known]),
        y_uncertainty=np.array([standard_of(one.conductivity) for one in known]),
    )


def deliver(
    check: ProportionerCheck,
    standards: Sequence[Standard],
    window: tuple[float, float] | None,
) -> Delivered:
    """One check's delivered ratio with expanded uncertainty (95 %) and both rules on it."""
    found = find_ratio(check, standards)
    variance = found.uncertainty**2 or 1.0
    parts = sorted(
        ((name, part**2 / variance) for name, part in found.parts.items()),
        key=lambda pair: -pair[1],
    )
    return Delivered(
        check=check,
        ratio=found.ratio,
        uncertainty=found.uncertainty,
        expanded=found.uncertainty * coverage_factor(confidence=CONFIDENCE),
        parts=tuple(parts),
        rulings=rulings(found.ratio, found.uncertainty, rules(check.dial.value, window)),
    )


def rules(dial: float, window: tuple[float, float] | None) -> Windows:
    """The mix window where it is known, and foam practice's tolerance round the ratio set."""
    foam = (FOAM_PRACTICE, proportioning.foam_tolerance(rated=dial))
    return (foam,) if window is None else ((MIX_WINDOW, window), foam)


def rulings(
    ratio: float,
    uncertainty: float,
    windows: Windows,
    *,
    degrees_of_freedom: float = math.inf,
) -> tuple[Ruling, ...]:
    """Accept, reject or cannot tell by each rule, and whether the method ever could."""
    found = []
    for rule, window in windows:
        check = proportioning.judge(
            ratio=ratio,
            uncertainty=uncertainty,
            window=window,
            confidence=CONFIDENCE,
            degrees_of_freedom=degrees_of_freedom,
        )
        can_ever = proportioning.can_judge(
            uncertainty=uncertainty, window=window, confidence=CONFIDENCE
        )
        found.append(Ruling(rule, *window, Judgement(check.judgement.value), can_ever))
    return tuple(found)
