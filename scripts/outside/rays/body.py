"""The insulated vessel: its solids, and the way from a point on the jacket to (phi, s) and back.

phi (rad): round the axis from the level direction towards the camera's side, + towards the ground for a lying
vessel and + towards the picture's right for a standing one. s (m): along the jacket's meridian from the left or
lower tangent line; below 0 and above `length` it runs on over the dished heads.
"""
import numpy as np

from geometry import Cylinder, Ellipsoid, Torisphere, constant, frame_along


class Body:
    def __init__(self, shape, diameter, length, head, height):
        """`height`: of the axis (lying) or of the lower tangent line (standing) above the floor, m."""
        self.shape, self.radius, self.length, self.head = shape, diameter / 2, length, head
        self.lying = shape == "horizontal-cylinder"
        if self.lying:
            self.start, self.axis = np.array([-length / 2, 0.0, height]), np.array([1.0, 0.0, 0.0])
            self.plus = np.array([0.0, 0.0, -1.0])
        else:
            self.start, self.axis = np.array([0.0, 0.0, height]), np.array([0.0, 0.0, 1.0])
            self.plus = np.array([1.0, 0.0, 0.0])
        self.face = np.array([0.0, -1.0, 0.0])
        self._profile()

    def _profile(self):
        """Meridian of a head: arc length, radius, rise above the tangent plane, normal (radial, axial)."""
        r = self.radius
        if self.head == "ellipsoidal":
            self.depth = r / 2
            t = np.linspace(0.0, np.pi / 2, 181)
            rho, rise = r * np.cos(t), self.depth * np.sin(t)
            nr, nz = np.cos(t) / r, np.sin(t) / self.depth
        else:
            # Crown radius equal to the diameter, knuckle a tenth of it: the common torispherical head (textbook).
            crown, knuckle = 2 * r, 0.2 * r
            sink = np.sqrt((crown - knuckle) ** 2 - (r - knuckle) ** 2)
            self.depth = crown - sink
            meet = np.arctan2(sink, r - knuckle)
            t = np.concatenate([np.linspace(0, meet, 60), np.linspace(meet, np.pi / 2, 121)[1:]])
            inside = t <= meet
            rho = np.where(inside, r - knuckle + knuckle * np.cos(t), crown * np.cos(t))
            rise = np.where(inside, knuckle * np.sin(t), crown * np.sin(t) - sink)
            nr, nz = np.cos(t), np.sin(t)
        norm = np.hypot(nr, nz)
        self.p_rho, self.p_rise, self.p_nr, self.p_nz = rho, rise, nr / norm, nz / norm
        self.p_arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(rho), np.diff(rise)))])
        self.head_arc = self.p_arc[-1]
        # One angle that grows steadily from tangent line to pole on either kind of head.
        self.p_key = np.arctan2(rise / self.depth, rho / r)

    def solids(self):
        """Shell and both heads; they carry no paint of their own: the jacket's fields colour them."""
        blank = constant(0.0)
        end = self.start + self.length * self.axis
        parts = [Cylinder(self.start, end, self.radius, blank, capped=False)]
        for place, way in ((self.start, -self.axis), (end, self.axis)):
            turn = frame_along(way)
            if self.head == "ellipsoidal":
                parts.append(Ellipsoid(place, turn, (self.radius, self.radius, self.depth), blank, cap=True))
            else:
                parts.append(Torisphere(place, turn, self.radius, 2 * self.radius, 0.2 * self.radius, blank))
        return parts

    def to_surface(self, points):
        """World points on the jacket to (phi, s)."""
        q = points - self.start
        u = q @ self.axis
        phi = np.arctan2(q @ self.plus, q @ self.face)
        beyond = np.maximum(-u, u - self.length)
        s = u.copy()
        on_head = beyond > 0
        if on_head.any():
            rho = np.hypot(q[on_head] @ self.plus, q[on_head] @ self.face)
            key = np.arctan2(beyond[on_head] / self.depth, rho / self.radius)
            arc = np.interp(key, self.p_key, self.p_arc)
            s[on_head] = np.where(u[on_head] < 0, -arc, self.length + arc)
        return phi, s

    def meridian(self, s):
        """At s: radius from the axis, distance along the axis from the start, normal (radial, axial)."""
        s = np.asarray(s, float)
        over = np.maximum(np.maximum(-s, s - self.length), 0.0)
        side = np.where(s < 0, -1.0, 1.0)
        rho = np.interp(over, self.p_arc, self.p_rho)
        rise = np.interp(over, self.p_arc, self.p_rise)
        nr, nz = np.interp(over, self.p_arc, self.p_nr), np.interp(over, self.p_arc, self.p_nz)
        u = np.clip(s, 0.0, self.length) + side * rise
        return rho, u, nr, side * nz

    def point(self, phi, s, off=0.0):
        """World point at (phi, s), `off` metres outside the jacket, and the outward normal."""
        rho, u, nr, nz = self.meridian(s)
        phi = np.asarray(phi, float)
        radial = np.cos(phi)[..., None] * self.face + np.sin(phi)[..., None] * self.plus
        normal = nr[..., None] * radial + nz[..., None] * self.axis
        return self.start + u[..., None] * self.axis + rho[..., None] * radial + off * normal, normal

    def silhouette_points(self):
        """A cage of points on the whole jacket, to see whether it fits in the picture."""
        phi = np.linspace(-np.pi, np.pi, 24, endpoint=False)
        s = np.array([-self.head_arc, -0.5 * self.head_arc, 0, self.length, self.length + 0.5 * self.head_arc,
                      self.length + self.head_arc])
        a, b = np.meshgrid(phi, s)
        return self.point(a, b)[0].reshape(-1, 3)
