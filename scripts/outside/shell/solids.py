"""Solids that rays can hit. Each has `hit` (distance or inf), `normal` at points and `corners` of a box round it."""

from dataclasses import dataclass, field

import numpy as np

FAR = np.inf


def frame_along(axis):
    """Two unit vectors square to a unit `axis`."""
    axis = np.asarray(axis, float)
    helper = np.array([1.0, 0, 0]) if abs(axis[0]) < 0.8 else np.array([0, 1.0, 0])
    e1 = np.cross(axis, helper)
    e1 /= np.linalg.norm(e1)
    return e1, np.cross(axis, e1)


def _cylinder_ends(o, d, p0, axis, length, radius):
    """Entry distances of rays into the side of a finite cylinder, and the axial position there."""
    oc = o - p0
    oa, da = oc @ axis, d @ axis
    op, dp = oc - oa * axis, d - da[:, None] * axis
    a = np.einsum("ij,ij->i", dp, dp) + 1e-30
    b = dp @ op
    c = op @ op - radius**2
    disc = b * b - a * c
    ok = disc > 0
    t = (-b - np.sqrt(np.where(ok, disc, 0))) / a
    z = oa + t * da
    return np.where(ok & (t > 1e-4) & (z >= 0) & (z <= length), t, FAR)


def _disc(o, d, centre, axis, radius):
    da = d @ axis
    t = ((centre - o) @ axis) / np.where(np.abs(da) < 1e-12, 1e-12, da)
    p = o + t[:, None] * d - centre
    return np.where((t > 1e-4) & (np.einsum("ij,ij->i", p, p) <= radius**2), t, FAR)


@dataclass
class Cylinder:
    """Closed cylinder from `p0` to `p1` [m]."""

    p0: np.ndarray
    p1: np.ndarray
    radius: float

    def __post_init__(self):
        self.p0, self.p1 = np.asarray(self.p0, float), np.asarray(self.p1, float)
        self.length = float(np.linalg.norm(self.p1 - self.p0))
        self.axis = (self.p1 - self.p0) / self.length

    def hit(self, o, d):
        t = _cylinder_ends(o, d, self.p0, self.axis, self.length, self.radius)
        t = np.minimum(t, _disc(o, d, self.p0, self.axis, self.radius))
        return np.minimum(t, _disc(o, d, self.p1, self.axis, self.radius))

    def normal(self, p, d):
        q = p - self.p0
        z = q @ self.axis
        side = (q - z[:, None] * self.axis) / self.radius
        n = np.where((z < 1e-5)[:, None], -self.axis, np.where((z > self.length - 1e-5)[:, None], self.axis, side))
        return n

    def corners(self):
        e1, e2 = frame_along(self.axis)
        r = self.radius
        return np.array([p + r * (i * e1 + j * e2) for p in (self.p0, self.p1) for i in (-1, 1) for j in (-1, 1)])


@dataclass
class Box:
    """Box of `half` sizes [m] along the unit rows of `axes`."""

    centre: np.ndarray
    half: np.ndarray
    axes: np.ndarray = field(default_factory=lambda: np.eye(3))

    def __post_init__(self):
        self.centre, self.half, self.axes = (np.asarray(v, float) for v in (self.centre, self.half, self.axes))

    def hit(self, o, d):
        oc, dd = self.axes @ (o - self.centre), d @ self.axes.T
        dd = np.where(np.abs(dd) < 1e-12, 1e-12, dd)
        a, b = (-self.half - oc) / dd, (self.half - oc) / dd
        near, far = np.minimum(a, b).max(axis=1), np.maximum(a, b).min(axis=1)
        return np.where((near < far) & (near > 1e-4), near, FAR)

    def normal(self, p, d):
        q = (p - self.centre) @ self.axes.T / self.half
        k = np.argmax(np.abs(q), axis=1)
        return self.axes[k] * np.sign(np.take_along_axis(q, k[:, None], 1))

    def corners(self):
        signs = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)])
        return self.centre + (signs * self.half) @ self.axes


class Ellipsoid(Box):
    """Ellipsoid with `half` axes [m] along the unit rows of `axes`; bounded by the box of that size."""

    def hit(self, o, d):
        oc, dd = (self.axes @ (o - self.centre)) / self.half, (d @ self.axes.T) / self.half
        a, b, c = np.einsum("ij,ij->i", dd, dd), dd @ oc, oc @ oc - 1.0
        disc = b * b - a * c
        t = (-b - np.sqrt(np.maximum(disc, 0))) / a
        return np.where((disc > 0) & (t > 1e-4), t, FAR)

    def normal(self, p, d):
        q = ((p - self.centre) @ self.axes.T) / self.half**2
        n = q @ self.axes
        return n / np.linalg.norm(n, axis=1, keepdims=True)


@dataclass
class Item:
    """A solid with what it looks like.

    `temp_c`: number, or function of world points giving degC. `thing`: id in the truth's clutter map (0: none, mere
    background). `emissivity` of the surface as seen head-on.
    """

    solid: object
    temp_c: object
    emissivity: float = 0.93
    thing: int = 0

    def temperature(self, p):
        return self.temp_c(p) if callable(self.temp_c) else np.full(len(p), float(self.temp_c))
