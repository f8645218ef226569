"""Wet insulation: where it is and how much better it conducts."""

from dataclasses import dataclass

import numpy as np


@dataclass
class Patch:
    """Centre (`theta` rad, `s` m), half widths [m] round and along, ratio of wet to dry conductivity, edge width [m].

    `waves` are (order, amplitude, phase) of the outline's wobble in polar angle.
    """

    theta: float
    s: float
    half_arc: float
    half_length: float
    turned: float
    ratio: float
    edge: float
    waves: tuple

    def reach(self):
        return max(self.half_arc, self.half_length) * (1 + sum(w[1] for w in self.waves))

    def distance(self, grid):
        """Rough signed distance [m] from the outline (< 0 inside) over a conduction grid."""
        r = grid.meridian.radius
        arc = (np.mod(grid.theta - self.theta + np.pi, 2 * np.pi) - np.pi)[:, None] * r
        along = (grid.s - self.s)[None, :]
        c, s = np.cos(self.turned), np.sin(self.turned)
        u, v = c * arc + s * along, c * along - s * arc
        polar = np.arctan2(v / self.half_length, u / self.half_arc)
        wobble = 1 + sum(a * np.cos(n * polar + ph) for n, a, ph in self.waves)
        # rounded rectangle to ellipse: a power between 2 and 3
        norm = (np.abs(u / self.half_arc) ** 2.4 + np.abs(v / self.half_length) ** 2.4) ** (1 / 2.4)
        return (norm / wobble - 1.0) * min(self.half_arc, self.half_length)

    def share(self, grid):
        """0 outside to 1 well inside."""
        return 1.0 / (1.0 + np.exp(np.clip(self.distance(grid) / (0.25 * self.edge), -40, 40)))


def draw(rng, body, camera, count):
    """Up to `count` patches on the part of the cylinder that is in the picture, apart from each other."""
    m = body.meridian
    found = []
    for _ in range(300):
        if len(found) == count:
            break
        half = rng.uniform(0.10, 0.45)
        other = float(np.clip(half * np.exp(rng.normal(0, 0.35)), 0.10, 0.45))
        half = min(half, 0.55 * m.radius)
        # water sinks: on level vessels more often below the facing line
        theta = np.radians(rng.uniform(-50, 50) if body.upright or rng.random() < 0.4 else rng.uniform(0, 55))
        s = rng.uniform(0.08, 0.92) * m.length
        waves = tuple((n, rng.uniform(0.02, 0.24) / np.sqrt(n), rng.uniform(0, 2 * np.pi)) for n in (2, 3, 4, 5))
        p = Patch(theta, s, half, other, rng.uniform(-0.6, 0.6), float(np.exp(rng.uniform(np.log(1.6), np.log(6.0)))),
                  rng.uniform(0.02, 0.07), waves)
        x, y = camera.pixel(body.point(theta, s))
        inside = 0.04 * camera.width < x < 0.96 * camera.width and 0.04 * camera.height < y < 0.96 * camera.height
        apart = all(np.hypot((p.theta - q.theta) * m.radius, p.s - q.s) > p.reach() + q.reach() + 0.25 for q in found)
        on_shell = 0.5 * other < s < m.length - 0.5 * other and abs(theta) * m.radius + half < np.radians(85) * m.radius
        if inside and apart and on_shell:
            found.append(p)
    return found


def boards(rng, grid):
    """Dry insulation is not uniform: staves and courses differ by some per cent, joints leak a little. A factor map."""
    r = grid.meridian.radius
    rows = max(int(2 * np.pi * r / rng.uniform(0.25, 0.6)), 6)
    pitch, offset = rng.uniform(0.5, 1.0), rng.uniform(0, 1)
    row = np.floor(np.mod(grid.theta, 2 * np.pi) / (2 * np.pi) * rows).astype(int) % rows
    shifted = (grid.s[None, :] + 0.5 * pitch * (row[:, None] % 2)) / pitch + offset
    course = np.floor(shifted).astype(int)
    course -= course.min()
    table = 1 + rng.normal(0, 0.018, (rows, course.max() + 1))
    factor = table[row[:, None], course]
    frac = shifted - np.floor(shifted)
    joint = (np.minimum(frac, 1 - frac) * pitch < 0.02) & (rng.random((rows, course.max() + 1))[row[:, None], course] < 0.5)
    factor = factor + rng.uniform(0.0, 0.05) * joint
    slow = rng.normal(0, 0.01) * np.cos(2 * np.pi * grid.s / grid.meridian.length + rng.uniform(0, 6))
    return factor + slow[None, :]


def depth_profile(rng, layers):
    """Weights of the wetness through the thickness (inside first), scaled so that a moderate ratio keeps its series sum."""
    lean = rng.uniform(-0.15, 0.15)
    return 1 + lean * np.linspace(-1, 1, layers)
