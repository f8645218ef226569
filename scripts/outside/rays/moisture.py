"""Wet patches in the insulation: ragged cores with soft flanks, sagging the way water runs.

A patch starts as an ellipse whose radius is warped by smooth random fields, is thresholded into a wet core, lets
each strip of it run downhill by its own length, and is softened a little, as moisture gradients in foam are.
"""
from dataclasses import dataclass, field

import numpy as np
from scipy.ndimage import gaussian_filter


@dataclass
class Patch:
    phi: float  # rad, where water got in
    s: float  # m along the jacket
    half_s: float  # m, half-width along the jacket
    half_arc: float  # m, half-width round it
    ratio: float  # effective conductivity of the whole thickness at the wettest place, to dry
    depth_share: tuple  # how wet each layer is from metal to jacket, relative to the wettest
    near: str = ""  # kind of the thing it was put next to
    wetness: np.ndarray = field(default=None, repr=False)


def smooth_field(rng, shape, sigma_cells):
    """Gaussian random field, unit spread, correlated over `sigma_cells` (rows, columns)."""
    noise = gaussian_filter(rng.normal(size=shape), sigma_cells, mode="nearest")
    return noise / max(noise.std(), 1e-9)


def _run_down(wet, sag_cells, axis, direction):
    """Let wetness run downhill along one axis, dying off over `sag_cells` (a length a column of the other axis)."""
    w = np.moveaxis(wet, axis, 0)
    w = w if direction > 0 else w[::-1]
    out = w.copy()
    keep = np.exp(-1.0 / np.maximum(sag_cells, 0.3))
    for i in range(1, len(out)):
        out[i] = np.maximum(out[i], out[i - 1] * keep[i])
    out = out if direction > 0 else out[::-1]
    return np.moveaxis(out, 0, axis)


def wetness(grid, body, patch, rng):
    """Moisture of a patch on the jacket grid, 0..1 (rows along s, columns along phi)."""
    ds, da = grid.ds, grid.dphi * body.radius
    along = grid.s[:, None] - patch.s
    arc = grid.rho[:, None] * (grid.phi[None, :] - patch.phi)
    shape = (len(grid.s), len(grid.phi))
    broad = smooth_field(rng, shape, (0.45 * patch.half_s / ds, 0.45 * patch.half_arc / da))
    fine = smooth_field(rng, shape, (0.16 * patch.half_s / ds, 0.16 * patch.half_arc / da))
    reach = np.sqrt((along / patch.half_s) ** 2 + (arc / patch.half_arc) ** 2)
    reach = reach * (1.0 + 0.22 * np.clip(broad, -2, 2)) + 0.10 * np.clip(fine, -2, 2)
    edge = rng.uniform(0.15, 0.5)
    x = np.clip((1.0 + edge / 2 - reach) / edge, 0.0, 1.0)
    core = x * x * (3 - 2 * x)
    # Downhill: round a lying vessel towards its underside (slower near the crown, where it is nearly level), down
    # the side of a standing one. Every strip runs its own way, so the lower rim is fringed.
    across = smooth_field(rng, shape, (4.0, 4.0))
    length = 0.45 * min(patch.half_s, patch.half_arc) * np.exp(0.6 * np.clip(across, -2, 2))
    if body.lying:
        slope = np.clip(np.cos(grid.phi), 0.05, 1.0)[None, :]
        core = _run_down(core, (length * slope / da).T, axis=1, direction=1)
    else:
        core = _run_down(core, (length / ds)[::-1], axis=0, direction=-1)
    mottle = 1.0 - 0.22 * (0.5 + 0.5 * np.tanh(smooth_field(rng, shape, (0.3 * patch.half_s / ds,) * 2)))
    core = gaussian_filter(core * mottle, (0.012 / ds, 0.012 / da), mode="nearest")
    core[reach > 4.0] = 0.0
    return core / max(core.max(), 1e-9)


def layer_conductivity(wet, patch, layers):
    """Multiplier on dry conductivity for every layer: (layers, rows, columns).

    The gain is found so that the layers in series give the patch's stated ratio where it is wettest.
    """
    share = np.asarray(patch.depth_share, float)
    low, high = 0.0, 4000.0
    for _ in range(80):
        gain = 0.5 * (low + high)
        effective = layers / np.sum(1.0 / (1.0 + gain * share))
        low, high = (gain, high) if effective < patch.ratio else (low, gain)
    return 1.0 + gain * share[:, None, None] * wet[None]


def effective_ratio(multipliers):
    """Ratio of the whole thickness to dry: equal layers in series."""
    return len(multipliers) / np.sum(1.0 / multipliers, axis=0)
