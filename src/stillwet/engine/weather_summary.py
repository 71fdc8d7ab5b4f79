"""The weather that an answer stood on, in a few numbers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.plan import WeatherSummary
from stillwet.domain.weather import Weather


def weather_summary(weather: Weather, used: NDArray[np.bool_]) -> WeatherSummary:
    """Extremes and rain of the hours used (a mask over the file's hours, at least one true)."""
    return WeatherSummary(
        source=weather.source,
        from_s=float(weather.time_s[used][0]),
        to_s=float(weather.time_s[used][-1]),
        issued_s=weather.issued_s,
        air_temperature_max_k=float(weather.air_temperature_k[used].max()),
        relative_humidity_min=float(weather.relative_humidity[used].min()),
        wind_speed_max_m_s=float(weather.wind_speed_m_s[used].max()),
        rain_kg_m2=float(np.nansum(weather.precipitation_kg_m2[used])),
    )
