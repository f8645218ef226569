"""Band radiance, emissivity towards grazing, and the surroundings that are mirrored and exchanged with.

Planck's law integrated over a flat 8-14 um response; Fresnel's formulas for a smooth dielectric (textbook).
"""

import numpy as np

_GRID_C = np.arange(-110.0, 260.0, 0.1)


def _table(low_um, high_um):
    lam = np.linspace(low_um, high_um, 121)
    t = _GRID_C[:, None] + 273.15
    spectral = 1.191043e8 / lam**5 / np.expm1(14_387.77 / (lam * t))
    return np.trapezoid(spectral, lam, axis=1)


_BAND = _table(8.0, 14.0)


def band(temp_c):
    """Black-body radiance over 8-14 um [W/m2 sr] at `temp_c` [degC]."""
    return np.interp(temp_c, _GRID_C, _BAND)


def apparent(radiance):
    """Temperature [degC] of the black body that would send `radiance` [W/m2 sr]."""
    return np.interp(radiance, _BAND, _GRID_C)


def _dielectric(cos_in, index):
    sin_t = np.sqrt(np.maximum(1.0 - cos_in**2, 0.0)) / index
    cos_t = np.sqrt(1.0 - sin_t**2)
    s = (cos_in - index * cos_t) / (cos_in + index * cos_t)
    p = (index * cos_in - cos_t) / (index * cos_in + cos_t)
    return 1.0 - 0.5 * (s * s + p * p)


def emissivity_at(cos_view, normal_emissivity, index=1.5):
    """Emissivity at a viewing angle, falling off towards grazing as for a dielectric of refractive `index`."""
    c = np.clip(cos_view, 0.0, 1.0)
    return normal_emissivity * _dielectric(c, index) / _dielectric(np.array(1.0), index)


def _step(x):
    return 1.0 / (1.0 + np.exp(-np.clip(x, -40, 40)))


class Surroundings:
    """What the jacket sees round about: floor or ground, walls, ceiling or sky; by elevation only.

    Temperatures in degC. `zenith_drop` [K]: how far the sky's zenith lies below the air in the camera's band
    (0 indoors); `zenith_drop_all` the same for the whole thermal spectrum, where the sky is not so cold because the
    air is opaque outside the window.
    """

    def __init__(self, wall_c, floor_c, ceiling_c, zenith_drop=0.0, zenith_drop_all=0.0, sky=False):
        self.wall_c, self.floor_c, self.ceiling_c = wall_c, floor_c, ceiling_c
        self.zenith_drop, self.zenith_drop_all, self.sky = zenith_drop, zenith_drop_all, sky
        up = np.linspace(-1.0, 1.0, 41)
        self._up = up
        self._diffuse_band = np.array([self._hemisphere(u, True) for u in up])
        self._diffuse_t4 = np.array([self._hemisphere(u, False) for u in up])

    def temperature(self, up, whole_spectrum=False):
        """Temperature [degC] of the surroundings in the direction whose upward component is `up` (-1..1)."""
        el = np.degrees(np.arcsin(np.clip(up, -1, 1)))
        if self.sky:
            drop = self.zenith_drop_all if whole_spectrum else self.zenith_drop
            # air mass grows as 1/sin(elevation): near the horizon the sky is almost as warm as the air
            top = self.ceiling_c - drop * np.clip(up, 0.0, 1.0) ** 0.6
            t = self.wall_c + (top - self.wall_c) * _step((el - 14.0) / 3.0)
            return t + (self.floor_c - t) * _step((-el - 4.0) / 2.0)
        t = self.wall_c + (self.ceiling_c - self.wall_c) * _step((el - 38.0) / 7.0)
        return t + (self.floor_c - t) * _step((-el - 22.0) / 6.0)

    def _hemisphere(self, up, in_band):
        """Cosine-weighted mean over the hemisphere above a surface whose normal has upward component `up`."""
        tilt = np.array([np.sqrt(max(1.0 - up * up, 0.0)), 0.0, up])
        side = np.array([-up, 0.0, tilt[0]])
        r = np.sqrt((np.arange(12) + 0.5) / 12)  # equal cosine-weighted areas
        az = (np.arange(24) + 0.5) / 24 * 2 * np.pi
        rr, aa = np.meshgrid(r, az)
        z = np.sqrt(1 - rr**2) * tilt[2] + rr * np.cos(aa) * side[2]
        t = self.temperature(z, whole_spectrum=not in_band)
        return float(np.mean(band(t) if in_band else (t + 273.15) ** 4))

    def diffuse_band(self, normal_up):
        """In-band radiance falling on a surface, averaged over its hemisphere."""
        return np.interp(normal_up, self._up, self._diffuse_band)

    def mirror_band(self, up):
        """In-band radiance from one direction."""
        return band(self.temperature(up))

    def exchange_t4(self, normal_up):
        """Mean fourth power of temperature [K4] for heat exchange by radiation."""
        return np.interp(normal_up, self._up, self._diffuse_t4)
