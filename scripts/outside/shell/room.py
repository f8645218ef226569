"""What stands behind: hall or yard, and other equipment about as warm as the jacket."""

import numpy as np

from .radiance import Surroundings, band


def surroundings(rng, weather, outdoor):
    """What the jacket mirrors and exchanges radiation with."""
    a = weather.air_c
    if not outdoor:
        return Surroundings(a + rng.normal(-0.2, 0.5), a + rng.normal(-1.0, 0.7), a + rng.normal(0.8, 0.8))
    drop = rng.uniform(25, 50) if weather.clear_sky else rng.uniform(2, 6)
    return Surroundings(a + rng.normal(-0.3, 0.5), a + rng.normal(0.8, 1.0), a - rng.uniform(0.5, 2.0), drop,
                        0.45 * drop, sky=True)


class Texture:
    """Smooth random unevenness over a plane: a few sine waves [K]."""

    def __init__(self, rng, amplitude, scale):
        self.k = rng.normal(0, 1 / scale, (6, 2)) * 2
        self.phase = rng.uniform(0, 2 * np.pi, 6)
        self.amplitude = amplitude

    def __call__(self, a, b):
        w = sum(np.sin(k[0] * a + k[1] * b + p) for k, p in zip(self.k, self.phase))
        return self.amplitude * w / 2.4


class Backdrop:
    """Floor, wall behind, ceiling or sky: gives in-band radiance along rays that hit nothing else."""

    def __init__(self, rng, stage, env, outdoor):
        self.env, self.outdoor, self.jacket_c = env, outdoor, stage.jacket_c
        radius = stage.body.meridian.radius
        self.wall_y = radius + rng.uniform(0.4, 4.0)
        self.wall_top = rng.uniform(2.5, 6.0) if outdoor else rng.uniform(4.5, 8.0)
        self.has_wall = (not outdoor) or rng.random() < 0.6
        self.wall_c = stage.jacket_c + rng.uniform(-1.0, 1.0)
        self.floor_c = stage.jacket_c + rng.uniform(-1.0, 1.0) + (rng.uniform(0, 2) if outdoor else 0)
        self.ceiling_c = stage.jacket_c + rng.uniform(-0.5, 1.5)
        self.lapse = 0.06 + stage.weather.lapse_k_per_m
        self.wall_texture, self.floor_texture = Texture(rng, 0.15, 2.0), Texture(rng, 0.2, 1.6)
        self.panel, self.panel_depth = rng.uniform(0.6, 1.3), rng.uniform(0.05, 0.3)
        self.rafter_k, self.roofs = rng.normal(0, 0.35), rng.uniform(2, 11, 64)
        self.upright_panels = rng.random() < 0.6

    def _skyline(self, d):
        """Height [m] at 60 m distance of roofs and trees."""
        step = np.floor(np.arctan2(d[:, 0], d[:, 1]) * 14).astype(int) % self.roofs.size
        az = np.arctan2(d[:, 0], d[:, 1])
        return self.roofs[step] + 0.5 * np.sin(90 * az) * np.sin(37 * az)

    def radiance(self, o, d):
        down = d[:, 2] < -1e-6
        t_floor = np.where(down, o[2] / np.where(down, -d[:, 2], 1), np.inf)
        ahead = d[:, 1] > 1e-6
        t_wall = np.where(ahead, (self.wall_y - o[1]) / np.where(ahead, d[:, 1], 1), np.inf)
        rise = o[2] + t_wall * d[:, 2]
        if not self.has_wall:
            t_wall = np.where(ahead, 60.0 / np.where(ahead, d[:, 1], 1), np.inf)
            rise = np.where(np.isfinite(t_wall), o[2] + t_wall * d[:, 2], 9)
        wall = (t_wall < t_floor) & (rise < (self.wall_top if self.has_wall else self._skyline(d)))
        floor = (t_floor < t_wall) & (t_floor < 80)
        x = o[0] + np.where(np.isfinite(t_wall), t_wall, 0) * d[:, 0]
        y = o[1] + np.where(floor, t_floor, 0) * d[:, 1]
        xf = o[0] + np.where(floor, t_floor, 0) * d[:, 0]
        height = np.where(wall, rise, 0)
        across = x if self.upright_panels else height
        joint = np.abs(np.mod(across / self.panel, 1) - 0.5) > 0.5 - 0.012 / self.panel
        wall_t = (self.wall_c + self.lapse * (height - 1.5) + self.wall_texture(x, height) - self.panel_depth * joint)
        floor_t = self.floor_c + self.floor_texture(xf, y) + 0.1 * np.minimum(y, 3)
        if self.outdoor:
            above = self.env.temperature(np.maximum(d[:, 2], 0.02 if not self.has_wall else 0.0))
            above = np.where(d[:, 2] > 0.25, above, np.minimum(above, self.env.ceiling_c))
        else:
            # rafters across the hall, a little cooler or warmer than the sheeting
            up = np.maximum(d[:, 2], 1e-3)
            depth = o[1] + (self.wall_top - o[2]) / up * d[:, 1]
            above = self.ceiling_c + self.rafter_k * (np.mod(depth / 1.4, 1) < 0.11)
        return band(np.where(wall, wall_t, np.where(floor, floor_t, above)))


def equipment(st, wall_y):
    """Other vessels, cabinets and pipe runs behind the asset, within about 1 K of the jacket, and a few warm trifles."""
    rng, r = st.rng, st.body.meridian.radius
    room = max(wall_y - r, 0.5)
    for _ in range(int(rng.integers(2, 6))):
        t, x = st.jacket_c + rng.uniform(-1, 1), rng.uniform(-5, 5)
        y = r + 0.2 + rng.uniform(0, 0.8) * room
        kind = rng.choice(["vessel", "cabinet", "run", "post"])
        if kind == "vessel" and room > 1.6:
            rr = rng.uniform(0.3, 0.45 * room)
            if rng.random() < 0.5:
                st.rod([x, r + 0.2 + rr, 0.4], [x, r + 0.2 + rr, rng.uniform(2, 5)], rr, t)
            else:
                z = rr + rng.uniform(0.3, 1.5)
                far = x + rng.uniform(2, 5)
                st.rod([x, r + 0.2 + rr, z], [far, r + 0.2 + rr, z], rr, t)
                for foot in (0.8 * x + 0.2 * far, 0.2 * x + 0.8 * far):
                    st.block([foot, r + 0.2 + rr, z / 2], [0.1, 0.7 * rr, z / 2], t + rng.uniform(-0.3, 0.8))
        elif kind == "cabinet":
            st.block([x, y, 0.9], [rng.uniform(0.2, 0.5), 0.15, 0.9], t + rng.uniform(0, 1))
            if rng.random() < 0.4:
                st.block([x, y - 0.16, 1.4], [0.06, 0.01, 0.04], t + rng.uniform(2, 8))
        elif kind == "run":
            z = rng.uniform(0.3, 4.5)
            for k in range(int(rng.integers(1, 4))):
                st.rod([-7, y, z + 0.25 * k], [7, y + rng.normal(0, 0.1), z + 0.25 * k], rng.uniform(0.02, 0.09),
                       t + rng.normal(0, 0.6))
        else:
            st.block([x, y, 3.0], [0.08, 0.08, 3.0], t + rng.normal(0, 0.3))
    if rng.random() < 0.3:
        st.block([rng.uniform(-4, 4), r + 0.3, 0.35], [0.2, 0.25, 0.2], st.weather.air_c + rng.uniform(5, 25))
