"""What the instrument adds: blur, noise, shading left over after its shutter correction, dead pixels, one offset."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter, gaussian_filter1d

from .radiance import apparent


@dataclass
class Sensor:
    """Standard deviations and amplitudes in K; blur as the Gaussian's standard deviation in pixels."""

    blur_px: float
    noise_k: float
    column_k: float
    vignette_k: float
    offset_k: float
    dead: int

    def expose(self, rng, radiance):
        """Apparent temperature [degC, float32] of a radiance picture."""
        t = apparent(gaussian_filter(radiance, self.blur_px, mode="nearest"))
        h, w = t.shape
        y, x = np.mgrid[0:h, 0:w]
        off_x, off_y = rng.normal(0, 0.05 * w, 2)
        r2 = ((x - w / 2 - off_x) ** 2 + (y - h / 2 - off_y) ** 2) / (0.25 * (w * w + h * h))
        t = t + self.vignette_k * (0.33 - r2) + self.offset_k
        t = t + rng.normal(0, self.column_k, w)[None, :] + rng.normal(0, 0.35 * self.column_k, h)[:, None]
        # a little of the columns' unevenness is slow across the array
        t = t + 0.6 * self.column_k * gaussian_filter1d(rng.normal(0, 1, w), 12)[None, :] * np.sqrt(2 * 12 * 1.77)
        t = t + rng.normal(0, self.noise_k, t.shape)
        for _ in range(self.dead):
            py, px = rng.integers(h), rng.integers(w)
            t[py, px] += rng.choice([-1, 1]) * rng.uniform(2, 40)
        return t.astype(np.float32)
