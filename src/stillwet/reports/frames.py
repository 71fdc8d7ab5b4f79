"""Answers as pandas frames and xarray datasets: SI with the unit in the name, moments with a zone.

Both libraries are imported on use; xarray comes with the extra "ensemble".
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from stillwet.domain.facing import FacingDemand
from stillwet.domain.plan import Plan
from stillwet.errors import Problem, StillwetError
from stillwet.reports.local_time import zone
from stillwet.reports.plan_csv import MOMENTS, plan_cells

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

_HOUR_S = 3600.0


def plan_frame(plan: Plan) -> pd.DataFrame:
    """One row a face, worst asset first, with the columns of plan.csv; no number is NaN or NaT."""
    import pandas as pd

    header, rows = plan_cells(plan)
    frame = pd.DataFrame(rows, columns=list(header))
    own = zone(plan.time_zone)
    for name in MOMENTS:
        frame[name] = pd.to_datetime(frame[name], utc=True).dt.tz_convert(own)
    return frame.replace([np.inf], np.nan)


def demand_frame(demand: FacingDemand, *, time_zone: str) -> pd.DataFrame:
    """The drying demand [mm/h] with one row an hour, local time, and one column a facing."""
    import pandas as pd

    stamps = pd.to_datetime(demand.time_s, unit="s", utc=True)
    index = stamps.tz_convert(zone(time_zone)).rename("time")
    rates = demand.demand_kg_m2_s.T * _HOUR_S
    frame = pd.DataFrame(rates, index=index, columns=list(demand.labels))
    return frame.rename_axis(columns="drying demand, mm/h")


def demand_dataset(demand: FacingDemand) -> xr.Dataset:
    """The drying demand [kg m-2 h-1] over facing and time (UTC), with attributes as CF has them."""
    xarray = need_xarray()
    stamps = (demand.time_s * 1e3).astype("datetime64[ms]").astype("datetime64[ns]")
    attributes = {"long_name": "water the weather takes from a wet coat", "units": "kg m-2 h-1"}
    rates = np.asarray(demand.demand_kg_m2_s) * _HOUR_S
    dataset: xr.Dataset = xarray.Dataset(
        {"drying_demand": (("facing", "time"), rates, attributes)},
        coords={"facing": list(demand.labels), "time": stamps},
    )
    return dataset


def need_xarray() -> Any:
    """The xarray module, or how to get it."""
    try:
        import xarray
    except ImportError:
        hint = 'install it with: pip install "stillwet[ensemble]"'
        raise StillwetError(Problem("to_dataset", "xarray", "none", "", hint)) from None
    return xarray
