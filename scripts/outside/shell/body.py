"""The insulated body as a thing to be hit by rays, and the way from a point on it to (angle, arc)."""

import numpy as np

from .solids import FAR, Ellipsoid, _cylinder_ends


class Body:
    """Vessel with `meridian`, datum tangent line's centre at `datum`, axis from there along unit `axis`.

    Angles count round the axis from `facing` (the line nearest the camera) towards `turn` (down in the picture for
    level vessels, right for upright ones).
    """

    def __init__(self, meridian, datum, axis, camera_position, upright):
        self.meridian, self.upright = meridian, upright
        self.datum, self.axis = np.asarray(datum, float), np.asarray(axis, float)
        away = np.asarray(camera_position, float) - self.datum
        away -= (away @ self.axis) * self.axis
        self.standoff = float(np.linalg.norm(away))  # camera to axis, m
        self.facing = away / self.standoff
        turn = np.cross(self.axis, self.facing)
        wanted = np.array([1.0, 0, 0]) if upright else np.array([0, 0, -1.0])
        self.turn = turn if turn @ wanted > 0 else -turn

    def hit(self, o, d):
        m = self.meridian
        t = _cylinder_ends(o, d, self.datum, self.axis, m.length, m.radius)
        for sign, base in ((-1.0, self.datum), (1.0, self.datum + m.length * self.axis)):
            out = sign * self.axis
            if m.head == "ellipsoidal":
                axes = np.array([self.facing, self.turn, out])
                th = Ellipsoid(base, [m.radius, m.radius, m.depth], axes).hit(o, d)
                over = ((o - base) @ out) + np.where(np.isfinite(th), th, 0) * (d @ out)
                t = np.minimum(t, np.where(over >= 0, th, FAR))
            else:
                t = np.minimum(t, self._torispherical(o, d, base, out))
        return t

    def _torispherical(self, o, d, base, out):
        """The head is convex: find each ray's deepest point in the head's slab, then bisect back to the entry."""
        m = self.meridian
        t = np.full(len(d), FAR)
        oc = o - base
        oa, da = oc @ out, d @ out
        da = np.where(np.abs(da) < 1e-9, 1e-9, da)
        perp_o, perp_d = oc - oa * out, d - da[:, None] * out
        # span of the ray within the enclosing cylinder and between tangent plane and pole
        a = np.einsum("ij,ij->i", perp_d, perp_d) + 1e-30
        b, c = perp_d @ perp_o, perp_o @ perp_o - m.radius**2
        root = np.sqrt(np.maximum(b * b - a * c, 0))
        e1, e2 = -oa / da, (m.depth - oa) / da
        low = np.maximum.reduce([(-b - root) / a, np.minimum(e1, e2), np.full(len(d), 1e-3)])
        high = np.minimum((-b + root) / a, np.maximum(e1, e2))
        pick = np.flatnonzero((b * b > a * c) & (low < high))
        if pick.size == 0:
            return t
        po, pd, oaa, daa = perp_o, perp_d[pick], oa, da[pick]

        def measure(tt):
            q = po + tt[:, None] * pd
            return m.inside(oaa + tt * daa, np.sqrt(np.einsum("ij,ij->i", q, q)))

        lo, hi = low[pick], high[pick]
        start = lo.copy()
        for _ in range(22):
            third = (hi - lo) / 3
            left = measure(lo + third) < measure(hi - third)
            lo, hi = np.where(left, lo, lo + third), np.where(left, hi - third, hi)
        deep = 0.5 * (lo + hi)
        ok = measure(deep) < 0
        lo, hi = start, deep
        for _ in range(24):
            mid = 0.5 * (lo + hi)
            inside = measure(mid) < 0
            lo, hi = np.where(inside, lo, mid), np.where(inside, mid, hi)
        t[pick[ok]] = hi[ok]
        # a hit on the flat tangent plane itself is inside the cylinder, never its surface: the cylinder is nearer
        return t

    def place(self, p):
        """(angle rad, axial z m, arc s m, outward unit normal) of points on the body."""
        m = self.meridian
        q = p - self.datum
        z = q @ self.axis
        perp = q - z[:, None] * self.axis
        rho = np.linalg.norm(perp, axis=1)
        theta = np.arctan2(perp @ self.turn, perp @ self.facing)
        s = m.arc_of(z, rho)
        tilt = m.tilt_at(s)
        n = perp / np.maximum(rho, 1e-9)[:, None] * np.sqrt(1 - tilt**2)[:, None] + tilt[:, None] * self.axis
        return theta, z, s, n

    def point(self, theta, z):
        """World point on the jacket at `theta` [rad] and axial position `z` [m] (cylinder part or its ends)."""
        m = self.meridian
        s = z if 0 <= z <= m.length else (-m.head_arc * 0.5 if z < 0 else m.length + 0.5 * m.head_arc)
        rho = float(m.radius_at(np.array(s)))
        return self.datum + z * self.axis + rho * self.outward(theta)

    def outward(self, theta):
        """Unit vector square to the axis at `theta` [rad]."""
        return np.cos(theta) * self.facing + np.sin(theta) * self.turn

    def angle_of(self, direction):
        """Angle [rad] of a world direction round the axis."""
        return float(np.arctan2(direction @ self.turn, direction @ self.facing))

    def grid_normals_up(self, grid):
        """Upward component of the jacket's normals over a conduction grid."""
        tilt = self.meridian.tilt_at(grid.s)[None, :]
        radial = np.cos(grid.theta)[:, None] * self.facing[2] + np.sin(grid.theta)[:, None] * self.turn[2]
        return radial * np.sqrt(1 - tilt**2) + tilt * self.axis[2]

    def grid_height(self, grid):
        """Height above the floor [m] over a conduction grid."""
        z, rho = self.meridian.axial_at(grid.s), self.meridian.radius_at(grid.s)
        radial = np.cos(grid.theta)[:, None] * self.facing[2] + np.sin(grid.theta)[:, None] * self.turn[2]
        return self.datum[2] + z[None, :] * self.axis[2] + rho[None, :] * radial

    def rim(self):
        """World points round the body, to see whether it fits into the picture."""
        m = self.meridian
        s = np.linspace(-m.head_arc, m.length + m.head_arc, 60)
        z, rho = m.axial_at(s), m.radius_at(s)
        rows = [self.datum + zz * self.axis + rr * self.outward(a)
                for a in np.radians([-90, -75, -60, 60, 75, 90]) for zz, rr in zip(z, rho)]
        return np.array(rows)
