"""Directions that no set of facts may break: nearer, windier or less known is never freer."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from stillwet.domain.suitability import Delivery, Task
from stillwet.engine.suitability_fields import Value
from suitability_fixture import fit_of, house_facts

METRES = st.floats(0.0, 400.0)
MAYBE_METRES = st.none() | METRES
SETTINGS = st.fixed_dictionaries(
    {
        "task": st.sampled_from(Task),
        "kind": st.sampled_from(["house", "pole", "vehicle", "line"]),
        "delivery": st.sampled_from(Delivery),
        "ground_buffer": MAYBE_METRES,
        "well_buffer": MAYBE_METRES,
        "water_distance": MAYBE_METRES,
        "well_distance": MAYBE_METRES,
        "wind_at_lay": st.floats(0.0, 30.0),
        "wind_limit": st.none() | st.floats(0.0, 30.0),
        "released": st.none() | st.booleans(),
        "energised": st.none() | st.booleans(),
        "product_approved": st.none() | st.booleans(),
        "delivery_on_label": st.none() | st.booleans(),
        "hardness": st.none() | st.floats(0.0, 2.0),
    }
)


def _severity(facts: dict[str, Value | None], **changes: Value | None) -> int:
    return fit_of(house_facts(**(facts | changes))).severity


@given(facts=SETTINGS, near=METRES, far=METRES)
def test_nearer_water_is_never_more_permissive(
    facts: dict[str, Value | None], near: float, far: float
) -> None:
    """Whatever else holds, the nearer of two distances to water or a well is not freer."""
    near, far = sorted((near, far))
    for name in ("water_distance", "well_distance"):
        assert _severity(facts, **{name: near}) >= _severity(facts, **{name: far})


@given(facts=SETTINGS, less=METRES, more=METRES)
def test_a_wider_local_distance_is_never_more_permissive(
    facts: dict[str, Value | None], less: float, more: float
) -> None:
    """A stricter local rule forbids at least as much."""
    less, more = sorted((less, more))
    for name in ("ground_buffer", "well_buffer"):
        assert _severity(facts, **{name: more}) >= _severity(facts, **{name: less})


@given(facts=SETTINGS, calm=st.floats(0.0, 30.0), windy=st.floats(0.0, 30.0))
def test_more_wind_is_never_more_permissive(
    facts: dict[str, Value | None], calm: float, windy: float
) -> None:
    """The stronger of two winds is not freer."""
    calm, windy = sorted((calm, windy))
    assert _severity(facts, wind_at_lay=windy) >= _severity(facts, wind_at_lay=calm)


@given(facts=SETTINGS, soft=st.floats(0.0, 2.0), hard=st.floats(0.0, 2.0))
def test_harder_water_is_never_more_permissive(
    facts: dict[str, Value | None], soft: float, hard: float
) -> None:
    """The harder of two waters is not freer."""
    soft, hard = sorted((soft, hard))
    assert _severity(facts, hardness=hard) >= _severity(facts, hardness=soft)


@given(facts=SETTINGS)
def test_leave_is_never_taken_for_granted(facts: dict[str, Value | None]) -> None:
    """Not knowing whether it is approved or on the label is not freer than knowing that it is."""
    for name in ("product_approved", "delivery_on_label", "released"):
        assert _severity(facts, **{name: None}) >= _severity(facts, **{name: True})
        assert _severity(facts, **{name: False}) >= _severity(facts, **{name: True})


@given(facts=SETTINGS)
def test_the_air_is_never_freer_than_the_ground(facts: dict[str, Value | None]) -> None:
    """A drop from the air is held to everything that work from the ground is held to."""
    ground = _severity(facts, delivery="ground")
    assert _severity(facts, delivery="airplane") >= ground
    assert _severity(facts, delivery="helicopter") >= ground
