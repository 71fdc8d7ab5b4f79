"""Physical constants, each with its unit and source; derived ones are computed from them."""

from __future__ import annotations

STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018
GRAVITY = 9.80665  # m/s2, standard (ISO 80000-3)
ZERO_CELSIUS = 273.15  # K
STANDARD_PRESSURE = 101325.0  # Pa
GAS_CONSTANT_DRY_AIR = 287.042  # J/kgK, ASHRAE Handbook of Fundamentals 2017 ch. 1
GAS_CONSTANT_VAPOUR = 461.524  # J/kgK, R/M with M = 18.015268 g/mol, IAPWS
VON_KARMAN = 0.41  # -, FAO-56 Annex 2
WATER_DENSITY = 998.206  # kg/m3 at 20 C, IAPWS-97
MOLAR_MASS_RATIO = GAS_CONSTANT_DRY_AIR / GAS_CONSTANT_VAPOUR  # 0.62194..., water to dry air
BOILING_POINT = 373.15  # K at standard pressure
