"""The camera as a pinhole with a slightly distorting lens."""

import numpy as np


class Camera:
    """Stands at `position` [m], looks at `target`, rolled by `roll_deg`; `hfov_deg` across `width` pixels.

    `bend`: radial distortion; a pixel at radius r (in focal lengths) looks along r * (1 + bend r^2), positive for
    barrel distortion. First pixel's centre at 0, 0.
    """

    def __init__(self, position, target, roll_deg, hfov_deg, width, height, bend):
        self.position, self.width, self.height, self.bend = np.asarray(position, float), width, height, bend
        self.hfov_deg = hfov_deg
        self.focal = 0.5 * width / np.tan(np.radians(hfov_deg) / 2)
        self.cx, self.cy = 0.5 * (width - 1), 0.5 * (height - 1)
        forward = np.asarray(target, float) - self.position
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 0.0, 1.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        c, s = np.cos(np.radians(roll_deg)), np.sin(np.radians(roll_deg))
        self.axes = np.array([c * right + s * down, c * down - s * right, forward])

    def planar(self, x, y):
        """Undistorted image-plane coordinates (u, v) at unit depth of pixel positions."""
        a, b = (x - self.cx) / self.focal, (y - self.cy) / self.focal
        grow = 1 + self.bend * (a * a + b * b)
        return a * grow, b * grow

    def directions(self, u, v):
        """Unit world directions of image-plane points."""
        d = u[..., None] * self.axes[0] + v[..., None] * self.axes[1] + self.axes[2]
        return d / np.linalg.norm(d, axis=-1, keepdims=True)

    def to_plane(self, points):
        """(u, v, depth) of world points."""
        q = (np.asarray(points, float) - self.position) @ self.axes.T
        depth = q[..., 2]
        safe = np.where(np.abs(depth) < 1e-6, 1e-6, depth)
        return q[..., 0] / safe, q[..., 1] / safe, depth

    def pixel(self, points):
        """(x, y) pixel positions of world points in front of the camera."""
        u, v, _ = self.to_plane(points)
        a, b = np.array(u, float), np.array(v, float)
        for _ in range(8):
            grow = 1 + self.bend * (a * a + b * b)
            a, b = u / grow, v / grow
        return a * self.focal + self.cx, b * self.focal + self.cy
