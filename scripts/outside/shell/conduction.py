"""Steady heat conduction in the insulation shell, in three dimensions, by finite volumes.

Unknowns: layers through the insulation plus one node for the jacket sheet, at every (angle, meridian arc). On the
heads the layer radius shrinks round the axis only, which neglects the second curvature (a few per cent there). The
linear system is solved by conjugate gradients, preconditioned with exact solves along each radial line because
conduction through the thickness dominates. The outer film is linearised at the last temperature and repeated.
"""

import numpy as np


class Grid:
    """Cells of the shell: fine where the camera looks (|angle| < 105 deg), coarse behind."""

    def __init__(self, meridian, thickness, pitch, layers=7):
        self.meridian, self.thickness, self.layers = meridian, thickness, layers
        r = meridian.radius
        half = np.radians(105.0)
        fine = np.linspace(-half, half, int(np.ceil(2 * half * r / pitch)) + 1)
        coarse = np.linspace(half, 2 * np.pi - half, 25)[1:]
        self.theta_edges = np.r_[fine, coarse]
        start, stop = -0.985 * meridian.head_arc, meridian.length + 0.985 * meridian.head_arc
        self.s_edges = np.linspace(start, stop, int(np.ceil((stop - start) / pitch)) + 1)
        self.theta = 0.5 * (self.theta_edges[1:] + self.theta_edges[:-1])
        self.s = 0.5 * (self.s_edges[1:] + self.s_edges[:-1])
        self.dtheta, self.ds = np.diff(self.theta_edges), np.diff(self.s_edges)
        # the little cap at each pole is left out so that no cell shrinks to nothing
        self.rho = np.maximum(meridian.radius_at(self.s), 0.12 * r)
        self.area = self.rho[None, :] * self.dtheta[:, None] * self.ds[None, :]  # jacket, m2
        self.dr = thickness / layers
        inner = r - thickness
        self.shrink_mid = (inner + (np.arange(layers) + 0.5) * self.dr) / r
        self.shrink_face = (inner + np.arange(layers + 1) * self.dr) / r

    @property
    def shape(self):
        return self.theta.size, self.s.size

    def sample(self, values, theta, s):
        """Bilinear reading of a surface field (angle x arc) at scattered angles [rad] and arcs [m]."""
        th = np.mod(theta - self.theta[0], 2 * np.pi)
        knots = np.r_[self.theta - self.theta[0], 2 * np.pi]
        a = np.interp(th, knots, np.arange(knots.size))
        b = np.clip((s - self.s[0]) / self.ds[0], 0, self.s.size - 1.001)
        i, j = a.astype(np.intp), b.astype(np.intp)
        u, v = a - i, b - j
        i0, i1 = i % self.theta.size, (i + 1) % self.theta.size
        low = values[i0, j] * (1 - v) + values[i0, j + 1] * v
        high = values[i1, j] * (1 - v) + values[i1, j + 1] * v
        return low * (1 - u) + high * u


class Problem:
    """One shell to be solved.

    conductivity_of(mean_c) -> W/mK of the dry material; `ratio` (angle x arc) multiplies it, spread through the
    thickness by `profile` (one weight a layer); `inner_c` metal or fluid temperature and `inner_h` its film; `sheet`
    conductance k*t of the jacket [W/K]; `outer(surface_c)` -> (flux into the jacket W/m2, its slope -dq/dT W/m2K).
    """

    def __init__(self, grid, conductivity_of, ratio, profile, inner_c, inner_h, sheet, outer):
        self.g, self.conductivity_of, self.ratio = grid, conductivity_of, ratio
        self.profile, self.inner_c, self.inner_h = profile, inner_c, inner_h
        self.sheet, self.outer = sheet, outer

    def solve(self, start=None, rounds=4, tolerance_k=1e-3):
        """Temperatures (layers+1, angle, arc) [degC]; the last layer is the jacket."""
        g = self.g
        if start is None:
            _, slope = self.outer(np.zeros(g.shape))
            air = np.mean(self.outer(np.zeros(g.shape))[0] / slope)
            steps = np.r_[(np.arange(g.layers) + 0.5) / g.layers, 1.0]
            inner = np.broadcast_to(self.inner_c, g.shape)
            start = inner + steps[:, None, None] * (air - 1.0 - inner)
        t = start.astype(np.float32)
        for turn in range(rounds):
            q, slope = self.outer(t[-1].astype(float))
            self._assemble(t, slope)
            source = np.zeros_like(t)
            source[0] = self._g_in * np.broadcast_to(self.inner_c, g.shape)
            source[-1] = g.area * (q + slope * t[-1])
            before = t[-1].copy()
            t = self._conjugate_gradients(t, source, tolerance_k * (10 if turn < rounds - 2 else 1))
            if np.max(np.abs(t[-1] - before)) < 2 * tolerance_k:
                break
        self.rounds = turn + 1
        return t

    def _assemble(self, t, slope):
        g, f32 = self.g, np.float32
        k = np.empty((g.layers,) + g.shape, f32)
        for n in range(g.layers):
            k[n] = self.conductivity_of(t[n]) * (1 + (self.ratio - 1) * self.profile[n])
        radial = np.empty((g.layers,) + g.shape, f32)
        for n in range(g.layers - 1):
            radial[n] = g.area * g.shrink_face[n + 1] / (0.5 * g.dr * (1 / k[n] + 1 / k[n + 1]))
        radial[-1] = g.area * k[-1] / (0.5 * g.dr)
        self._g_in = (g.area * g.shrink_face[0] / (0.5 * g.dr / k[0] + 1 / self.inner_h)).astype(f32)
        gap = 0.5 * (g.dtheta + np.roll(g.dtheta, -1))  # centre to the next centre
        kk = np.roll(k, -1, axis=1)
        around = np.empty((g.layers + 1,) + g.shape, f32)
        mid = g.shrink_mid[:, None, None]
        around[:-1] = 2 * k * kk / (k + kk) * g.dr * g.ds / (g.rho * mid * gap[:, None])
        around[-1] = self.sheet * g.ds / (g.rho * gap[:, None])
        along = np.empty((g.layers + 1, g.theta.size, g.s.size - 1), f32)
        harmonic = 2 * k[..., 1:] * k[..., :-1] / (k[..., 1:] + k[..., :-1])
        rho_face = 0.5 * (g.rho[1:] + g.rho[:-1])
        along[:-1] = harmonic * g.dr * rho_face * mid * g.dtheta[:, None] / g.ds[0]
        along[-1] = self.sheet * rho_face * g.dtheta[:, None] / g.ds[0]
        diag = around + np.roll(around, 1, axis=1)
        diag[..., 1:] += along
        diag[..., :-1] += along
        diag[:-1] += radial
        diag[1:] += radial
        diag[0] += self._g_in
        diag[-1] += (g.area * slope).astype(f32)
        self._radial, self._around, self._along, self._diag = radial, around, along, diag
        # factors of the radial tridiagonal solves
        self._c = np.empty_like(radial)
        self._inv = np.empty_like(diag)
        self._inv[0] = 1 / diag[0]
        for n in range(g.layers):
            self._c[n] = radial[n] * self._inv[n]
            self._inv[n + 1] = 1 / (diag[n + 1] - radial[n] * self._c[n])

    def _apply(self, x):
        y = self._diag * x
        y[:-1] -= self._radial * x[1:]
        y[1:] -= self._radial * x[:-1]
        y[..., :-1] -= self._along * x[..., 1:]
        y[..., 1:] -= self._along * x[..., :-1]
        y[:, :-1] -= self._around[:, :-1] * x[:, 1:]
        y[:, -1] -= self._around[:, -1] * x[:, 0]
        y[:, 1:] -= self._around[:, :-1] * x[:, :-1]
        y[:, 0] -= self._around[:, -1] * x[:, -1]
        return y

    def _precondition(self, r):
        z = np.empty_like(r)
        z[0] = r[0] * self._inv[0]
        for n in range(1, r.shape[0]):
            z[n] = (r[n] + self._radial[n - 1] * z[n - 1]) * self._inv[n]
        for n in range(r.shape[0] - 2, -1, -1):
            z[n] += self._c[n] * z[n + 1]
        return z

    def _conjugate_gradients(self, x, b, tolerance_k, most=150):
        r = b - self._apply(x)
        z = self._precondition(r)
        p = z.copy()
        rz = float(np.vdot(r, z))
        self.steps = 0
        # z is the error's estimate in kelvin, so that the stopping rule has a unit
        while np.max(np.abs(z[-1])) > 0.3 * tolerance_k and self.steps < most:
            ap = self._apply(p)
            alpha = rz / float(np.vdot(p, ap))
            x = x + np.float32(alpha) * p
            r -= np.float32(alpha) * ap
            z = self._precondition(r)
            rz, old = float(np.vdot(r, z)), rz
            p = z + np.float32(rz / old) * p
            self.steps += 1
        return x
