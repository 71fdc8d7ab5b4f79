"""``stillwet outlook``: how long a coat holds over a whole forecast grid."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from stillwet.cli.choices import now_option, view_options
from stillwet.cli.talk import Talk, talk_options


@click.command("outlook", short_help="Reckon hold times over a forecast grid.")
@click.argument("forecast", type=click.Path(path_type=Path), metavar="FORECAST")
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FILE.zarr|FILE.nc",
    help="The outlook: a Zarr folder, or one NetCDF file with a name that is free.",
)
@click.option("--coat", default="3 mm", show_default=True, help="Mean coat laid.")
@click.option(
    "--faces",
    default="N,E,S,W,roof",
    show_default=True,
    help="Faces: walls N, NE, E to NW; roof, pole, grass.",
)
@click.option("--until", metavar="TIME", help="Hold until then; the forecast's end if not given.")
@click.option(
    "--from", "hold_from", metavar="TIME", help="Must be on by then (--until if not given)."
)
@click.option("--time-zone", metavar="ZONE", help="Zone of times that carry none.")
@click.option("--keep", metavar="DEPTH", help="Water that must be left [default: 0.5 mm].")
@click.option(
    "--product-type",
    default="superabsorbent_dispersion",
    show_default=True,
    help="Kind of concentrate, for how its coat dries.",
)
@click.option(
    "--exponent", type=click.FloatRange(0, 1), help="Drying exponent, in the kind's place."
)
@click.option(
    "--product", type=click.Path(path_type=Path), metavar="FILE.toml", help="A product's own file."
)
@click.option("--write", default="all", show_default=True, help="Answers to write, by name.")
@click.option("--maps", type=click.Path(path_type=Path), metavar="FOLDER", help="Also GeoTIFFs.")
@click.option(
    "--workers", type=click.IntRange(1, 1024), default=1, show_default=True, help="Processes here."
)
@click.option("--scheduler", metavar="ADDRESS", help="A running dask scheduler, tcp://host:8786.")
@click.option("--memory", type=click.FloatRange(0.05), metavar="GB", help="Memory to use.")
@click.option(
    "--card", is_flag=True, help="Use a graphics card where there is one (single precision)."
)
@click.option(
    "--zones", type=click.Path(path_type=Path), metavar="FILE.geojson", help="Polygons to tell of."
)
@click.option(
    "--brief", type=click.Path(path_type=Path), metavar="FILE.pdf", help="A PDF by zones (--zones)."
)
@view_options
@now_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    /,
    forecast: Path,
    out: Path,
    maps: Path | None,
    zones: Path | None,
    brief: Path | None,
    units: str | None,
    paper: str,
    now: str | None,
    **asked: Any,
) -> None:
    """Reckon drying demand, hold times, starts and coats over the grid in FORECAST.

    FORECAST is GRIB2, NetCDF with CF names, or Zarr. A run that is broken off goes on where it
    was when the same command is given again.

    \b
    Examples:
      stillwet outlook forecast.nc --out outlook.zarr
      stillwet outlook forecast.grib2 --coat 3mm --faces W,roof --until 2026-07-11T02:00Z --out w.nc
      stillwet outlook forecast.nc --out a.zarr --from 2026-07-11T14:00-07:00 \\
        --until 2026-07-11T19:00-07:00 --zones zones.geojson --brief brief.pdf
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.outlook import OutlookAsk, make_outlook
    from stillwet.services.outlook_brief import BriefAsk

    if (zones is None) != (brief is None):
        raise click.UsageError("--zones and --brief go together: give both or neither")
    sheets = None
    if zones is not None and brief is not None:
        zone = asked["time_zone"] or "UTC"
        sheets = BriefAsk(zones, brief, moment_s(now), zone, units, paper)
    found = make_outlook(
        forecast,
        out,
        OutlookAsk(**asked),
        maps=maps,
        brief=sheets,
        progress=talk.progress,
    )
    talk.answer(found.text())
