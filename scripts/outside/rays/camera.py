"""Where the camera stands, its rays, and what its detector does to a clean radiance picture."""
import numpy as np
from scipy.ndimage import gaussian_filter

from physics import band_temperature_c


class Camera:
    """Pinhole with optional radial distortion. Pixel coordinates: first pixel's centre at 0, 0, y downwards."""

    def __init__(self, position, target, roll_deg, hfov_deg, width, height, distortion=0.0):
        self.position = np.asarray(position, float)
        self.width, self.height, self.distortion = width, height, distortion
        self.focal = width / 2 / np.tan(np.radians(hfov_deg) / 2)  # px
        forward = np.asarray(target, float) - self.position
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 0.0, 1.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        c, s = np.cos(np.radians(roll_deg)), np.sin(np.radians(roll_deg))
        self.turn = np.array([c * right + s * down, -s * right + c * down, forward])

    def rays(self, ss):
        """Unit directions (H*ss, W*ss, 3) through the middles of ss x ss parts of each pixel."""
        x = (np.arange(self.width * ss) + 0.5) / ss - 0.5
        y = (np.arange(self.height * ss) + 0.5) / ss - 0.5
        gx, gy = np.meshgrid((x - (self.width - 1) / 2) / self.focal, (y - (self.height - 1) / 2) / self.focal)
        if self.distortion:
            grow = 1.0 + self.distortion * (gx * gx + gy * gy)
            gx, gy = gx * grow, gy * grow
        d = np.stack([gx, gy, np.ones_like(gx)], axis=-1)
        d /= np.linalg.norm(d, axis=-1, keepdims=True)
        return d @ self.turn

    def project(self, points):
        """World points to pixel coordinates (N, 2) and depth along the optical axis (N,), m."""
        q = (np.atleast_2d(points) - self.position) @ self.turn.T
        z = np.where(np.abs(q[:, 2]) < 1e-6, 1e-6, q[:, 2])
        g = q[:, :2] / z[:, None]
        if self.distortion:
            base = g.copy()
            for _ in range(6):
                g = base / (1.0 + self.distortion * (g * g).sum(axis=1, keepdims=True))
        return g * self.focal + [(self.width - 1) / 2, (self.height - 1) / 2], q[:, 2]

    def inside(self, points, margin=0.0):
        """Which points fall in the picture, at least `margin` pixels from its edges."""
        xy, z = self.project(points)
        return ((z > 0) & (xy[:, 0] >= margin) & (xy[:, 0] <= self.width - 1 - margin)
                & (xy[:, 1] >= margin) & (xy[:, 1] <= self.height - 1 - margin))

    def window(self, corners, ss):
        """Rows and columns of sub-rays a solid can cover: (y0, y1, x0, x1), or None when out of the picture."""
        full = (0, self.height * ss, 0, self.width * ss)
        if corners is None:
            return full
        xy, z = self.project(corners)
        if np.any(z < 0.05):
            return full if np.any(z > 0) else None
        lo = np.floor((xy.min(axis=0) - 1.0) * ss).astype(int)
        hi = np.ceil((xy.max(axis=0) + 2.0) * ss).astype(int)
        y0, y1 = max(lo[1], 0), min(hi[1], full[1])
        x0, x1 = max(lo[0], 0), min(hi[0], full[3])
        return (y0, y1, x0, x1) if y0 < y1 and x0 < x1 else None


def detect(radiance, sensor, rng):
    """Apparent temperature in degC as the camera would store it.

    `sensor`: blur_px (sigma), offset_k, noise_k, column_k, vignette_k (at the corner), dead (count), sideways
    (camera held upright: its columns lie along the picture's rows).
    """
    t = band_temperature_c(gaussian_filter(radiance, sensor["blur_px"], mode="nearest"))
    h, w = t.shape
    y, x = np.mgrid[0:h, 0:w]
    cx, cy = w / 2 + sensor["centre_px"][0], h / 2 + sensor["centre_px"][1]
    r2 = ((x - cx) ** 2 + (y - cy) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2)
    t = t + sensor["offset_k"] + sensor["vignette_k"] * r2 ** 1.5
    t += rng.normal(0.0, sensor["noise_k"], t.shape)
    column = rng.normal(0.0, sensor["column_k"], h if sensor["sideways"] else w)
    t += column[:, None] if sensor["sideways"] else column[None, :]
    for _ in range(sensor["dead"]):
        t[rng.integers(h), rng.integers(w)] += rng.choice([-1, 1]) * rng.uniform(3.0, 60.0)
    return t
