"""Heat transfer and thermal radiation for the simulated survey.

The correlations are chosen on purpose from other textbook families than the ones a heat-balance program would
usually take (Morgan and Hilpert in place of Churchill's), so that agreement between the two means something.
All from memory of standard textbooks unless said otherwise; temperatures in degC where the name ends in `_c`.
"""
import numpy as np

SIGMA = 5.670374e-8  # W/(m2 K4), Stefan-Boltzmann (CODATA)
KELVIN = 273.15
BAND_UM = (8.0, 14.0)

# Dry conductivity near a mean temperature of -5..10 degC, W/(m K): typical aged values, from memory.
DRY_CONDUCTIVITY = {
    "pir": 0.0250, "pur": 0.0255, "xps": 0.0310, "eps": 0.0340, "phenolic": 0.0215,
    "cellular-glass": 0.0400, "mineral-wool": 0.0345, "elastomeric": 0.0345, "cork": 0.0400,
}
# Jacket: emissivity span, gloss span (mirror-like share of what is reflected), sheet conductance k*t in W/K, solar
# absorptance span. Painted metal is 0.5-0.8 mm of steel or aluminium; PVC and mastic hardly conduct sideways.
JACKETS = {
    "painted-metal": ((0.86, 0.94), (0.25, 0.55), (0.025, 0.11), (0.25, 0.60)),
    "pvc": ((0.88, 0.94), (0.20, 0.45), (0.00015, 0.0003), (0.25, 0.50)),
    "mastic": ((0.90, 0.95), (0.02, 0.10), (0.0004, 0.001), (0.40, 0.70)),
}


# ---------------------------------------------------------------- radiation
def _band_table():
    """Band radiance 8-14 um, W/(m2 sr), on a grid of temperatures: Planck's law by the midpoint rule."""
    t = np.arange(-120.0, 401.0, 0.5) + KELVIN
    edges = np.linspace(*BAND_UM, 401)
    lam = 0.5 * (edges[1:] + edges[:-1]) * 1e-6
    c1, c2 = 1.191042972e-16, 1.438776877e-2
    spectral = c1 / lam**5 / np.expm1(c2 / (lam * t[:, None]))
    return t - KELVIN, spectral.sum(axis=1) * (lam[1] - lam[0])


_T_TABLE, _L_TABLE = _band_table()


def band_radiance(t_c):
    """Blackbody radiance in the camera's band, W/(m2 sr)."""
    return np.interp(t_c, _T_TABLE, _L_TABLE)


def band_temperature_c(radiance):
    """The blackbody temperature that gives this band radiance, degC."""
    return np.interp(radiance, _L_TABLE, _T_TABLE)


def angular_emissivity(normal_emissivity, cos_view):
    """Emissivity towards a viewing direction.

    A paint behaves like a rough dielectric: flat to about 50 degrees, falling to nothing at grazing incidence.
    Shape from Fresnel's unpolarised reflectance of an index of 1.5 (textbook), scaled to the normal value.
    """
    c = np.clip(cos_view, 1e-3, 1.0)
    n = 1.5
    g = np.sqrt(n * n - 1.0 + c * c)
    rs = ((c - g) / (c + g)) ** 2
    rp = ((n * n * c - g) / (n * n * c + g)) ** 2
    return normal_emissivity * (1.0 - 0.5 * (rs + rp)) / (1.0 - ((n - 1.0) / (n + 1.0)) ** 2)


def air_absorption_per_m(t_c, rh_pct):
    """Effective absorption of room air in 8-14 um, 1/m. Beer's law with a water-vapour term; sizes from memory."""
    return 0.0006 + 0.00009 * 1000.0 * vapour_density(t_c, rh_pct)


# ---------------------------------------------------------------- moist air
def saturation_pressure_pa(t_c):
    """Over liquid water, Magnus form with the constants 17.62 and 243.12 (WMO guide, from memory)."""
    t_c = np.asarray(t_c, float)
    return 611.2 * np.exp(17.62 * t_c / (243.12 + t_c))


def vapour_density(t_c, rh_pct):
    """kg/m3 of water vapour, ideal gas."""
    return rh_pct / 100.0 * saturation_pressure_pa(t_c) / (461.5 * (np.asarray(t_c, float) + KELVIN))


def dew_point_c(t_c, rh_pct):
    x = np.log(rh_pct / 100.0 * saturation_pressure_pa(t_c) / 611.2)
    return 243.12 * x / (17.62 - x)


def latent_flux(h_conv, t_air_c, rh_pct, t_surface_c):
    """Heat of condensation, W/m2, never negative, and its slope in W/(m2 K) against surface temperature.

    Mass transfer by analogy: h_mass = h / (rho cp Le^(2/3)), Le = 0.87 for vapour in air; 2.50 MJ/kg released.
    """
    factor = h_conv * 2.50e6 / (1.25 * 1006.0 * 0.87 ** (2 / 3))
    excess = vapour_density(t_air_c, rh_pct) - vapour_density(t_surface_c, 100.0)
    slope = vapour_density(t_surface_c + 0.5, 100.0) - vapour_density(t_surface_c - 0.5, 100.0)
    wet = excess > 0
    return np.where(wet, factor * excess, 0.0), np.where(wet, factor * slope, 0.0)


# ---------------------------------------------------------------- film coefficients
def _air(t_c):
    """Conductivity W/(m K), kinematic viscosity m2/s, Prandtl number of dry air near room temperature."""
    return 0.0243 + 7.0e-5 * t_c, 1.335e-5 + 9.2e-8 * t_c, 0.71


def natural_film(shape, diameter, length, t_surface_c, t_air_c):
    """Mean still-air film, W/(m2 K).

    Level cylinder: Morgan (1975), Nu = 0.48 Ra^1/4 below 1e7, 0.125 Ra^1/3 above, on the diameter.
    Upright cylinder: McAdams, Nu = 0.59 Ra^1/4 below 1e9, 0.10 Ra^1/3 above, on the height.
    """
    k, nu, pr = _air(0.5 * (t_surface_c + t_air_c))
    size = diameter if shape == "horizontal-cylinder" else length
    gap = max(abs(t_surface_c - t_air_c), 0.05)
    ra = 9.81 * gap * size**3 * pr / (nu * nu * (0.5 * (t_surface_c + t_air_c) + KELVIN))
    if shape == "horizontal-cylinder":
        nusselt = 0.48 * ra**0.25 if ra < 1e7 else 0.125 * ra ** (1 / 3)
    else:
        nusselt = 0.59 * ra**0.25 if ra < 1e9 else 0.10 * ra ** (1 / 3)
    return nusselt * k / size


def forced_film(diameter, wind, t_film_c):
    """Mean film of a cylinder in cross flow, W/(m2 K): Hilpert's power laws, Nu = C Re^m Pr^1/3."""
    k, nu, pr = _air(t_film_c)
    re = max(wind * diameter / nu, 1.0)
    for limit, c, m in ((40.0, 0.911, 0.385), (4e3, 0.683, 0.466), (4e4, 0.193, 0.618), (np.inf, 0.027, 0.805)):
        if re < limit:
            return c * re**m * pr ** (1 / 3) * k / diameter
    raise AssertionError("unreachable")


def sky_temperature_c(t_air_c, depression, sin_elevation):
    """Apparent temperature of the sky in the band: near the air's at the horizon, coldest overhead. From memory."""
    return t_air_c - 2.0 - depression * np.sqrt(np.clip(sin_elevation, 0.0, 1.0))
