"""Use case: where and how long a coat holds over a whole forecast grid."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.basis import Basis, given
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.outlook_brief import BriefAsk, check_brief, write_brief
from stillwet.services.outputs import need_folder_place
from stillwet.services.planning import Progress
from stillwet.units import read_quantity

if TYPE_CHECKING:
    from stillwet.outlook.ask import Ask
    from stillwet.outlook.loading import Forecast

SUFFIXES = (".zarr", ".nc")
MOST_COAT_KG_M2 = 20.0
DEFAULT_MEMORY = 2 * 2**30


@dataclass(frozen=True, slots=True)
class OutlookAsk:
    """What was typed: texts with units and times, as the command line or a form hands them over."""

    coat: str = "3 mm"
    faces: str = "N,E,S,W,roof"
    write: str = "all"
    hold_from: str | None = None
    until: str | None = None
    time_zone: str | None = None
    keep: str | None = None
    product_type: str = "superabsorbent_dispersion"
    exponent: float | None = None
    product: Path | None = None
    card: bool = False
    workers: int = 1
    scheduler: str | None = None
    memory: float | None = None  # GB


@dataclass(frozen=True, slots=True)
class Outlook:
    """What was written, and what to say of it."""

    out: Path
    cells: int
    hours: int
    members: int
    blocks: int
    done_now: int
    remarks: tuple[str, ...]
    maps: tuple[Path, ...] = ()
    brief: Path | None = None

    def text(self) -> str:
        """What was reckoned, in a few lines."""
        lines = [
            f"{self.out}: {self.cells:,} cells, {self.hours} hours, {self.members} member(s)",
            f"{self.done_now} of {self.blocks} block(s) reckoned now",
        ]
        lines += [f"note: {remark}" for remark in self.remarks]
        if self.maps:
            lines.append(f"{len(self.maps)} maps in {self.maps[0].parent}")
        if self.brief is not None:
            lines.append(f"brief: {self.brief}")
        return "\n".join(lines)


def make_outlook(
    source: Path,
    out: Path,
    asked: OutlookAsk,
    *,
    maps: Path | None = None,
    brief: BriefAsk | None = None,
    progress: Progress | None = None,
) -> Outlook:
    """Reckon the outlook of the forecast at ``source`` into ``out`` (.zarr or .nc).

    ``maps`` names a folder for GeoTIFFs of every answer, ``brief`` the sheets by zones. Raises
    StillwetError, before the reckoning, for places that cannot be written to and for what the
    forecast cannot answer.
    """
    from stillwet.outlook.ask import answers_named
    from stillwet.outlook.loading import open_forecast
    from stillwet.outlook.store import cells_without_answer
    from stillwet.outlook.work import Means, reckon_outlook

    store = _need_places(out, maps)
    forecast = open_forecast(source)
    exponent, basis = _exponent(asked)
    ask, answers = _ask(asked, forecast, exponent), answers_named(asked.write)
    zones = () if brief is None else check_brief(brief, ask, answers)
    no_card = _why_no_card(forecast) if asked.card else None
    card = asked.card and no_card is None
    means = Means(asked.workers, asked.scheduler, _memory(asked.memory), card)
    layout, done_now = reckon_outlook(source, store, ask, answers, means, progress)
    gaps = _of_gaps(cells_without_answer(store, answers), forecast.grid.cells)
    written = _maps(store, maps, forecast.grid.crs_wkt)
    printed = None if brief is None else write_brief(brief, store, forecast, ask, zones, basis)
    if store != out:
        _into_one_file(store, out)
    return Outlook(
        out,
        forecast.grid.cells,
        forecast.grid.hours_s.size,
        forecast.grid.members,
        layout.count,
        done_now,
        (*gaps, *forecast.remarks(), *_of_card(asked.card, no_card)),
        written,
        printed,
    )


def _need_places(out: Path, maps: Path | None) -> Path:
    """The store to reckon in, ``out`` itself or one beside it, once all places are seen to be."""
    if out.suffix.lower() not in SUFFIXES:
        wanted = f"a name ending in {' or '.join(SUFFIXES)}"
        raise StillwetError(Problem("--out", wanted, shown(out.name)))
    if not out.absolute().parent.is_dir():
        raise StillwetError(Problem("--out", "a folder that is there", "none", str(out.parent)))
    need_folder_place(out.parent)
    if maps is not None:
        need_folder_place(maps, field="--maps")
    if out.suffix.lower() == ".zarr":
        return out
    if out.exists():
        raise StillwetError(Problem("--out", "a name that is not taken", "one that is", str(out)))
    return out.with_name(out.name + ".zarr")


def _into_one_file(store: Path, out: Path) -> None:
    """The store as one NetCDF file, which gets its name when it is whole."""
    from stillwet.outlook.store import write_netcdf

    fresh = out.with_name(out.name + ".part")
    write_netcdf(store, fresh)
    fresh.rename(out)
    shutil.rmtree(store)


def _of_gaps(empty: int, cells: int) -> tuple[str, ...]:
    if empty == 0:
        return ()
    some = f"{empty:,} of {cells:,} cells have no answer"
    said = "no cell has an answer" if empty == cells else some
    return (f"{said}: a field has a gap there in some hour",)


def _why_no_card(forecast: Forecast) -> str | None:
    from stillwet.outlook.card import why_no_card

    return why_no_card(forecast)


def _of_card(wanted: bool, why_not: str | None) -> tuple[str, ...]:
    if not wanted:
        return ()
    if why_not is not None:
        return (f"--card: reckoned on this processor, because {why_not}",)
    return ("demand reckoned on the graphics card, in single precision",)


def _exponent(asked: OutlookAsk) -> tuple[float, Basis]:
    """The drying exponent and where it came from: typed, a product's own, or its kind's default."""
    from stillwet.exchange.products import read_product_file, type_defaults
    from stillwet.tables import load_table

    if asked.exponent is not None:
        return asked.exponent, given("--exponent")
    if asked.product is not None:
        product = read_product_file(asked.product)
        basis = product.basis.get("drying_exponent", given(asked.product.name))
        return product.drying_exponent, basis
    kinds = load_table("product_types")
    if asked.product_type not in kinds:
        wanted = "one of " + ", ".join(kinds)
        raise StillwetError(Problem("--product-type", wanted, shown(asked.product_type)))
    default = type_defaults(asked.product_type)["drying_exponent"]
    return float(default.value), default.basis


def _maps(store: Path, maps: Path | None, crs_wkt: str | None) -> tuple[Path, ...]:
    if maps is None:
        return ()
    from stillwet.outlook.geotiff import write_geotiffs

    return write_geotiffs(store, maps, crs_wkt)


def _ask(asked: OutlookAsk, forecast: Forecast, exponent: float) -> Ask:
    """The question in SI, with the house's defaults where nothing was typed."""
    from stillwet.outlook.ask import Ask, faces_named
    from stillwet.physics.coat import thinnest_tenth_factor
    from stillwet.tables import load_table

    practice = load_table("practice")["practice"]
    variation = float(practice["coat_variation"]["value"])
    keep = float(practice["ember_reserve"]["value"])
    if asked.keep is not None:
        keep = _depth(asked.keep, "--keep")
    ask = Ask(
        faces=faces_named(asked.faces),
        coat_kg_m2=_depth(asked.coat, "--coat"),
        keep_kg_m2=keep,
        thinnest=float(thinnest_tenth_factor(coat_variation=variation)),
        exponent=exponent,
        albedo=float(practice["ground_albedo"]["value"]),
        from_s=_moment(asked.hold_from, asked.time_zone, "--from", forecast),
        until_s=_moment(asked.until, asked.time_zone, "--until", forecast),
    )
    if ask.coat_kg_m2 * ask.thinnest <= ask.keep_kg_m2:
        wanted = f"a coat whose thinnest tenth is above the {ask.keep_kg_m2:g} mm to keep"
        raise StillwetError(Problem("--coat", wanted, shown(asked.coat)))
    if ask.from_s is not None and (ask.until_s is None or ask.from_s > ask.until_s):
        wanted = "a time no later than --until, which it needs"
        raise StillwetError(Problem("--from", wanted, shown(asked.hold_from)))
    return ask


def _depth(text: str, field: str) -> float:
    depth = read_quantity(text, dimension="water_depth", field=field)
    if not 0 <= depth <= MOST_COAT_KG_M2:
        raise StillwetError(Problem(field, f"0 to {MOST_COAT_KG_M2:g} mm", shown(text)))
    return depth


def _moment(text: str | None, zone: str | None, field: str, forecast: Forecast) -> float | None:
    """Epoch seconds of a typed time, which must lie in the forecast."""
    from stillwet.exchange.clock import Clock, read_time, read_zone, show_time

    if text is None:
        return None
    none = Clock(zone=None, name="UTC", key="--time-zone")
    clock = none if zone is None else read_zone(zone, field=none.key, place="")
    moment = read_time(text, clock, field=field, place="")
    first, last = float(forecast.grid.hours_s[0]), float(forecast.grid.hours_s[-1])
    if not first <= moment <= last:
        wanted = f"a time from {show_time(first, clock)} to {show_time(last, clock)}"
        raise StillwetError(Problem(field, wanted, shown(text), forecast.path.name))
    return moment


def _memory(gigabytes: float | None) -> int:
    """Bytes to use: half of what is free unless said."""
    if gigabytes is not None:
        return int(gigabytes * 1e9)
    try:
        free = os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (ValueError, OSError):
        return DEFAULT_MEMORY
    return max(free // 2, DEFAULT_MEMORY // 4)
