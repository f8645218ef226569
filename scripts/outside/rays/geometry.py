"""Solids a ray can hit. Metres, world axes: x to the camera's right, y away from the camera, z up.

Every solid has its own local frame (rows of `turn` are the local axes in world terms), a `paint` that gives its
temperature in degC from local and world points, an emissivity, and the id of the clutter thing it belongs to.
"""
import numpy as np

FAR = np.inf


def frame_along(direction):
    """Right-handed local axes (rows) whose third axis is `direction`."""
    w = np.asarray(direction, float)
    w = w / np.linalg.norm(w)
    helper = np.array([0.0, 0.0, 1.0]) if abs(w[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    u = np.cross(helper, w)
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(w, u), w])


def constant(t_c):
    """Paint: one temperature all over."""
    return lambda local, world: np.full(len(local), float(t_c))


class Solid:
    """Common part: placing, culling box, local frame."""

    def __init__(self, centre, turn, extent, paint, emissivity=0.92, thing=0):
        self.centre = np.asarray(centre, float)
        self.turn = np.asarray(turn, float)
        self.extent = np.asarray(extent, float)  # half sizes of the local bounding box, m
        self.paint = paint
        self.emissivity = emissivity
        self.thing = thing

    def corners(self):
        """World positions of the bounding box's corners, or None where it has no bounds."""
        if not np.all(np.isfinite(self.extent)):
            return None
        signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
        return self.centre + (signs * self.extent) @ self.turn

    def to_local(self, points):
        return (points - self.centre) @ self.turn.T

    def hit(self, origin, directions):
        """Distance along each ray to the first hit, inf where there is none. Origin: one point or one a ray."""
        o = self.to_local(np.asarray(origin, float))
        d = directions @ self.turn.T
        with np.errstate(divide="ignore", invalid="ignore"):
            t = self._hit(o if o.ndim == 2 else o[None, :], d)
        return np.where(t > 1e-4, t, FAR)

    def temperature(self, world):
        return self.paint(self.to_local(world), world)


def _roots(a, b, c):
    """Both roots of a t2 + 2 b t + c = 0, inf where there are none."""
    disc = b * b - a * c
    root = np.sqrt(np.maximum(disc, 0.0))
    near, far = (-b - root) / a, (-b + root) / a
    miss = disc < 0
    near[miss] = FAR
    far[miss] = FAR
    return near, far


class Cylinder(Solid):
    """Round bar or vessel shell along local z, half length `half`, with or without flat ends."""

    def __init__(self, start, end, radius, paint, emissivity=0.92, thing=0, capped=True):
        start, end = np.asarray(start, float), np.asarray(end, float)
        self.radius, self.half, self.capped = radius, 0.5 * np.linalg.norm(end - start), capped
        super().__init__(0.5 * (start + end), frame_along(end - start), (radius, radius, self.half), paint,
                         emissivity, thing)

    def _hit(self, o, d):
        a = d[:, 0] ** 2 + d[:, 1] ** 2
        b = o[:, 0] * d[:, 0] + o[:, 1] * d[:, 1]
        c = o[:, 0] ** 2 + o[:, 1] ** 2 - self.radius**2
        t, _ = _roots(a, b, c)
        t = np.where(np.abs(o[:, 2] + t * d[:, 2]) <= self.half, t, FAR)
        if self.capped:
            for z in (-self.half, self.half):
                tc = (z - o[:, 2]) / d[:, 2]
                x, y = o[:, 0] + tc * d[:, 0], o[:, 1] + tc * d[:, 1]
                t = np.where((x * x + y * y <= self.radius**2) & (tc > 1e-4), np.minimum(t, tc), t)
        return t


class Ellipsoid(Solid):
    """Semi-axes along the local axes; with `cap` only the half at local z >= 0 (a 2:1 dished head)."""

    def __init__(self, centre, turn, axes, paint, emissivity=0.92, thing=0, cap=False):
        self.axes, self.cap = np.asarray(axes, float), cap
        super().__init__(centre, turn, axes, paint, emissivity, thing)

    def _hit(self, o, d):
        o, d = o / self.axes, d / self.axes
        a = (d * d).sum(axis=1)
        b = (o * d).sum(axis=1)
        near, far = _roots(a, b, (o * o).sum(axis=1) - 1.0)
        if not self.cap:
            return near
        t = np.where(o[:, 2] + near * d[:, 2] >= 0, near, FAR)
        return np.where(np.isfinite(t), t, np.where(o[:, 2] + far * d[:, 2] >= 0, far, FAR))


class Torisphere(Solid):
    """Dished head of a crown sphere and a knuckle torus, bulging to local +z from the tangent plane z = 0.

    A torus has a quartic; marching along the ray by the signed distance is shorter and robust, and only the rays
    inside the head's small bounding box pay for it.
    """

    def __init__(self, centre, turn, radius, crown, knuckle, paint, emissivity=0.92, thing=0):
        self.radius, self.crown, self.knuckle = radius, crown, knuckle
        self.sink = np.sqrt((crown - knuckle) ** 2 - (radius - knuckle) ** 2)  # crown centre below tangent plane
        self.depth = crown - self.sink
        super().__init__(centre, turn, (radius, radius, self.depth), paint, emissivity, thing)

    def distance(self, rho, zeta):
        """Signed distance in the meridian plane, m; below the tangent plane the head goes on as a cylinder."""
        in_crown = rho * self.sink < (self.radius - self.knuckle) * (zeta + self.sink)
        crown = np.hypot(rho, zeta + self.sink) - self.crown
        knuckle = np.hypot(rho - (self.radius - self.knuckle), zeta) - self.knuckle
        return np.where(zeta < 0, rho - self.radius, np.where(in_crown, crown, knuckle))

    def _hit(self, o, d):
        ball = self.radius * 1.3
        near, far = _roots((d * d).sum(axis=1), (o * d).sum(axis=1), (o * o).sum(axis=1) - ball**2)
        out = np.full(len(d), FAR)
        live = np.flatnonzero(np.isfinite(near))
        o = np.broadcast_to(o, d.shape)
        t = near[live]
        for _ in range(32):
            p = o[live] + t[:, None] * d[live]
            gap = self.distance(np.hypot(p[:, 0], p[:, 1]), p[:, 2])
            done = gap < 5e-4
            good = done & (p[:, 2] >= 0)
            out[live[good]] = t[good]
            keep = ~done & (t < far[live])
            live, t = live[keep], t[keep] + gap[keep]
            if not len(live):
                break
        return out


class Box(Solid):
    """Cuboid of half sizes `half` along its local axes."""

    def __init__(self, centre, half, paint, emissivity=0.92, thing=0, turn=None):
        super().__init__(centre, np.eye(3) if turn is None else turn, half, paint, emissivity, thing)

    def _hit(self, o, d):
        inv = 1.0 / np.where(np.abs(d) < 1e-12, 1e-12, d)
        t1, t2 = (-self.extent - o) * inv, (self.extent - o) * inv
        near, far = np.minimum(t1, t2).max(axis=1), np.maximum(t1, t2).min(axis=1)
        return np.where((near <= far) & (near > 0), near, FAR)


class Plane(Solid):
    """Endless plane through `centre`; `normal` points to the side that is seen."""

    def __init__(self, centre, normal, paint, emissivity=0.92, thing=0):
        super().__init__(centre, frame_along(normal), (np.inf,) * 3, paint, emissivity, thing)

    def _hit(self, o, d):
        t = -o[:, 2] / np.where(np.abs(d[:, 2]) < 1e-12, 1e-12, d[:, 2])
        return np.where(d[:, 2] < 0, t, FAR)


def pipe_run(points, radius, paint, emissivity=0.92, thing=0):
    """A pipe along a polyline: straight bars, with balls at the bends in place of elbows."""
    points = [np.asarray(p, float) for p in points]
    solids = [Cylinder(a, b, radius, paint, emissivity, thing) for a, b in zip(points, points[1:])]
    solids += [Ellipsoid(p, np.eye(3), (radius,) * 3, paint, emissivity, thing) for p in points[1:-1]]
    return solids
