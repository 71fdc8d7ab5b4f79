"""What a trial tells, by the fields of its table: numbers in SI, as every writer needs them."""

from __future__ import annotations

from stillwet.domain.trials import (
    Coupon,
    DryingSeries,
    Funnel,
    Reading,
    Slump,
    Spread,
    Trial,
    Viscosity,
    Weighing,
    YieldEstimate,
)

Numbers = dict[str, float]


def mix_numbers(trial: Trial) -> Numbers:
    """The mix itself: ratio [fraction], hardness [kg/m3], temperature [K] and age [s]."""
    return {
        "ratio": trial.ratio,
        "hardness": trial.hardness_kg_m3,
        "water_temperature": trial.water_temperature_k,
        "age": trial.age_s,
    }


def reading_numbers(reading: Reading) -> Numbers:
    """One reading, but for what was not read; ``slid`` of a coat is no number."""
    told: dict[str, float | None]
    match reading:
        case YieldEstimate():
            told = {"yield_stress": reading.yield_pa}
        case Slump():
            told = {"slump": reading.slump_m, "cylinder_height": reading.height_m}
        case Spread():
            told = {"spread_diameter": reading.diameter_m, "spread_volume": reading.volume_m3}
        case Coupon():
            told = {"coat": reading.coat_kg_m2, "tilt": reading.tilt_deg}
            told["slough_time"] = reading.slough_s
        case Viscosity():
            told = {"viscosity": reading.viscosity_pa_s, "spindle": reading.spindle}
            told["speed_rpm"] = reading.revolutions_per_min
        case Funnel():
            told = {"funnel": reading.seconds, "funnel_volume": reading.volume_m3}
    return _without_none(told)


def weighing_numbers(series: DryingSeries, weighing: Weighing) -> Numbers:
    """One weighing of a coat with what is told of the whole coat."""
    return _without_none(
        {
            "ratio": series.solids_share,
            "coat": weighing.mass_kg_m2,
            "tilt": series.tilt_deg,
            "coupon_side": series.length_m,
            "air_temperature": weighing.air_temperature_k,
            "relative_humidity": weighing.relative_humidity,
            "wind_speed": weighing.wind_speed_m_s,
            "sun": weighing.sun_w_m2,
            "cloud_cover": weighing.cloud_cover,
        }
    )


def _without_none(told: dict[str, float | None]) -> Numbers:
    return {name: value for name, value in told.items() if value is not None}
