"""Moist air and outer film coefficients.

Correlations (all from memory of the usual heat-transfer textbooks): Sutherland's laws for air, Magnus over liquid
water, Churchill-Chu 1975 for free convection, Churchill-Bernstein 1977 for cross flow, cubic blending of both,
Lewis relation for condensation.
"""

import numpy as np

GRAVITY = 9.81
PRANDTL = 0.711
LATENT = 2.47e6  # J/kg, condensation near 10 degC
CP = 1006.0  # J/kg K
PRESSURE = 101_325.0  # Pa


def properties(film_c):
    """(conductivity W/mK, kinematic viscosity m2/s, density kg/m3) of dry air at `film_c` [degC]."""
    t = film_c + 273.15
    mu = 1.716e-5 * (t / 273.15) ** 1.5 * (273.15 + 110.4) / (t + 110.4)
    k = 0.02414 * (t / 273.15) ** 1.5 * (273.15 + 194.0) / (t + 194.0)
    rho = PRESSURE / (287.05 * t)
    return k, mu / rho, rho


def vapour_pressure(temp_c):
    """Saturation pressure over liquid water [Pa], Magnus form."""
    return 611.2 * np.exp(17.62 * temp_c / (243.12 + temp_c))


def humidity_ratio(temp_c, rh):
    """kg water per kg dry air at relative humidity `rh` (0..1)."""
    e = rh * vapour_pressure(temp_c)
    return 0.622 * e / (PRESSURE - e)


def dew_point(temp_c, rh):
    """Dew point [degC]."""
    x = np.log(rh * vapour_pressure(temp_c) / 611.2)
    return 243.12 * x / (17.62 - x)


def free_convection(delta_k, film_c, size_m, upright):
    """Mean free-convection coefficient [W/m2K] of an upright wall `size_m` high or a level cylinder that thick."""
    k, nu, _ = properties(film_c)
    ra = GRAVITY / (film_c + 273.15) * np.abs(delta_k) * size_m**3 * PRANDTL / nu**2
    first, bracket = (0.825, 0.492) if upright else (0.60, 0.559)
    damp = (1.0 + (bracket / PRANDTL) ** (9 / 16)) ** (8 / 27)
    return (first + 0.387 * ra ** (1 / 6) / damp) ** 2 * k / size_m


def forced_convection(wind, film_c, diameter_m):
    """Mean cross-flow coefficient [W/m2K] of a cylinder in `wind` [m/s]."""
    k, nu, _ = properties(film_c)
    re = max(wind, 0.0) * diameter_m / nu
    core = 0.62 * np.sqrt(re) * PRANDTL ** (1 / 3) / (1 + (0.4 / PRANDTL) ** (2 / 3)) ** 0.25
    return (0.3 + core * (1 + (re / 282_000.0) ** (5 / 8)) ** 0.8) * k / diameter_m


def blended(free, forced):
    """Mixed convection: cube root of the sum of cubes."""
    return np.cbrt(free**3 + forced**3)


def condensation_flux(h, surface_c, air_c, rh):
    """Heat released by condensing moisture [W/m2] on a surface at `surface_c`; nothing evaporates from a dry jacket."""
    excess = humidity_ratio(air_c, rh) - humidity_ratio(surface_c, 1.0)
    return h / (CP * 0.85 ** (2 / 3)) * LATENT * np.maximum(excess, 0.0)


def transmittance(distance_m, air_c, rh):
    """Long-wave transmittance of the air path. A rough fit, from memory, to 0.98 over 10 m of humid room air."""
    water = 2.167 * rh * vapour_pressure(air_c) / (air_c + 273.15)  # g/m3
    return np.exp(-distance_m * (0.0004 + 0.00011 * water))
