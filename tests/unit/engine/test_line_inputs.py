"""What lines stood on: the numbers of their own crews, of each segment and of its fuel."""

from __future__ import annotations

from dataclasses import replace

from job_fixture import make_crew, make_job
from line_fixture import make_fuel, make_line, make_line_job, make_segment, make_work
from stillwet.domain.basis import Basis, BasisKind
from stillwet.engine.line_inputs import line_inputs, lines_job_inputs

DEFAULT = Basis(BasisKind.UNTESTED, "test", 0.1, 9.9)


def test_a_stretch_tells_its_own_defaults_and_those_of_its_fuel() -> None:
    """Width of the strip and cover of the trees over it, each once where two stretches share it."""
    fuel = make_fuel(canopy_cover=0.4, canopy_height_m=9.0, basis={"canopy_cover": DEFAULT})
    stretches = tuple(
        make_segment(80.0 * n, 80.0 * (n + 1), width_m=width, fuel=fuel, basis={"width": DEFAULT})
        for n, width in enumerate((4.0, 4.0, 5.5))
    )
    told = [(row.name, row.value, row.unit) for row in line_inputs(make_line(segments=stretches))]
    assert told.count(("width", 4.0, "m")) == 1
    assert told.count(("width", 5.5, "m")) == 1
    assert told.count(("canopy cover", 0.4, "fraction")) == 1


def test_lines_stand_on_the_crews_that_wet_them() -> None:
    """Of two engines the second is named: its tank and speed are told, not those of the first."""
    basis = dict.fromkeys(("tank", "speed", "setup"), DEFAULT)
    crews = (make_crew(basis=basis), make_crew(id="c2", name="Tender 9", tank_m3=5.0, basis=basis))
    line = make_line(work=make_work(crew_id="c2"))
    told = {row.name: row.value for row in lines_job_inputs(make_line_job(line, crews=crews))}
    assert told["Tender 9: tank"] == 5.0
    assert told["Tender 9: speed"] == 15.0
    assert not [name for name in told if name.startswith("Invented engine")]
    assert "Tender 9: setup" not in told  # of an asset's visit; along a line there is none


def test_lines_do_not_claim_what_only_assets_stand_on() -> None:
    """No line waits for its coat's longest wait, or is laid for embers."""
    job = make_job(lines=(make_line(),))
    names = ("longest_wait", "ember_reserve", "cling_safety", "egress_lead")
    practice = replace(job.practice, basis=dict.fromkeys(names, DEFAULT))
    told = {row.name for row in lines_job_inputs(replace(job, practice=practice))}
    assert told >= {"cling safety", "egress lead"}
    assert not told & {"longest wait", "ember reserve"}
