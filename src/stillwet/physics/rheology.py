"""How a mix flows: yield stress, consistency, flow index from ratio, water, temperature and age.

The flow curve is Herschel-Bulkley, ``tau = tau_y + K*rate**n``. Everything the water and the clock
do to a mix is put into one number, the **effective ratio** ``r_e = r * swelling * hydration``: hard
water shrinks each swollen particle and an unfinished mix has not swollen it yet, so both act as if
less concentrate had been put in. That is why a richer mix makes up for hard water in proportion,
and why close above the threshold a little more hardness takes the whole yield stress away.

No published flow curve of any fire gel was found. The shapes are reasoned from gel physics; the
numbers live in ``data/product_types.toml`` with wide intervals and give way to a crew's trial.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stillwet.physics.guards import Numbers

REFERENCE_TEMPERATURE_K = 294.15  # 21 C, the 70 F of the agency's viscosity tables
YIELD_TEMPERATURE_SLOPE_PER_K = 0.005  # untested default, 0 to 0.015 1/K
HYDRATION_TIME_S = 60.0  # untested default at 21 C, see data/product_types.toml by type
THINNING_SHARPNESS = 4.0  # untested default, 2.5 to 6: how fast a mix turns from water to gel

# Patek et al. 2009, J. Phys. Chem. Ref. Data 38:21 (IAPWS SR6-08): sum a (T/300)^b in uPa s.
PATEK_TERMS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


@dataclass(frozen=True, slots=True)
class FlowCurve:
    """A gel's Herschel-Bulkley curve with its density."""

    yield_pa: float
    consistency_pa_s: float
    index: float
    density_kg_m3: float


def water_viscosity_patek(*, temperature_k: Numbers) -> Numbers:
    """Dynamic viscosity of liquid water [Pa s] at 0.1 MPa; temperature_k [K], any shape.

    ``mu = 1e-6 * sum a_i (T/300)^b_i``. Range 253 to 383 K, within 1 % of the full formulation.
    Source: Patek, Hruby, Klomfar, Souckova & Harvey 2009, eq. 7; IAPWS SR6-08(2011).
    """
    reduced = np.asarray(temperature_k, dtype=float) / 300.0
    viscosity: Numbers = 1e-6 * sum(a * reduced**b for a, b in PATEK_TERMS)
    return viscosity


def swelling_of_hard_water(
    *, hardness_kg_m3: Numbers, hardness_half_kg_m3: Numbers, exponent: Numbers = 1.0
) -> Numbers:
    """Share of its soft-water volume that a swollen particle keeps in hard water [-].

    Parameters: hardness_kg_m3, hardness as CaCO3 [kg/m3]; hardness_half_kg_m3, the hardness that
    halves the swelling when the exponent is 1 [kg/m3], infinite for a product that does not care;
    exponent [-], 1 for superabsorbents, 0 for none, negative where hardness thickens (bentonite
    flocculates). Any shapes that broadcast.

    ``s = (1 + H/H_half)^-q``. Reason: a polyelectrolyte particle swells by the ions it holds in
    excess of the water around it (Donnan equilibrium), so its volume falls as a power of the
    water's ions once they outnumber its own; published uptakes fall about six times from deionised
    water to 0.9 % salt. Untested default shape; range 0 to 1 kg/m3.
    """
    relative = np.asarray(hardness_kg_m3, dtype=float) / hardness_half_kg_m3
    swelling: Numbers = (1.0 + relative) ** -np.asarray(exponent)
    return swelling


def hydration_time_tanaka(*, hydration_time_s: Numbers, temperature_k: Numbers) -> Numbers:
    """Swelling time at a temperature [s], from that at 21 C [s]; temperature_k [K].

    A gel particle swells by diffusion, ``t = a^2/(pi^2 D)`` (Tanaka & Fillmore 1979, J. Chem. Phys.
    70:1214), with ``D`` as ``T/mu`` (Stokes-Einstein): at 4 C it takes 1.7 times as long as at 21
    C. Range: liquid water. Known fault: lumps that never wetted through do not swell at all.
    """
    slower = water_viscosity_patek(temperature_k=temperature_k) / water_viscosity_patek(
        temperature_k=REFERENCE_TEMPERATURE_K
    )
    return np.asarray(hydration_time_s) * slower * REFERENCE_TEMPERATURE_K / temperature_k


def hydration(
    *, age_s: Numbers, temperature_k: Numbers, hydration_time_s: Numbers = HYDRATION_TIME_S
) -> Numbers:
    """Share of the final swelling reached ``age_s`` after mixing [-]: ``1 - exp(-age/t(T))``.

    Parameters: age_s [s], infinite for a finished mix; temperature_k of the water [K];
    hydration_time_s at 21 C [s]. First-order approach is an untested default shape.
    """
    time_s = hydration_time_tanaka(hydration_time_s=hydration_time_s, temperature_k=temperature_k)
    return -np.expm1(-np.asarray(age_s, dtype=float) / time_s)


def hydration_wait(
    *, share: Numbers, temperature_k: Numbers, hydration_time_s: Numbers = HYDRATION_TIME_S
) -> Numbers:
    """Seconds from mixing until a mix has swollen to this share: the inverse of ``hydration``.

    Parameters: share [-], 0 to below 1; temperature_k of the water [K]; hydration_time_s at 21 C
    [s].
    """
    time_s = hydration_time_tanaka(hydration_time_s=hydration_time_s, temperature_k=temperature_k)
    wait: Numbers = -time_s * np.log1p(-np.asarray(share, dtype=float))
    return wait


def effective_ratio(
    *,
    ratio: Numbers,
    hardness_kg_m3: Numbers,
    hardness_half_kg_m3: Numbers,
    hardness_exponent: Numbers = 1.0,
    temperature_k: Numbers = REFERENCE_TEMPERATURE_K,
    age_s: Numbers = np.inf,
    hydration_time_s: Numbers = HYDRATION_TIME_S,
) -> Numbers:
    """The ratio that would do the same in soft water after full hydration [fraction].

    Parameters: ratio, mix ratio on the product's own basis [fraction]; the rest as in
    ``swelling_of_hard_water`` and ``hydration``.
    """
    swelling = swelling_of_hard_water(
        hardness_kg_m3=hardness_kg_m3,
        hardness_half_kg_m3=hardness_half_kg_m3,
        exponent=hardness_exponent,
    )
    grown = hydration(age_s=age_s, temperature_k=temperature_k, hydration_time_s=hydration_time_s)
    return np.asarray(ratio) * swelling * grown


def yield_stress_of_effective_ratio(
    *, ratio: Numbers, coefficient_pa: Numbers, threshold: Numbers, exponent: Numbers
) -> Numbers:
    """Yield stress [Pa] of a finished mix in soft water at 21 C: ``A*(r - r0)^p`` above ``r0``.

    Parameters: ratio, threshold [fraction]; coefficient_pa [Pa]; exponent [-].
    Shape: below ``r0`` the swollen particles do not touch; above it they jam and the stress grows
    as a power of the excess (percolation form; carbomer pastes give p of about 1 to 2).
    """
    excess = np.maximum(np.asarray(ratio, dtype=float) - threshold, 0.0)
    return np.asarray(coefficient_pa) * excess**exponent


def warming_factor(*, temperature_k: Numbers, slope_per_k: Numbers) -> Numbers:
    """Yield stress at temperature_k [K] over that at 21 C: ``exp(-b (T - 294.15))``, b [1/K]."""
    return np.exp(-np.asarray(slope_per_k) * (np.asarray(temperature_k) - REFERENCE_TEMPERATURE_K))


def yield_stress(
    *,
    ratio: Numbers,
    coefficient_pa: Numbers,
    threshold: Numbers,
    exponent: Numbers,
    hardness_kg_m3: Numbers,
    hardness_half_kg_m3: Numbers,
    temperature_k: Numbers = REFERENCE_TEMPERATURE_K,
    age_s: Numbers = np.inf,
    hydration_time_s: Numbers = HYDRATION_TIME_S,
    hardness_exponent: Numbers = 1.0,
    temperature_slope_per_k: Numbers = YIELD_TEMPERATURE_SLOPE_PER_K,
) -> Numbers:
    """Yield stress of a mix [Pa]: what a standing layer must overcome to slough.

    Parameters: ratio [fraction on the product's basis]; coefficient_pa [Pa], threshold [fraction]
    and exponent [-] of the power law; hardness_kg_m3 of the mix water as CaCO3 and
    hardness_half_kg_m3 [kg/m3]; temperature_k of the mix [K]; age_s since mixing [s];
    hydration_time_s at 21 C [s]; hardness_exponent [-]; temperature_slope_per_k [1/K]. Any shapes
    that broadcast.

    Range: label ratios, water 2 to 40 C, hardness to 1 kg/m3. Known faults: no spoilage by
    bacteria, sun or long stirring; real gels creep slowly below their yield stress (Roberts &
    Barnes 2001).
    """
    effective = effective_ratio(
        ratio=ratio,
        hardness_kg_m3=hardness_kg_m3,
        hardness_half_kg_m3=hardness_half_kg_m3,
        hardness_exponent=hardness_exponent,
        temperature_k=temperature_k,
        age_s=age_s,
        hydration_time_s=hydration_time_s,
    )
    soft = yield_stress_of_effective_ratio(
        ratio=effective, coefficient_pa=coefficient_pa, threshold=threshold, exponent=exponent
    )
    return soft * warming_factor(temperature_k=temperature_k, slope_per_k=temperature_slope_per_k)


def ratio_for_yield(
    *,
    yield_pa: Numbers,
    coefficient_pa: Numbers,
    threshold: Numbers,
    exponent: Numbers,
    hardness_kg_m3: Numbers,
    hardness_half_kg_m3: Numbers,
    temperature_k: Numbers = REFERENCE_TEMPERATURE_K,
    age_s: Numbers = np.inf,
    hydration_time_s: Numbers = HYDRATION_TIME_S,
    hardness_exponent: Numbers = 1.0,
    temperature_slope_per_k: Numbers = YIELD_TEMPERATURE_SLOPE_PER_K,
) -> Numbers:
    """Smallest mix ratio [fraction] with this yield stress [Pa]: the inverse of ``yield_stress``.

    Parameters as there. Returns infinity where no ratio does it (not hydrated at all, or a product
    whose coefficient is zero), and the jamming threshold for a yield stress of zero.
    """
    warming = warming_factor(temperature_k=temperature_k, slope_per_k=temperature_slope_per_k)
    per_ratio = effective_ratio(
        ratio=1.0,
        hardness_kg_m3=hardness_kg_m3,
        hardness_half_kg_m3=hardness_half_kg_m3,
        hardness_exponent=hardness_exponent,
        temperature_k=temperature_k,
        age_s=age_s,
        hydration_time_s=hydration_time_s,
    )
    wanted = np.maximum(np.asarray(yield_pa, dtype=float), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        excess = np.where(wanted > 0.0, (wanted / (coefficient_pa * warming)), 0.0) ** (
            1.0 / np.asarray(exponent)
        )
        return (threshold + excess) / per_ratio


def gel_share(*, ratio: Numbers, threshold: Numbers, sharpness: Numbers) -> Numbers:
    """How far a mix has turned from water to gel [-], 0 to 1: ``1 - 1/(1 + (r/r0)^m)``.

    Parameters: ratio (effective) and threshold [fraction], sharpness m [-]. Untested default shape.
    """
    grown = (np.asarray(ratio, dtype=float) / threshold) ** sharpness
    return grown / (1.0 + grown)


def consistency(
    *,
    ratio: Numbers,
    coefficient_pa_s: Numbers,
    exponent: Numbers,
    threshold: Numbers,
    temperature_k: Numbers = REFERENCE_TEMPERATURE_K,
    sharpness: Numbers = THINNING_SHARPNESS,
) -> Numbers:
    """Consistency K [Pa s^n] of a mix; ``ratio`` is the effective ratio [fraction].

    Parameters: coefficient_pa_s [Pa s^n] and exponent [-] of the gel's ``K = C*(r/r0)^q`` (C is K
    at the threshold; below it the gel part keeps C); threshold r0 [fraction]; temperature_k [K];
    sharpness [-].

    ``ln K = w ln K_gel + (1 - w) ln mu_water`` with ``w = gel_share``: a geometric blend, so that a
    thin mix ends as water and a thick one as gel. K follows the viscosity of the water between the
    particles (soft particle pastes: Seth et al. 2011, Nature Materials 10:838).
    """
    share = gel_share(ratio=ratio, threshold=threshold, sharpness=sharpness)
    water = water_viscosity_patek(temperature_k=temperature_k)
    thinner = water / water_viscosity_patek(temperature_k=REFERENCE_TEMPERATURE_K)
    relative = np.maximum(np.asarray(ratio, dtype=float) / threshold, 1.0)
    gel = np.asarray(coefficient_pa_s) * relative**exponent * thinner
    return np.exp(share * np.log(gel) + (1.0 - share) * np.log(water))


def flow_index(
    *,
    ratio: Numbers,
    index_gel: Numbers,
    threshold: Numbers,
    sharpness: Numbers = THINNING_SHARPNESS,
) -> Numbers:
    """Flow index n [-], from 1 (water) to ``index_gel``; ``ratio`` is the effective ratio."""
    share = gel_share(ratio=ratio, threshold=threshold, sharpness=sharpness)
    return 1.0 - share * (1.0 - np.asarray(index_gel))


def shear_stress_herschel_bulkley(
    *, shear_rate_1_s: Numbers, yield_pa: Numbers, consistency_pa_s: Numbers, index: Numbers
) -> Numbers:
    """Shear stress [Pa] in steady flow at a shear rate [1/s]: ``tau = tau_y + K*rate^n``.

    Parameters: yield_pa [Pa], consistency_pa_s [Pa s^n], index [-]. Range: rates above about 0.01
    1/s, where the fit of a carbomer holds. Source: Herschel & Bulkley 1926, Kolloid-Z. 39:291.
    """
    return yield_pa + consistency_pa_s * np.asarray(shear_rate_1_s, dtype=float) ** index


def apparent_viscosity(
    *, shear_rate_1_s: Numbers, yield_pa: Numbers, consistency_pa_s: Numbers, index: Numbers
) -> Numbers:
    """Shear stress over shear rate [Pa s]; parameters as in ``shear_stress_herschel_bulkley``."""
    stress = shear_stress_herschel_bulkley(
        shear_rate_1_s=shear_rate_1_s,
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
    )
    return stress / np.asarray(shear_rate_1_s, dtype=float)
