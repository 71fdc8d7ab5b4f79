"""``stillwet serve``: the job in a browser, on this machine or for those on the same network."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.talk import Talk, talk_options
from stillwet.errors import Problem, StillwetError


@click.command("serve", short_help="Open a job in the browser, here or for the local network.")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB.gpkg")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8642,
    show_default=True,
    help="Port to listen on; 0 for any that is free.",
)
@click.option(
    "--network",
    is_flag=True,
    help="Also serve others on the same network; they have to join with a code.",
)
@click.option(
    "--authority",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="With --network: keep the authority for HTTPS here, not in your own settings folder.",
)
@click.option(
    "--base-map",
    type=click.Path(path_type=Path),
    metavar="TILES",
    help="Draw this under the maps: a file of map pictures of your own, MBTiles or PMTiles.",
)
@click.option(
    "--hillshade",
    type=click.Path(path_type=Path),
    metavar="TILES",
    help="Draw the slopes of the ground as well: another such file, of shaded relief.",
)
@click.option(
    "--now",
    metavar="TIME",
    help="Rehearse: the app's clock starts at this moment (2030-08-14T06:00-06:00) and runs on.",
)
@click.option("--open", "open_browser", is_flag=True, help="Open the browser on this machine.")
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    port: int,
    network: bool,
    authority: Path | None,
    base_map: Path | None,
    hillshade: Path | None,
    now: str | None,
    open_browser: bool,
) -> None:
    """Serve the job in JOB.gpkg as a web app until stopped with Ctrl-C.

    It needs no internet. Without --network only this machine can reach it; with it, phones nearby
    can, plain and on the next port by HTTPS (the page /trust says what a phone does for that).
    Every screen shows what is left on each face as the field log has it, and follows within a
    second what anybody logs.
    Where there is no such file yet, an empty one is made, and the job is made at the desk.

    \b
    Examples:
      stillwet serve day.gpkg --open
      stillwet serve day.gpkg --network --port 8700
      stillwet serve day.gpkg --base-map county.mbtiles --hillshade slopes.pmtiles
      stillwet serve day.gpkg --now 2030-08-14T11:00-06:00
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import clock_from, moment_s
    from stillwet.services.drafting import kept_hash
    from stillwet.services.ground import open_ground
    from stillwet.services.keeping import make_empty_job_file, need_job_file, read_kept_job

    need_job_file(job)
    ground = open_ground(base_map, hillshade)
    try:
        from stillwet.web.serve import serve_job
    except ImportError as error:
        got = f"no {error.name}"
        hint = 'install it with: pip install "stillwet[web]"'
        raise StillwetError(Problem("serve", "the web extra", got, "", hint)) from None
    if not job.exists():
        make_empty_job_file(job, now_s=moment_s(None))
        talk.note(f"{job}: new, with no job in it yet; make one at the desk")
    elif kept_hash(job):
        read_kept_job(job)  # a damaged job is told here, not on every page
    serve_job(
        job,
        port=port,
        network=network,
        authority_in=authority,
        open_browser=open_browser,
        clock=clock_from(now),
        ground=ground,
        tell=talk.note,
    )
