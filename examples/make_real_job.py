"""Makes a job of real footprints and real weather out of two libraries' own data.

144 buildings of the Bubenec district of Prague (momepy's example data, from OpenStreetMap, stored
in Web Mercator) under the TMY3 year of Greensboro, North Carolina, that pvlib ships. The two places
have nothing to do with each other, so the buildings are set down beside that weather station, at
their true size: the job is for measuring and for trying, not for a fire.
Run: ``python examples/make_real_job.py DIR``.
"""

from __future__ import annotations

import math
import shutil
import sys
from pathlib import Path

import geopandas
import pvlib
from momepy.datasets import get_path
from pyproj import Transformer

STATION = (36.1, -79.95)  # latitude and longitude in the head of the weather file

JOB = """
[job]
name = "Real footprints, real weather"
time_zone = "America/New_York"
start = "2030-07-15T08:00"
members = 64
seed = 7

[assets]
file = "bubenec.gpkg"
layer = "buildings"
columns = { id = "uID" }
defaults = { kind = "house" }

[fire]
exposure = "grass fire"
arrival = ["2030-07-15T14:00", "2030-07-15T15:00"]
from = "W"
setback = "50 ft"

[weather]
file = "723170TYA.CSV"
format = "tmy3"
year = 2030

[product]
id = "plain"
name = "Superabsorbent, soft water (invented)"
type = "superabsorbent_dispersion"
ratio = ["0.5 %", "2 %"]
ratio_basis = "volume"
pack = "20 L"

[[crew]]
id = "e1"
tank = "500 gal"
spray_flow = "30 gal/min"
"""


def beside_the_station() -> geopandas.GeoDataFrame:
    """The buildings, still in Web Mercator, where lengths read 1.24 times too long there."""
    found = geopandas.read_file(get_path("bubenec"), layer="buildings")
    degrees = Transformer.from_crs("EPSG:3857", "EPSG:4326", always_xy=True)
    left, low, right, high = found.total_bounds
    x, y = (left + right) / 2, (low + high) / 2
    _, latitude = degrees.transform(x, y)
    scale = math.cos(math.radians(latitude)) / math.cos(math.radians(STATION[0]))
    there = degrees.transform(STATION[1], STATION[0], direction="INVERSE")
    moved = [scale, 0, 0, scale, there[0] - scale * x, there[1] - scale * y]
    return found.set_geometry(found.geometry.affine_transform(moved))


def make_real_job(folder: Path) -> Path:
    """Write the job into a folder and return the path of its job.toml."""
    folder.mkdir(parents=True, exist_ok=True)
    weather = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    beside_the_station().to_file(folder / "bubenec.gpkg", layer="buildings", driver="GPKG")
    shutil.copy(weather, folder / weather.name)
    job = folder / "job.toml"
    job.write_text(JOB.lstrip(), encoding="utf-8")
    return job


if __name__ == "__main__":
    print(make_real_job(Path(sys.argv[1])))
