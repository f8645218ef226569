"""The vessel's figure: a cylinder with dished heads, as a body of revolution.

`z` runs along the axis from the datum tangent line (0) to the other (length). `s` is the arc length along the
meridian, equal to `z` on the cylinder, negative on the datum head. Heads: 2:1 semi-ellipsoid, or torispherical with
crown radius = diameter and knuckle radius = a tenth of it (both from memory of common head standards).
"""

import numpy as np


class Meridian:
    """Profile of a vessel: jacket `radius`, `length` between tangent lines [m], `head` ellipsoidal or torispherical."""

    def __init__(self, radius, length, head):
        self.radius, self.length, self.head = radius, length, head
        if head == "ellipsoidal":
            self.depth = radius / 2
            psi = np.linspace(0, np.pi / 2, 400)
            rho, h = radius * np.cos(psi), self.depth * np.sin(psi)
        else:
            self.knuckle, self.crown = 0.2 * radius, 2.0 * radius
            reach = radius - self.knuckle  # radius of the knuckle's centre circle
            rise = np.sqrt((self.crown - self.knuckle) ** 2 - reach**2)
            self.depth = self.crown - rise
            turn = np.arctan2(rise, reach)  # where knuckle and crown meet
            a = np.linspace(0, turn, 200)
            b = np.linspace(turn, np.pi / 2, 200)[1:]
            rho = np.r_[reach + self.knuckle * np.cos(a), self.crown * np.cos(b)]
            h = np.r_[self.knuckle * np.sin(a), self.crown * np.sin(b) - rise]
        self._rho, self._h = rho, h
        self._arc = np.r_[0, np.cumsum(np.hypot(np.diff(rho), np.diff(h)))]
        # a parameter that grows steadily from tangent line to pole, whatever the head
        self._psi = np.arctan2(h / self.depth, rho / radius)
        self.head_arc = float(self._arc[-1])

    def arc_of(self, z, rho):
        """Meridian arc `s` of surface points given as axial position and distance from the axis."""
        over = np.maximum(z - self.length, 0.0) + np.maximum(-z, 0.0)
        arc = np.interp(np.arctan2(over / self.depth, rho / self.radius), self._psi, self._arc)
        return np.where(z < 0, -arc, np.where(z > self.length, self.length + arc, z))

    def radius_at(self, s):
        """Distance of the surface from the axis at arc `s`."""
        beyond = np.maximum(s - self.length, 0.0) + np.maximum(-s, 0.0)
        return np.interp(beyond, self._arc, self._rho)

    def axial_at(self, s):
        """Axial position z at arc `s`."""
        beyond = np.maximum(s - self.length, 0.0) + np.maximum(-s, 0.0)
        h = np.interp(beyond, self._arc, self._h)
        return np.where(s < 0, -h, np.where(s > self.length, self.length + h, s))

    def tilt_at(self, s):
        """Axial component of the outward normal at arc `s` (0 on the cylinder, -1/+1 at the poles)."""
        beyond = np.maximum(s - self.length, 0.0) + np.maximum(-s, 0.0)
        slope = np.gradient(self._rho, self._arc)
        tilt = np.interp(beyond, self._arc, np.clip(-slope, 0, 1))
        return np.where(s < 0, -tilt, tilt)

    def inside(self, over, rho):
        """Signed distance-like measure (< 0 inside) of a torispherical head at height `over` above its tangent plane."""
        reach = self.radius - self.knuckle
        rise = self.crown - self.depth
        crown = np.hypot(rho, over + rise) - self.crown
        knuckle = np.hypot(rho - reach, over) - self.knuckle
        # beyond the ray from the crown's centre through the knuckle's centre the knuckle bounds the body
        return np.where(over * reach > rise * (rho - reach), crown, knuckle)
