"""Mirrored persons and lamps, and how much mirrored sky counts for, in kelvin."""

from dataclasses import dataclass

import numpy as np

from .radiance import apparent, band, emissivity_at


@dataclass
class Glint:
    """A warm body mirrored in the jacket: an upright stick of `half_height` [m] round `centre`, `half_width` [m] thick.

    `spread` [rad]: how far the jacket's roughness smears a mirrored ray (judgement: 3 to 8 degrees for paint).
    """

    thing: int
    centre: np.ndarray
    half_height: float
    half_width: float
    temp_c: float
    spread: float

    def weight(self, p, mirror):
        """Share 0..1 of the mirrored lobe that the warm body fills, for points `p` and unit `mirror` directions."""
        nearest = np.full(len(p), np.inf)
        size = np.zeros(len(p))
        for f in np.linspace(-1, 1, 7 if self.half_height > 0.2 else 1):
            to = self.centre + np.array([0, 0, f * self.half_height]) - p
            far = np.linalg.norm(to, axis=1)
            angle = np.arccos(np.clip(np.einsum("ij,ij->i", to, mirror) / far, -1, 1))
            size = np.where(angle < nearest, self.half_width / far, size)
            nearest = np.minimum(nearest, angle)
        fill = size / (size + self.spread)
        return fill * np.exp(-0.5 * (np.maximum(nearest - size, 0) / self.spread) ** 2)


def draw_glint(st):
    """A person beside the camera or a lamp overhead."""
    rng, eye = st.rng, st.camera.position
    spread = np.radians(rng.uniform(3, 8))
    if rng.random() < 0.6:
        thing = st.thing("person-reflected")
        centre = np.array([eye[0] + rng.uniform(-1.0, 1.0), eye[1] + rng.uniform(-0.5, 1.0), 0.9])
        return Glint(thing, centre, 0.75, 0.22, rng.uniform(27, 33), spread)
    thing = st.thing("lamp-reflected")
    centre = np.array([eye[0] + rng.uniform(-3, 3), eye[1] * rng.uniform(0.5, 1.3), rng.uniform(3.5, 6)])
    return Glint(thing, centre, 0.1, rng.uniform(0.15, 0.5), rng.uniform(45, 110), spread)


def _mirror_share(st, rays, n):
    cos = -np.einsum("ij,ij->i", n, rays)
    eps = emissivity_at(cos, st.asset.emissivity)
    return (1 - eps) * st.asset.gloss, rays + 2 * cos[:, None] * n


def _kelvin(radiance, at_c):
    """A small radiance as a temperature difference about `at_c`."""
    return apparent(band(at_c) + radiance) - at_c


def glint_kelvin(st, renderer, glint, p, rays, n):
    """What a glint adds to the apparent temperature [K]."""
    share, mirror = _mirror_share(st, rays, n)
    extra = share * glint.weight(p, mirror) * (band(glint.temp_c) - band(st.weather.air_c))
    return _kelvin(extra, st.jacket_c)


def sky_kelvin(st, renderer, rays, n):
    """What the sky, mirrored and scattered, takes off compared with surroundings as warm as the walls [K]."""
    share, mirror = _mirror_share(st, rays, n)
    env = renderer.env
    eps = emissivity_at(-np.einsum("ij,ij->i", n, rays), st.asset.emissivity)
    wall = band(env.wall_c)
    extra = share * (env.mirror_band(mirror[:, 2]) - wall) + (1 - eps - share) * (env.diffuse_band(n[:, 2]) - wall)
    return _kelvin(extra, st.jacket_c)
