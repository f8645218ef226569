"""One frame from dice to arrays: conditions, scene, jacket, picture, truth, and the sheet's rows with their errors."""
import numpy as np

import clutter
import plant
from camera import detect
from jacket import Grid, jacket_temperature
from moisture import Patch, wetness
from physics import band_radiance, band_temperature_c, dew_point_c
from render import Cast, per_pixel, reflection, shade
from scene import (Environment, Scene, bell, draw_body, draw_camera, draw_conditions, draw_sensor, view_start_m,
                   visible_span)
from truth import facing_phi, pixel_maps


def make_frame(rng, crowded, distortion=0.0):
    cond, sensor = draw_conditions(rng, crowded), draw_sensor(rng, crowded)
    body = draw_body(rng, cond)
    extras = clutter.choose(rng, cond, sensor) if crowded else []
    camera = draw_camera(rng, cond, body, sensor, distortion)
    scene = Scene(rng, cond, body, camera, environment(rng, cond, body))
    plant.supports(scene)
    plant.nozzles(scene, int(rng.integers(0, 4)))
    for _ in range(int(rng.integers(0, 4))):
        plant.crossing_pipe(scene)
    for extra in extras:
        clutter.ADD[extra](scene)
    plant.backdrop(scene)

    face = facing_phi(scene)
    grid = Grid(body, face)
    patches = draw_patches(scene, grid, face)
    for patch in patches:
        patch.wetness = wetness(grid, body, patch, rng)
    bridge = np.zeros(grid.area.shape)
    for add in scene.bridges:
        bridge += add(grid)
    q_sun = sunlight(scene, grid)
    fields = jacket_temperature(body, grid, cond, scene.env, patches, bridge, q_sun, metal(scene, grid))
    fields["q_sun"] = q_sun
    set_backdrop(scene, grid, fields)
    mirror = reflection(scene, grid)
    cast = Cast(scene)
    radiance, marks = shade(scene, cast, grid, fields, mirror)
    outline, hidden, zones, things, records = pixel_maps(scene, cast, grid, fields, mirror, marks, patches)
    picture = detect(per_pixel(radiance), sensor, rng)
    reflected = reflected_c(scene, grid, mirror)
    start = view_start_m(scene)
    asset_row, frame_row = sheets(scene, reflected, start, camera)
    centre = np.abs(grid.phi - face) < np.radians(40)
    record = {
        "shape": cond["shape"], "head": cond["head"], "zones": records, "facing_level_deg": float(np.degrees(face)),
        "things": {str(t.id): t.kind for t in scene.things}, "thing_effect_k": effects(scene, fields, mirror),
        "crowded_with": extras, "hidden_share": float(hidden.sum() / max(outline.sum(), 1)),
        "true": {k: plain(cond[k]) for k in (
            "air", "rh", "wind", "emissivity", "gloss", "service", "thickness", "conductivity", "sheet_wk", "sun",
            "gradient", "indoor", "sky_depression")}
        | {"reflected_c": reflected, "dew_point_c": float(dew_point_c(cond["air"], cond["rh"])),
           "sound_surface_c": float(fields["dry_c"][:, centre].mean()), "film_w_m2k": float(fields["film"].mean()),
           "view_start_m": start, "wall_c": float(scene.wall_c)},
        "sensor": {k: plain(v) for k, v in sensor.items()},
        "camera": {"position_m": camera.position.tolist(), "focal_px": float(camera.focal),
                   "turn": camera.turn.tolist(), "datum_point_m": body.start.tolist(), "axis": body.axis.tolist()},
    }
    maps = {"outline": outline, "hidden": hidden, "zones": zones, "things": things}
    return {"picture": picture, "counts": rng.random() < 0.3, "maps": maps, "record": record,
            "asset_row": asset_row, "frame_row": frame_row}


def effects(scene, fields, mirror):
    """Strongest effect on the apparent temperature, K, of the clutter that is no object: by thing id."""
    air, eps = scene.cond["air"], scene.cond["emissivity"]
    slope = band_radiance(air + 0.5) - band_radiance(air - 0.5)
    out = {str(t.id): float((1 - eps) * share.max() / slope) for t, share in mirror["shares"]}
    if scene.sun:
        out[str(scene.sun["thing"].id)] = float((fields["q_sun"] / fields["film"]).max())
    if scene.seams:
        out[str(scene.seams["thing"].id)] = float(scene.seams["step_k"])
    return out


def plain(value):
    return value.tolist() if hasattr(value, "tolist") else value


def environment(rng, cond, body):
    air = cond["air"]
    middle = float(body.start[2] + body.axis[2] * body.length / 2)
    if cond["indoor"]:
        return Environment(True, air, cond["gradient"], middle, air - rng.uniform(-0.3, 1.5),
                           air + rng.uniform(-0.5, 1.0), 0.0)
    ground = air + (rng.uniform(1.0, 6.0) if cond["sun"] == "direct" else rng.uniform(-2.5, 1.5))
    return Environment(False, air, 0.0, middle, ground, 0.0, cond["sky_depression"])


def draw_patches(scene, grid, face):
    """0-3 wet patches on the side in view; on a crowded frame often beside or behind a piece of clutter."""
    rng, body, out = scene.rng, scene.body, []
    span = visible_span(scene)
    places = [(a, t.kind) for t in scene.things for a in t.anchors]
    for _ in range(int(rng.choice([0, 1, 2, 3], p=[0.15, 0.35, 0.3, 0.2]))):
        for _ in range(40):
            half_s, half_arc = rng.uniform(0.10, 0.45), rng.uniform(0.10, 0.45)
            near = ""
            if scene.cond["crowded"] and places and rng.random() < 0.5:
                (phi, s), near = places[rng.integers(len(places))]
                phi += rng.normal(0, 0.8) * half_arc / body.radius
                s += rng.normal(0, 0.8) * half_s
            else:
                phi = face + np.radians(rng.uniform(-58, 58))
                s = rng.uniform(span[0], span[-1]) if len(span) else body.length / 2
            at = body.point(phi, s)[0]
            if abs(phi - face) > np.radians(70) or not -0.1 < s < body.length + 0.1:
                continue
            if not scene.camera.inside(at[None], 8)[0]:
                continue
            # Room between patches, so that each pixel's added contrast has one owner.
            apart = [np.hypot((s - p.s) / (half_s + p.half_s + 0.15),
                              body.radius * (phi - p.phi) / (half_arc + p.half_arc + 0.25)) for p in out]
            if apart and min(apart) < 1.0:
                continue
            share = rng.choice([0, 1, 2], p=[0.4, 0.35, 0.25])
            # Soaked through; or wettest against the metal (vapour drive); or under the jacket (rain at a seam).
            depth = ((1, 1, 1), (1, rng.uniform(0.5, 1), rng.uniform(0.2, 0.6)),
                     (rng.uniform(0.2, 0.6), rng.uniform(0.5, 1), 1))[share]
            out.append(Patch(phi, s, half_s, half_arc, float(np.exp(rng.uniform(np.log(1.6), np.log(6.0)))),
                             depth, near))
            break
    return out


def metal(scene, grid):
    """Metal temperature on the grid, deg C: service, or above a liquid level the warmer gas space."""
    out = np.full(grid.area.shape, scene.cond["service"])
    if scene.level:
        rise = 0.5 * (1 + np.tanh((grid.points[..., 2] - scene.level["z"]) / 0.02))
        out = out + scene.level["step_k"] * rise
    return out


def sunlight(scene, grid):
    """Sunlight taken up by the jacket, W/m2."""
    if not scene.sun:
        return np.zeros(grid.area.shape)
    facing = np.clip(grid.normals @ scene.sun["towards"], 0, None)
    return scene.cond["solar_absorptance"] * scene.sun["beam"] * facing


def set_backdrop(scene, grid, fields):
    """Tune the wall so that its apparent temperature lies within a kelvin of the jacket's, as it does in plants."""
    eps = scene.cond["emissivity"]
    ambient = scene.env.diffuse_radiance(0.0)
    middle = np.abs(grid.phi - facing_phi(scene)) < np.radians(50)
    seen = eps * band_radiance(np.median(fields["dry_c"][:, middle])) + (1 - eps) * ambient
    wall = band_temperature_c((seen - 0.08 * ambient) / 0.92)
    scene.wall_c = float(wall + scene.rng.uniform(-1.0, 1.0))


def reflected_c(scene, grid, mirror):
    """What a crumpled foil beside the facing line would show: mean reflected radiance without persons and lamps."""
    near = (np.abs(grid.phi - facing_phi(scene)) < np.radians(45))[None, :] & (mirror["cos"] > 0.3)
    return float(band_temperature_c(mirror["base"][near].mean()))


def sheets(scene, reflected, start, camera):
    """The rows as an inspector would have written them: true values plus the errors of [uncertainty]."""
    rng, cond, body = scene.rng, scene.cond, scene.body
    asset = {
        "shape": cond["shape"], "outside_diameter_mm": round(cond["diameter"] * 1000),
        "length_mm": round(cond["length"] * 1000), "insulation": cond["insulation"],
        "insulation_thickness_mm": cond["thickness_nominal_mm"],
        "insulation_conductivity_w_mk": cond["conductivity"] if cond["conductivity_stated"] else "",
        "jacket": cond["jacket"], "emissivity": round(min(cond["emissivity"] + bell(rng, 0.02), 0.99), 3),
        "service_temperature_c": round(cond["service"] + bell(rng, 1.0), 1),
        "setting": "indoor" if cond["indoor"] else "outdoor",
    }
    wind = cond["wind"] + bell(rng, max(0.25 * cond["wind"], 0.2))
    frame = {
        "air_temperature_c": round(cond["air"] + bell(rng, 0.5), 1),
        "relative_humidity_pct": round(float(np.clip(cond["rh"] + bell(rng, 3.0), 1, 99)), 0),
        "wind_m_s": round(max(wind, 0.0), 2), "reflected_temperature_c": round(reflected + bell(rng, 1.0), 1),
        "distance_m": round(float(np.linalg.norm(camera.position[:2] - [camera.position[0], 0])) - body.radius, 1),
        "sun": cond["sun"], "facing_clock": "", "facing_bearing_deg": "", "datum_side": "", "view_start_mm": "",
        "note": "simulated",
    }
    if body.lying:
        frame["facing_clock"] = 9 if cond["datum_right"] else 3
        frame["datum_side"] = "right" if cond["datum_right"] else "left"
    else:
        frame["facing_bearing_deg"], frame["datum_side"] = cond["bearing"], "bottom"
    if start is not None:
        frame["view_start_mm"] = round(start * 1000)
    return asset, frame
