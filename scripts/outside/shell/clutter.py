"""What makes a frame crowded: three to seven of the troubles a real plant offers, drawn at random."""

import numpy as np

from . import effects, fixtures, gear

ANYWHERE = ["sight-glass", "ladder", "pipes", "bands", "nameplate", "ports", "frost", "glint", "shading",
            "level-column-bare", "level-column-insulated"]


class Plan:
    """Which troubles a frame has; first `conditions` (weather), then `objects`, then `inside` for the solver."""

    def __init__(self, stage):
        self.st, rng = stage, stage.rng
        pool = list(ANYWHERE)
        pool += ["sun-top", "cold-sky"] if stage.asset.outdoor else ["stratified"]
        pool += ["liquid-level"] if stage.body.upright else []
        count = int(rng.integers(3, 8))
        self.chosen = [str(c) for c in rng.choice(pool, size=count, replace=False)]
        self.column_k, self.vignette_k = rng.uniform(0.005, 0.02), rng.uniform(0.0, 0.12)
        if "shading" in self.chosen:
            self.column_k, self.vignette_k = rng.uniform(0.03, 0.08), rng.uniform(0.3, 0.9) * rng.choice([-1, 1])
        self.glints, self.ids, self.level = [], {}, None

    def conditions(self):
        """Alters the weather, before anything depends on it."""
        w, rng = self.st.weather, self.st.rng
        if "stratified" in self.chosen:
            w.lapse_k_per_m = rng.uniform(0.15, 0.7)
        if "cold-sky" in self.chosen or "sun-top" in self.chosen:
            w.clear_sky = True
        if "sun-top" in self.chosen:
            w.sun_w_m2 = rng.uniform(15, 80)
        for name in ("sun-top", "cold-sky"):
            if name in self.chosen:
                self.ids[name] = self.st.thing({"sun-top": "sun-warmed", "cold-sky": "sky-reflection"}[name])

    def objects(self):
        """Puts up the chosen gear."""
        st = self.st
        acts = {
            "sight-glass": gear.sight_glasses, "ladder": gear.ladder, "nameplate": gear.nameplate,
            "ports": gear.inspection_ports, "frost": gear.frosted_stub, "bands": gear.bands_and_seams,
            "level-column-bare": lambda s: gear.level_column(s, True),
            "level-column-insulated": lambda s: gear.level_column(s, False),
            "pipes": lambda s: fixtures.pipes(s, int(s.rng.integers(1, 4))),
        }
        for name in self.chosen:
            if name in acts:
                acts[name](st)
        if "glint" in self.chosen:
            self.glints.append(effects.draw_glint(st))
        if "liquid-level" in self.chosen:
            self.ids["liquid-level"] = st.thing("liquid-level")
            low, high = st.visible_axial()
            self.level = low + st.rng.uniform(0.2, 0.8) * (high - low)
            self.superheat = st.rng.uniform(2.0, 12.0)

    def inside(self, grid):
        """(temperature degC, film W/m2K) inside the shell: above a liquid level the metal is warmer and bathed in gas."""
        service, boiling = self.st.asset.service_c, 400.0
        if self.level is None:
            return service, boiling
        up = 1.0 if self.st.body.axis[2] > 0 else -1.0
        gas = 1 / (1 + np.exp(np.clip(-up * (grid.s - self.level) / 0.02, -40, 40)))[None, :]
        return service + self.superheat * gas, np.exp(np.log(boiling) + gas * np.log(7.0 / boiling))

    def label_effects(self, arrays, index, best, d, grid, film, renderer):
        """Marks in `things` where sun, sky, glints and the level are seen on free jacket, and returns nothing.

        An effect's pixels are those where it is at least half its peak, and at least 0.15 K.
        """
        st = self.st
        free = np.flatnonzero(((index == 0) & (arrays["things"] == 0)).ravel())
        if free.size == 0:
            return
        rays = d[free]
        p = st.camera.position + best.ravel()[free, None] * rays
        theta, z, s, n = st.body.place(p)
        things = arrays["things"].ravel()

        def mark(name, strength):
            peak = strength.max()
            if peak > 0.15:
                hit = free[strength >= max(0.5 * peak, 0.15)]
                things[hit[things[hit] == 0]] = self.ids[name]

        for glint in self.glints:
            self.ids["glint"] = glint.thing
            mark("glint", np.abs(effects.glint_kelvin(st, renderer, glint, p, rays, n)))
        if "cold-sky" in self.ids:
            mark("cold-sky", np.maximum(-effects.sky_kelvin(st, renderer, rays, n), 0))
        if "sun-top" in self.ids:
            warm = np.broadcast_to(film.sun, grid.shape) / film(np.full(grid.shape, st.jacket_c))[1]
            mark("sun-top", grid.sample(warm, theta, s))
        if self.level is not None:
            line = free[np.abs(z - self.level) < 0.06]
            things[line[things[line] == 0]] = self.ids["liquid-level"]

    def note(self):
        """For the truth's JSON."""
        return {
            "chosen": self.chosen, "column_noise_k": self.column_k, "vignette_k": self.vignette_k,
            "air_lapse_k_per_m": self.st.weather.lapse_k_per_m, "absorbed_sun_w_m2": self.st.weather.sun_w_m2,
            "liquid_level_axial_m": self.level, "gas_superheat_k": None if self.level is None else self.superheat,
        }
