"""One frame's whole way: draw the plant, solve the shell, render, expose, note the truth."""

from dataclasses import dataclass

import numpy as np

from . import clutter, draw, fixtures, patches, room, truth
from .conduction import Grid, Problem
from .materials import dry_conductivity
from .outside_film import OuterFilm
from .radiance import apparent
from .render import Renderer
from .sensor import Sensor
from .stage import Stage


@dataclass
class Frame:
    """Everything that is written for one frame."""

    name: str
    asset: draw.Asset
    weather: draw.Weather
    image: np.ndarray
    maps: dict
    note: dict
    distance: float
    side: str
    view_start: float | None
    reflected_c: float
    sun: str
    bearing: float


def rough_jacket(a, w):
    """A first guess of the sound jacket [degC] to set the scene about: plain resistances, film 8 W/m2K."""
    u = 1 / (a.thickness / dry_conductivity(a.insulation, -5.0) + 1 / 8.0)
    return w.air_c - u * (w.air_c - a.service_c) / 8.0


def film_of(st, grid, env, rng):
    """The jacket's outer film over the grid."""
    a, w, body = st.asset, st.weather, st.body
    up = body.grid_normals_up(grid)
    air_c = w.air_c + w.lapse_k_per_m * (body.grid_height(grid) - 1.5)
    windward = np.cos(grid.theta - rng.uniform(0, 2 * np.pi))[:, None] * np.ones(grid.shape)
    sun = 0.0
    if w.sun_w_m2 > 0:
        # the sun stands high behind the vessel: it warms the top and leaves the side we see in its own shade
        ray = np.array([rng.normal(0, 0.4), rng.uniform(0.3, 1.0), 1.2])
        ray /= np.linalg.norm(ray)
        tilt = body.meridian.tilt_at(grid.s)[None, :]
        radial = (np.cos(grid.theta) * (body.facing @ ray) + np.sin(grid.theta) * (body.turn @ ray))[:, None]
        sun = w.sun_w_m2 * np.maximum(radial * np.sqrt(1 - tilt**2) + tilt * (body.axis @ ray), 0)
    size = a.length + body.meridian.radius if body.upright else a.diameter
    return OuterFilm(air_c, env.exchange_t4(up), up, a.emissivity, w.wind, windward, w.rh, size, a.diameter,
                     body.upright, sun)


def make(seed, number, upright, crowded):
    """Frame `number` of a survey; the same for the same seed, whatever else is made."""
    rng = np.random.default_rng([seed, number, int(crowded)])
    a = draw.asset(rng, 100 + number, upright)
    w = draw.weather(rng, a.outdoor)
    body, camera, side, partial, distance = draw.stand(rng, a)
    wet = patches.draw(rng, body, camera, int(rng.choice(4, p=[0.18, 0.34, 0.29, 0.19])))
    st = Stage(rng, a, w, body, camera, wet, rough_jacket(a, w))
    plan = clutter.Plan(st) if crowded else None
    if plan:
        plan.conditions()
    env = room.surroundings(rng, w, a.outdoor)
    fixtures.supports(st)
    fixtures.nozzles(st, int(rng.integers(0, 4)))
    fixtures.pipes(st, int(rng.choice(4, p=[0.35, 0.35, 0.2, 0.1])))
    if plan:
        plan.objects()
    backdrop = room.Backdrop(rng, st, env, a.outdoor)
    room.equipment(st, backdrop.wall_y)

    grid = Grid(body.meridian, a.thickness, pitch=0.022)
    film = film_of(st, grid, env, rng)
    dry, bridged = patches.boards(rng, grid), np.ones(grid.shape)
    lift = np.ones(grid.shape)
    for p in wet:
        lift += (p.ratio - 1) * p.share(grid)
    for b in st.bridges:
        bridged = np.maximum(bridged, b.factor(grid))
    inner_c, inner_h = plan.inside(grid) if plan else (a.service_c, 400.0)
    profile = patches.depth_profile(rng, grid.layers)

    def solve(ratio, start=None):
        k_of = lambda mean_c: dry_conductivity(a.insulation, mean_c, a.factor)
        return Problem(grid, k_of, ratio, profile, inner_c, inner_h, a.sheet, film).solve(start, tolerance_k=1e-4)

    full = solve(np.maximum(dry * lift, bridged))
    dry_only = solve(np.maximum(dry, bridged), full) if wet else full
    unbridged = solve(dry, dry_only)
    jacket = full[-1].astype(float)
    delta = jacket - dry_only[-1]
    st.jacket_c = float(np.mean(unbridged[-1][np.abs(grid.theta) < 1.0]))

    renderer = Renderer(st, grid, jacket, env, backdrop, w, plan.glints if plan else ())
    radiance, index, best, marked, d = renderer.picture()
    owner = truth.owners(grid, wet)
    halo = truth.halos(grid, st.bridges, dry_only[-1] - unbridged[-1])
    arrays = truth.maps(st, grid, renderer, index, best, marked, d, delta, owner, halo)
    if plan:
        plan.label_effects(arrays, index, best, d, grid, film, renderer)

    sensor = Sensor(rng.uniform(0.6, 1.2), 0.050, plan.column_k if plan else rng.uniform(0.005, 0.015),
                    plan.vignette_k if plan else rng.uniform(0.0, 0.12), draw.half_width(rng, 2.0),
                    int(rng.integers(0, 11)))
    image = sensor.expose(rng, radiance)
    reflected_c = float(apparent(env.diffuse_band(body.facing[2])))
    start = draw.view_start(body, camera, side) if partial else None
    level = 0.0 if upright else body.angle_of(np.array([0, -1.0, 0]))
    note = {
        "simulated": True, "asset": a.tag, "shape": "vertical-cylinder" if upright else "horizontal-cylinder",
        "zones": truth.zone_rows(st, grid, delta, owner, lift, arrays["zones"], level),
        "things": {str(k): v for k, v in st.things.items()},
        "scene": {
            "partly_in_view": partial, "view_start_m": start, "head": a.head, "sound_jacket_c": round(st.jacket_c, 3),
            "air_c": w.air_c, "rh": w.rh, "wind_m_s": w.wind, "service_c": a.service_c,
            "conductivity_dry_w_mk": float(dry_conductivity(a.insulation, 0.5 * (a.service_c + st.jacket_c), a.factor)),
            "emissivity": a.emissivity, "reflected_c": reflected_c, "camera_offset_k": sensor.offset_k,
            "facing_line_above_level_deg": None if upright else round(float(np.degrees(level)), 2),
            "hfov_deg": camera.hfov_deg, "camera_m": camera.position.tolist(), "datum_m": body.datum.tolist(),
            "heat_flux_w_m2": round(float(np.mean(film(unbridged[-1].astype(float))[0])), 3),
        },
    }
    if plan:
        note["effects"] = plan.note()
    sun = "none" if not a.outdoor else ("direct" if w.sun_w_m2 > 0 else ("none" if w.clear_sky else "overcast"))
    return Frame(f"{a.tag.lower()}", a, w, image, arrays, note, distance, side, start, reflected_c, sun,
                 float(rng.integers(0, 360)))
