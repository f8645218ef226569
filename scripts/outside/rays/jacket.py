"""Steady temperature of the jacket: a resistance network on the unrolled vessel.

Nodes: the middle of each of a few insulation layers, and the jacket sheet, for every cell of an (s, phi) grid that
covers the side the camera can see. Heat goes from metal to air through the layers, sideways through every layer and
along the sheet, and off the sheet by convection, long-wave exchange, sunlight and condensation. The network is
symmetric and positive, so conjugate gradients solve it; the outer loop updates what is not linear.
"""
import numpy as np

from moisture import effective_ratio, layer_conductivity
from physics import KELVIN, SIGMA, forced_film, latent_flux, natural_film

LAYERS = 3


class Grid:
    """Cells on the jacket: s along it (rows), phi round it (columns)."""

    def __init__(self, body, phi_centre, cell=0.028, half_span=np.radians(118)):
        n_s = int(np.ceil((body.length + 2 * body.head_arc) / cell))
        edges = np.linspace(-body.head_arc, body.length + body.head_arc, n_s + 1)
        self.s, self.ds = 0.5 * (edges[1:] + edges[:-1]), edges[1] - edges[0]
        n_p = int(np.ceil(2 * half_span * body.radius / cell))
        edges = np.linspace(phi_centre - half_span, phi_centre + half_span, n_p + 1)
        self.phi, self.dphi = 0.5 * (edges[1:] + edges[:-1]), edges[1] - edges[0]
        self.rho, self.u, _, _ = body.meridian(self.s)
        self.rho = np.maximum(self.rho, 0.03)  # a cell at the pole must keep some area
        phi, s = np.meshgrid(self.phi, self.s)
        self.points, self.normals = body.point(phi, s)
        self.area = np.broadcast_to((self.rho * self.dphi * self.ds)[:, None], phi.shape)  # m2

    def sample(self, phi, s):
        """Indices and weights for bilinear reading at scattered points; use with `read`."""
        fi = np.clip((s - self.s[0]) / self.ds, 0, len(self.s) - 1.001)
        fj = np.clip((phi - self.phi[0]) / self.dphi, 0, len(self.phi) - 1.001)
        i, j = fi.astype(int), fj.astype(int)
        return i, j, fi - i, fj - j

    @staticmethod
    def read(values, where):
        i, j, a, b = where
        return ((values[i, j] * (1 - b) + values[i, j + 1] * b) * (1 - a)
                + (values[i + 1, j] * (1 - b) + values[i + 1, j + 1] * b) * a)

    @staticmethod
    def nearest(values, where):
        i, j, a, b = where
        return values[i + (a > 0.5), j + (b > 0.5)]


def _series(a, b):
    return a * b / (a + b)


class Network:
    """The conductances (W/K) of one state of the insulation, and the solution for given outside conditions."""

    def __init__(self, grid, body, multipliers, bridge, k_dry, thickness, sheet_wk):
        """`multipliers`: (LAYERS, rows, columns) on k_dry; `bridge`: extra metal-to-jacket W/(m2 K) per cell."""
        t = thickness / LAYERS
        k = k_dry * multipliers
        # Inner layers have less area: their radius is smaller. The whole loss then equals the logarithmic formula
        # to a fraction of a percent for the proportions in question.
        self.area = np.array(grid.area)
        shrink = [1.0 - (LAYERS - i - 0.5) * t / body.radius for i in range(LAYERS)]
        half = np.array([k[i] * shrink[i] for i in range(LAYERS)]) * self.area / (t / 2)
        self.metal = half[0]
        self.up = np.array([_series(half[i], half[i + 1]) for i in range(LAYERS - 1)] + [half[-1]])
        self.bridge = bridge * self.area
        lateral = np.concatenate([k * t, np.full((1,) + k.shape[1:], sheet_wk)])  # W/K a square
        width = grid.rho[None, :, None] * grid.dphi
        self.east = _series(2 * lateral[:, :, 1:], 2 * lateral[:, :, :-1]) * grid.ds / width
        rim = 0.5 * (grid.rho[1:] + grid.rho[:-1])[None, :, None] * grid.dphi
        self.north = _series(2 * lateral[:, 1:], 2 * lateral[:, :-1]) * rim / grid.ds
        diagonal = np.zeros(lateral.shape)
        diagonal[0] += self.metal
        diagonal[:-1] += self.up
        diagonal[1:] += self.up
        diagonal[:, :, 1:] += self.east
        diagonal[:, :, :-1] += self.east
        diagonal[:, 1:] += self.north
        diagonal[:, :-1] += self.north
        diagonal[-1] += self.bridge
        self.diagonal = diagonal

    def _apply(self, x, extra):
        y = (self.diagonal + 0.0) * x
        y[-1] += extra * x[-1]
        y[:-1] -= self.up * x[1:]
        y[1:] -= self.up * x[:-1]
        y[:, :, 1:] -= self.east * x[:, :, :-1]
        y[:, :, :-1] -= self.east * x[:, :, 1:]
        y[:, 1:] -= self.north * x[:, :-1]
        y[:, :-1] -= self.north * x[:, 1:]
        return y

    def solve(self, x, metal_c, extra, load, tolerance=1e-4):
        """Conjugate gradients with the diagonal as preconditioner. `extra` (W/K) and `load` (W) act on the sheet."""
        source = np.zeros_like(x)
        source[0] = self.metal * metal_c
        source[-1] = load + self.bridge * metal_c
        scale = self.diagonal.copy()
        scale[-1] += extra
        r = source - self._apply(x, extra)
        z = r / scale
        p, rz = z.copy(), np.vdot(r, z)
        for _ in range(400):
            q = self._apply(p, extra)
            step = rz / np.vdot(p, q)
            x = x + step * p
            r -= step * q
            z = r / scale
            if np.abs(z).max() < tolerance:
                break
            rz, old = np.vdot(r, z), rz
            p = z + (rz / old) * p
        return x


def film_pattern(body, grid, wind_phi):
    """How the film varies round the body: natural and forced share, each with mean about 1.

    Cold air sinks along the jacket: its layer is thin where the flow starts, at the top, and thick where it leaves.
    Under wind: strongest on the windward line, weakest on the flanks, some recovery behind. Sizes from the usual
    textbook plots of local Nusselt number, from memory, smoothed.
    """
    up = grid.normals[..., 2]
    if body.lying:
        natural = 1.0 + 0.20 * up
    else:
        height = np.clip(grid.u / body.length, -0.2, 1.2)[:, None]
        natural = 1.0 + 0.12 * (height - 0.5) + 0.12 * up
    off = grid.phi[None, :] - wind_phi
    forced = 1.0 + 0.22 * np.cos(off) + 0.14 * np.cos(2 * off)
    return natural, np.broadcast_to(forced, up.shape)


def jacket_temperature(body, grid, cond, env, patches, bridge, q_sun, metal_c):
    """Solve wet and dry. Returns dict of grids: wet_c, dry_c (deg C), ratio (effective, to dry), film (W/m2K), flux."""
    shape = grid.area.shape
    multipliers = np.ones((LAYERS,) + shape)
    for patch in patches:
        multipliers = np.maximum(multipliers, layer_conductivity(patch.wetness, patch, LAYERS))
    natural, forced = film_pattern(body, grid, cond["wind_phi"])
    air = env.air_c(grid.points[..., 2])
    exchange = env.exchange_k(grid.normals[..., 2])
    epsilon = 0.97 * cond["emissivity"]  # all round the hemisphere a little below the normal value
    out = {"ratio": effective_ratio(multipliers)}
    mean_air = float(air.mean())
    t_mean, x = mean_air - 1.5, None
    for name, mult, rounds in (("dry_c", np.ones_like(multipliers), 5), ("wet_c", multipliers, 4)):
        if name == "wet_c" and not patches:
            out["wet_c"], out["wet_flux"] = out["dry_c"].copy(), out["dry_flux"].copy()
            break
        net = Network(grid, body, mult, bridge, cond["conductivity"], cond["thickness"], cond["sheet_wk"])
        if x is None:
            ramp = (np.arange(LAYERS + 1) + 0.5) / LAYERS
            x = metal_c[None] + np.minimum(ramp, 1.0)[:, None, None] * (t_mean - metal_c)[None]
        for _ in range(rounds):
            skin = x[-1]
            # Film of the sound body as a whole; a colder place drives its own air a little harder.
            gap = np.abs(air - skin)
            h_nat = natural_film(body.shape, 2 * body.radius, body.length, t_mean, mean_air)
            h_nat = h_nat * natural * np.clip(gap / max(abs(mean_air - t_mean), 0.2), 0.3, 6.0) ** 0.2
            h_for = forced_film(2 * body.radius, cond["wind"], 0.5 * (t_mean + mean_air)) * forced
            h_conv = (h_nat**3 + h_for**3) ** (1 / 3)
            skin_k = skin + KELVIN
            h_rad = epsilon * SIGMA * (exchange**2 + skin_k**2) * (exchange + skin_k)
            latent, slope = latent_flux(h_conv, air, cond["rh"], skin)
            extra = (h_conv + h_rad + slope) * grid.area
            load = (h_conv * air + h_rad * (exchange - KELVIN) + q_sun + latent + slope * skin) * grid.area
            x = net.solve(x, metal_c, extra, load)
            if name == "dry_c":
                t_mean = float(np.average(x[-1], weights=grid.area))
        out[name] = x[-1].copy()
        out[name.replace("_c", "_flux")] = net.up[-1] * (x[-2] - x[-1]) / grid.area
    out["film"] = h_conv + h_rad
    out["condensing"] = latent > 0
    return out
