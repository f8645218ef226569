"""From the set to in-band radiance at the lens: ray casting, with finer sampling along edges."""

import numpy as np

from .air import transmittance
from .radiance import band, emissivity_at

BODY = 0
NOTHING = -1


class Renderer:
    """Renders a stage whose jacket temperature is known over the conduction grid."""

    def __init__(self, stage, grid, jacket_c, env, backdrop, weather, glints=()):
        self.st, self.grid, self.jacket_c = stage, grid, jacket_c
        self.env, self.backdrop, self.weather, self.glints = env, backdrop, weather, glints
        self.solids = [stage.body] + [i.solid for i in stage.items]
        self._bounds = [self._bound(i.solid.corners()) for i in stage.items]
        self._bounds.insert(0, self._bound(stage.body.rim(), grow=0.06))

    def _bound(self, corners, grow=0.0):
        """Image-plane rectangle of a box, or None where part of it lies behind the camera."""
        u, v, depth = self.st.camera.to_plane(corners)
        if depth.max() < 0.05:
            return (1, 0, 1, 0)  # wholly behind: an empty rectangle
        if depth.min() < 0.05:
            return None
        return u.min() - grow, u.max() + grow, v.min() - grow, v.max() + grow

    def cast(self, u, v):
        """(distance, index of the thing hit, direction) for image-plane points."""
        d = self.st.camera.directions(u, v)
        o = self.st.camera.position
        best, index = np.full(u.size, np.inf), np.full(u.size, NOTHING, np.int16)
        for k, (solid, bound) in enumerate(zip(self.solids, self._bounds)):
            if bound is None:
                pick = np.arange(u.size)
            else:
                pick = np.flatnonzero((u >= bound[0]) & (u <= bound[1]) & (v >= bound[2]) & (v <= bound[3]))
            if pick.size == 0:
                continue
            t = solid.hit(o, d[pick])
            near = t < best[pick]
            best[pick[near]], index[pick[near]] = t[near], k
        return best, index, d

    def shade(self, best, index, d):
        """(radiance at the lens, id of the mark on the jacket) for cast rays."""
        o = self.st.camera.position
        radiance = np.empty(best.size)
        marked = np.zeros(best.size, np.uint8)
        away = np.minimum(np.where(np.isfinite(best), best, 12.0), 12.0)
        bare = index == NOTHING
        radiance[bare] = self.backdrop.radiance(o, d[bare])
        for k in np.unique(index[index > 0]):
            m = index == k
            item = self.st.items[k - 1]
            p = o + best[m, None] * d[m]
            n = item.solid.normal(p, d[m])
            eps = emissivity_at(-np.einsum("ij,ij->i", n, d[m]), item.emissivity)
            radiance[m] = eps * band(item.temperature(p)) + (1 - eps) * self.env.diffuse_band(n[:, 2])
        m = index == BODY
        radiance[m], marked[m] = self._jacket(o + best[m, None] * d[m], d[m])
        tau = transmittance(away, self.weather.air_c, self.weather.rh)
        return tau * radiance + (1 - tau) * band(self.weather.air_c), marked

    def _jacket(self, p, d):
        a = self.st.asset
        theta, z, s, n = self.st.body.place(p)
        t = self.grid.sample(self.jacket_c, theta, s)
        marked = np.zeros(len(p), np.uint8)
        normal_eps = np.full(len(p), a.emissivity)
        gloss = np.full(len(p), a.gloss)
        for mark in self.st.marks:
            w = mark.where(theta, z)
            t = t + mark.offset_k * w
            marked[w] = mark.thing
            if mark.emissivity is not None:
                normal_eps[w] = mark.emissivity
            if mark.gloss is not None:
                gloss[w] = mark.gloss
        cos = -np.einsum("ij,ij->i", n, d)
        eps = emissivity_at(cos, normal_eps)
        mirror = d + 2 * cos[:, None] * n
        seen = self.env.mirror_band(mirror[:, 2])
        for g in self.glints:
            seen = seen + g.weight(p, mirror) * (band(g.temp_c) - band(self.weather.air_c))
        around = gloss * seen + (1 - gloss) * self.env.diffuse_band(n[:, 2])
        return eps * band(t) + (1 - eps) * around, marked

    def picture(self):
        """Radiance (height x width), and of the pixels' centres: index hit, distance, mark id, direction."""
        cam = self.st.camera
        x, y = np.meshgrid(np.arange(cam.width, dtype=float), np.arange(cam.height, dtype=float))
        u, v = cam.planar(x.ravel(), y.ravel())
        best, index, d = self.cast(u, v)
        radiance, marked = self.shade(best, index, d)
        shape = (cam.height, cam.width)
        label = (index.astype(np.int32) * 256 + marked).reshape(shape)
        edge = np.zeros(shape, bool)
        for axis in (0, 1):
            diff = np.diff(label, axis=axis) != 0
            lead = [slice(None)] * 2
            lead[axis] = slice(1, None)
            edge[tuple(lead)] |= diff
            lead[axis] = slice(None, -1)
            edge[tuple(lead)] |= diff
        pick = np.flatnonzero(edge.ravel())
        total = np.zeros(pick.size)
        for dx in (-1 / 3, 0.0, 1 / 3):
            for dy in (-1 / 3, 0.0, 1 / 3):
                uu, vv = cam.planar(x.ravel()[pick] + dx, y.ravel()[pick] + dy)
                total += self.shade(*self.cast(uu, vv))[0]
        radiance[pick] = total / 9
        return radiance.reshape(shape), index.reshape(shape), best.reshape(shape), marked.reshape(shape), d
