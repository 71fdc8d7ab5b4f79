"""What a fire does to a coated face: water asked, ignition, and the film on wood that checks it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import Answer, at, log, many, seeded, to
from stillwet.physics import demand, ignition, materials, wood_film

_START, _AIR_K = to(278.0, 340.0), 305.0
_FACE: dict[str, Any] = {"air_temperature_k": _AIR_K, "convection_w_m2k": 15.0}
_EFFICIENCY = to(0.5, 1.0)


def _history(peak_w_m2: float = 6e4) -> dict[str, Any]:
    """Six faces' heat that rises, stands and falls, in uneven steps."""
    time = np.array([0.0, 40.0, 70.0, 75.0, 110.0, 150.0, 260.0])
    shape = np.array([0.005, 0.1, 0.4, 1.0, 1.0, 0.3, 0.0])
    height = np.array([0.01, 0.05, 0.2, 0.4, 0.7, 1.0])[:, None]
    return {"time_s": time, "flux_w_m2": peak_w_m2 * height * shape}


_ASKED: dict[str, Any] = {
    **_history(),
    "absorptivity": np.array([0.95, 0.95, 0.9, 0.9, 0.8, 0.95]),
    **_FACE,
    "bare_limit_w_m2": np.array([1e4, 1e3, 1e4, 8e3, 12e3, 12e3]),
}

_DEMAND = {
    "constants": lambda: [demand.AIR_VAPOUR_SHARE, demand.SUN_LIKE_FLUX, demand.COAT_EMISSIVITY],
    "energy_to_dry": many(demand.energy_to_dry, start_temperature_k=_START),
    "wet_face_loss": many(
        demand.wet_face_loss,
        air_temperature_k=_START,
        convection_w_m2k=to(3.0, 60.0),
        edges=[{"emissivity": 0.8}],
    ),
    "evaporation_spalding": many(
        demand.evaporation_spalding,
        surface_temperature_k=to(275.0, 372.0),
        convection_w_m2k=to(3.0, 60.0),
        air_vapour_share=0.006,
        edges=[{"air_vapour_share": 0.02}],
    ),
    "wet_face_boiling_heat": many(
        demand.wet_face_boiling_heat,
        absorbed_w_m2=log(10.0, 8e4),
        **_FACE,
        edges=[
            {"absorbed_w_m2": 0.0},
            {"air_temperature_k": 372.9},
            {"convection_w_m2k": 40.0, "absorbed_w_m2": 5e3},
        ],
    ),
    "cumulative_net_heat": at(demand.cumulative_net_heat, _ASKED),
    "water_demand": at(
        demand.water_demand,
        {**_ASKED, "start_temperature_k": 300.0, "water_efficiency": 0.7},
        {
            **_ASKED,
            "start_temperature_k": np.array([290.0, 310.0]),
            "water_efficiency": np.array([0.6, 0.9]),
        },
        {**_ASKED, **_history(3e3), "start_temperature_k": 300.0, "water_efficiency": 0.7},
    ),
    "coat_used_up_time": at(
        demand.coat_used_up_time,
        *(
            {**_ASKED, "coat_kg_m2": coat, "start_temperature_k": 300.0, "water_efficiency": 0.7}
            for coat in (0.0, 0.3, 1.0, 3.0)
        ),
    ),
    "water_time": many(
        demand.water_time,
        flux_w_m2=log(100.0, 8e4),
        coat_kg_m2=to(0.3, 6.0),
        absorptivity=to(0.5, 1.0),
        start_temperature_k=_START,
        **_FACE,
        water_efficiency=_EFFICIENCY,
        edges=[{"flux_w_m2": 0.0}],
    ),
}


def _of_each(function: Callable[..., Any], **ranges: Any) -> Callable[[], object]:
    """The same asked of every material."""
    return lambda: {
        name: many(function, material=material, **ranges)()
        for name, material in materials.materials().items()
    }


_IGNITION = {
    "surface_heating_time": many(
        ignition.surface_heating_time,
        net_flux_w_m2=log(100.0, 8e4),
        thermal_inertia_j2_m4k2s=log(5e4, 2e6),
        temperature_rise_k=to(10.0, 400.0),
        edges=[{"net_flux_w_m2": net} for net in (0.0, -5.0)],
    ),
    "ignition_time_thick_solid": many(
        ignition.ignition_time_thick_solid,
        flux_w_m2=log(5e3, 8e4),
        critical_flux_w_m2=12e3,
        thermal_inertia_j2_m4k2s=log(5e4, 2e6),
        limit_temperature_k=to(500.0, 650.0),
        start_temperature_k=_START,
        bare_emissivity=to(0.6, 1.0),
        edges=[
            *({"flux_w_m2": heat} for heat in (12e3, 12001.0)),
            {"start_temperature_k": 700.0, "flux_w_m2": 3e4},
            {"limit_temperature_k": 300.0, "start_temperature_k": 300.0, "flux_w_m2": 3e4},
        ],
    ),
    "ignition_time_flux_time_product_tran": many(
        ignition.ignition_time_flux_time_product_tran,
        flux_w_m2=log(5e3, 8e4),
        edges=[{"flux_w_m2": heat} for heat in (13.1e3, 13.2e3)],
    ),
    "ignition_share_flux_time_product_tran": at(
        ignition.ignition_share_flux_time_product_tran, _history()
    ),
    "cambium_kill_time_peterson_ryan": many(
        ignition.cambium_kill_time_peterson_ryan, bark_thickness_m=to(0.001, 0.05)
    ),
    "bare_limit": lambda: {
        name: ignition.bare_limit(material=material)
        for name, material in materials.materials().items()
    },
    "bare_time": _of_each(
        ignition.bare_time,
        flux_w_m2=log(1e3, 8e4),
        start_temperature_k=_START,
        edges=[{"flux_w_m2": 5e4, "inertia_factor": 1.7}, {"flux_w_m2": 4e3}],
    ),
    "protection_time": _of_each(
        ignition.protection_time,
        flux_w_m2=log(1e3, 8e4),
        coat_kg_m2=to(0.3, 6.0),
        start_temperature_k=_START,
        **_FACE,
        water_efficiency=_EFFICIENCY,
        edges=[{"flux_w_m2": 5e4, "inertia_factor": 1.7}],
    ),
}

_MATERIALS: dict[str, Answer] = {
    "materials": materials.materials,
    "sourced": at(materials.sourced, {"row": [1, "m", 0, 2, "a book", "published"]}),
    "Harm": lambda: [harm.value for harm in materials.Harm],
}


def _film(**changes: Any) -> object:
    given: dict[str, Any] = {
        "time_s": [0.0, 5.0, 5.0, 25.0, 60.0],
        "flux_w_m2": [2e3, 2e3, 5e4, 6e4, 1e4],
        "coat_kg_m2": 0.4,
        "start_temperature_k": 300.0,
        **_FACE,
        **changes,
    }
    return wood_film.film_on_wood(**given)


def _over(function: Any, *ranges: tuple[float, float]) -> object:
    random = seeded(function.__name__)
    return [
        function.py_func(*(low + (high - low) * random.random() for low, high in ranges))
        for _ in range(12)
    ]


_HOT, _K, _E, _H = (275.0, 373.1), (275.0, 330.0), (0.8, 1.0), (2.0, 40.0)
_INSIDE, _ABSORBED = (100.0, 5e4), (500.0, 8e4)


def _film_step(first: int, thin: float) -> object:
    """Film, its heat and the ledger after one step, with what is told of it."""
    film, ledger = np.array([0.02, 0.1, 0.1]) * thin, np.zeros(3)
    heat = film * demand.LIQUID_SPECIFIC_HEAT * np.array([60.0, 40.0, 30.0])
    settings = np.array([0.95, 0.96, 305.0, 15.0, 0.006])
    told = wood_film._film_step.py_func(
        5e4, 0.004, first, film, heat, 310.0, 4e-4, settings, ledger
    )
    return [told, film, heat, ledger]


def _bare_step() -> object:
    ledger, settings = np.ones(3), np.array([0.95, 0.96, 305.0, 15.0, 0.006, 0.9])
    return [wood_film._bare_step.py_func(3e4, 0.01, 420.0, 4e-4, settings, ledger), ledger]


def _fluxes() -> list[object]:
    time, heat = np.array([0.0, 10.0, 10.0, 30.0]), np.array([1e3, 2e3, 5e4, 4e4])
    return [
        wood_film._flux_at.py_func(now, index, time, heat)
        for index in (0, 1, 2)
        for now in (0.0, 4.0, 10.0, 20.0, 30.0)
        if now >= time[index]
    ]


_WOOD_FILM: dict[str, Answer] = {
    "film_on_wood": lambda: [
        _film(),
        _film(coat_kg_m2=0.0),
        _film(coat_kg_m2=0.02),
        _film(coat_kg_m2=1.5, absorptivity=0.8, coat_emissivity=0.9, air_vapour_share=0.02),
        _film(convection_w_m2k=0.0, coat_kg_m2=0.1),
        _film(flux_w_m2=[2e3, 2e3, 5e3, 6e3, 1e3], coat_kg_m2=0.2),
        _film(
            coat_kg_m2=0.0,
            wood=wood_film.Wood(
                conductivity_w_mk=0.2,
                density_kg_m3=400.0,
                heat_j_kgk=1500.0,
                moisture=0.0,
                thickness_m=0.012,
                ignition_temperature_k=560.0,
                emissivity=0.8,
            ),
        ),
    ],
    "Wood": wood_film.Wood,
    "vapour share": lambda: _over(wood_film._vapour_share, _HOT),
    "surface loss": lambda: [
        _over(wood_film._surface_loss, _HOT, _K, _K, _E, _H, (0.0, 0.3)),
        wood_film._surface_loss.py_func(350.0, 300.0, 310.0, 0.9, 0.0, 0.01),
        wood_film._surface_loss.py_func(350.0, 300.0, 310.0, 0.9, 5.0, 0.2),
        wood_film._surface_loss.py_func(350.0, 300.0, 310.0, 0.9, 5.0, 0.0),
    ],
    "wet surface": lambda: _over(
        wood_film._wet_surface, _ABSORBED, _K, _INSIDE, _K, _E, _H, (0.001, 0.02)
    ),
    "bare surface": lambda: _over(
        wood_film._bare_surface, _ABSORBED, (300.0, 600.0), (50.0, 2e3), _K, _E, _H
    ),
    "wood temperature": lambda: _over(
        wood_film._wood_temperature, (0.0, 4e8), (0.0, 90.0), (5e5, 1e6)
    ),
    "film step": lambda: [_film_step(*row) for row in ((0, 1.0), (1, 1.0), (2, 1.0), (0, 1e-4))],
    "bare step": _bare_step,
    "flux at": _fluxes,
    "wood widths": lambda: [wood_film._wood_widths(thick) for thick in (0.0001, 0.003, 0.03)],
    "stable step": lambda: [
        wood_film._stable_step(
            film=film, width=np.array([1e-4, 2e-4]), wood=wood_film.Wood(), dry_heat=8e5
        )
        for film in (np.array([]), np.array([0.1]), np.array([9.0]))
    ],
    "dry depth": lambda: [
        wood_film._dry_depth(
            np.array([4e8, 2e8, 1e8, 1e7]), water, np.array([1e-4, 2e-4, 3e-4, 4e-4]), 8e5
        )
        for water in (np.full(4, 60.0), np.zeros(4), np.array([0.0, 60.0, 60.0, 0.0]))
    ],
}

GROUPS: Groups = {
    "demand": _DEMAND,
    "ignition": _IGNITION,
    "materials": _MATERIALS,
    "wood_film": _WOOD_FILM,
}
