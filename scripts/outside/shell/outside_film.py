"""Heat taken up by the jacket: moving air, radiation from the surroundings, condensation, sun."""

import numpy as np

from . import air
from .materials import SIGMA


class OuterFilm:
    """Flux into the jacket over the grid.

    `air_c` air temperature at each cell [degC]; `t4` mean fourth power of the surroundings [K4]; `up` upward
    component of the normals; `sun_w_m2` absorbed sunshine; `wind` [m/s]; `rh` 0..1; `size_m` height of the boundary
    layer for upright vessels, else the diameter.
    """

    def __init__(self, air_c, t4, up, emissivity, wind, windward, rh, size_m, diameter, upright, sun_w_m2=0.0):
        self.air_c, self.t4, self.up, self.emissivity = air_c, t4, up, emissivity
        self.wind, self.windward, self.rh, self.sun = wind, windward, rh, sun_w_m2
        self.size_m, self.diameter, self.upright = size_m, diameter, upright

    def film(self, surface_c):
        """Convective coefficient [W/m2K].

        A patch colder than the rest speeds up the falling air only partly: the coefficient is taken at the mean of
        the local and the overall difference (a judgement between two limits).
        """
        gap = self.air_c - surface_c
        drive = 0.5 * np.abs(gap) + 0.5 * np.abs(np.mean(gap)) + 0.02
        film_c = float(np.mean(self.air_c) - 0.5 * np.mean(gap))
        free = air.free_convection(drive, film_c, self.size_m, self.upright)
        # level cylinders: the cold layer starts thin on top and thickens downwards (shape of the laminar solution)
        if not self.upright:
            free = free * (1.0 + 0.16 * self.up)
        forced = air.forced_convection(self.wind, film_c, self.diameter) * (1.0 + 0.20 * self.windward)
        return air.blended(free, forced)

    def __call__(self, surface_c):
        h = self.film(surface_c)
        tk = surface_c + 273.15
        q = h * (self.air_c - surface_c) + self.emissivity * SIGMA * (self.t4 - tk**4)
        q = q + air.condensation_flux(h, surface_c, self.air_c, self.rh) + self.sun
        wetting = air.condensation_flux(h, surface_c + 0.05, self.air_c, self.rh)
        latent_slope = (air.condensation_flux(h, surface_c - 0.05, self.air_c, self.rh) - wetting) / 0.1
        return q, h + 4 * self.emissivity * SIGMA * tk**3 + np.maximum(latent_slope, 0.0)
