"""The set on which a frame plays: the vessel, and everything that has been put on, in front of or behind it."""

from dataclasses import dataclass, field

import numpy as np

from .solids import Box, Cylinder, Ellipsoid, Item


@dataclass
class Bridge:
    """A cold bridge through the insulation: a multiplier within `radius` [m] of (theta, s), or over a saddle's sector."""

    thing: int
    theta: float
    s: float
    radius: float
    ratio: float
    half_sector: float = 0.0  # rad; > 0: a band of half width `radius` along s over theta +- this

    def factor(self, grid):
        r = grid.meridian.radius
        turn = np.abs(np.mod(grid.theta - self.theta + np.pi, 2 * np.pi) - np.pi)[:, None]
        along = np.abs(grid.s - self.s)[None, :]
        if self.half_sector > 0:
            gap = np.maximum((turn - self.half_sector) * r, along - self.radius)
        else:
            gap = np.hypot(turn * r, along) - self.radius
        return 1 + (self.ratio - 1) / (1 + np.exp(np.clip(gap / 0.012, -40, 40)))


@dataclass
class Mark:
    """Something on the jacket that alters what is seen: band, seam, plug. `where(theta, z)` -> bool; temperatures in K."""

    thing: int
    where: object
    emissivity: float | None = None
    offset_k: float = 0.0
    gloss: float | None = None


@dataclass
class Stage:
    """Collects items while they are drawn. `jacket_c`: rough guess of the sound jacket, to set the scene about it."""

    rng: np.random.Generator
    asset: object
    weather: object
    body: object
    camera: object
    patches: list
    jacket_c: float
    items: list = field(default_factory=list)
    bridges: list = field(default_factory=list)
    marks: list = field(default_factory=list)
    things: dict = field(default_factory=dict)

    def thing(self, kind):
        """A new id in the truth's clutter map."""
        number = len(self.things) + 1
        self.things[number] = kind
        return number

    def add(self, solid, temp_c, thing=0, emissivity=0.93):
        self.items.append(Item(solid, temp_c, emissivity, thing))

    def rod(self, p0, p1, radius, temp_c, thing=0, emissivity=0.93):
        self.add(Cylinder(p0, p1, radius), temp_c, thing, emissivity)

    def block(self, centre, half, temp_c, thing=0, emissivity=0.93, axes=None):
        self.add(Box(centre, half, np.eye(3) if axes is None else axes), temp_c, thing, emissivity)

    def lump(self, centre, half, temp_c, thing=0, emissivity=0.97):
        self.add(Ellipsoid(centre, half), temp_c, thing, emissivity)

    @property
    def ambient(self):
        """Temperature [degC] of uninsulated ironwork standing about: near the air, never exactly."""
        return self.weather.air_c + self.rng.normal(-0.4, 0.5)

    @property
    def frosty(self):
        """Surface temperature [degC] of frosted bare cold metal: between the fluid and freezing (from memory)."""
        return float(self.rng.uniform(0.15, 0.75) * min(self.asset.service_c, -3.0))

    def visible_axial(self):
        """Axial positions [m] (low, high) of the cylinder part that are in the picture."""
        m = self.body.meridian
        z = np.linspace(0, m.length, 200)
        p = self.body.datum + z[:, None] * self.body.axis + m.radius * self.body.facing
        x, y = self.camera.pixel(p)
        ok = (x > 0) & (x < self.camera.width) & (y > 0) & (y < self.camera.height)
        return (float(z[ok].min()), float(z[ok].max())) if ok.any() else (0.0, m.length)

    def spot(self, near_patch=0.4):
        """(theta, z) of a place on the visible jacket; with that probability at a wet patch's rim or middle."""
        low, high = self.visible_axial()
        if self.patches and self.rng.random() < near_patch:
            p = self.patches[self.rng.integers(len(self.patches))]
            a, f = self.rng.uniform(0, 2 * np.pi), self.rng.uniform(0.2, 1.3)
            theta = p.theta + f * np.cos(a) * p.half_arc / self.body.meridian.radius
            z = p.s + f * np.sin(a) * p.half_length
            return float(np.clip(theta, -1.3, 1.3)), float(np.clip(z, low, high))
        return float(self.rng.uniform(-0.8, 0.8)), float(self.rng.uniform(low + 0.05, high - 0.05))
