"""Cast the rays, colour what they hit, and add up the radiance that reaches every pixel."""
import numpy as np
from scipy.ndimage import gaussian_filter

from physics import air_absorption_per_m, angular_emissivity, band_radiance

SUB = 2  # sub-rays along each side of a pixel


class Cast:
    """First hits of all sub-rays: index of the solid (-1: sky), distance, and where the vessel alone would be hit."""

    def __init__(self, scene):
        cam = scene.camera
        self.rays = cam.rays(SUB)
        shape = self.rays.shape[:2]
        self.which = np.full(shape, -1, np.int16)
        self.distance = np.full(shape, np.inf)
        self.vessel = np.zeros(shape, bool)
        for index, solid in enumerate(scene.solids):
            window = cam.window(solid.corners(), SUB)
            if window is None:
                continue
            y0, y1, x0, x1 = window
            part = self.rays[y0:y1, x0:x1]
            t = solid.hit(cam.position, part.reshape(-1, 3)).reshape(part.shape[:2])
            if index < scene.body_solids:
                self.vessel[y0:y1, x0:x1] |= np.isfinite(t)
            near = self.distance[y0:y1, x0:x1]
            closer = t < near
            near[closer] = t[closer]
            self.which[y0:y1, x0:x1][closer] = index
        self.on_jacket = (self.which >= 0) & (self.which < scene.body_solids)


def first_radiance(scene, origins, directions):
    """Radiance seen along rays from points on the jacket: one bounce, surroundings taken as nearly black."""
    best = np.full(len(directions), np.inf)
    out = scene.env.sky_radiance(directions[:, 2])
    for solid in scene.mirrored:
        t = solid.hit(origins, directions)
        closer = np.flatnonzero(t < best)
        if len(closer):
            best[closer] = t[closer]
            world = origins[closer] + t[closer, None] * directions[closer]
            out[closer] = band_radiance(solid.temperature(world))
    return out, best


def reflection(scene, grid):
    """What the jacket reflects towards the camera, per grid cell.

    Returns total radiance, the emitters' share of it (list of (thing, share)) and the sky's. A painted sheet
    is part mirror, part matt: the mirror part looks along the mirrored ray, the matt part sees its hemisphere.
    """
    gloss = scene.cond["gloss"]
    points = grid.points.reshape(-1, 3)
    normals = grid.normals.reshape(-1, 3)
    view = points - scene.camera.position
    view /= np.linalg.norm(view, axis=1, keepdims=True)
    cos = -(view * normals).sum(axis=1)
    bounce = view + 2 * cos[:, None] * normals
    seen = np.flatnonzero(cos > 0.02)
    mirror = band_radiance(np.full(len(points), scene.env.mean_air_c))
    reach = np.full(len(points), np.inf)
    start = points[seen] + 1e-3 * normals[seen]
    mirror[seen], reach[seen] = first_radiance(scene, start, bounce[seen])
    shares = []
    for solid, thing in scene.emitters:
        t = np.full(len(points), np.inf)
        t[seen] = solid.hit(start, bounce[seen])
        hit = np.flatnonzero(t < reach)
        share = np.zeros(len(points))
        if len(hit):
            world = points[hit] + t[hit, None] * bounce[hit]
            share[hit] = gloss * (band_radiance(solid.temperature(world)) - mirror[hit])
        shares.append((thing, soften(share.reshape(grid.area.shape), grid)))
    matt = scene.env.diffuse_radiance(normals[:, 2])
    base = soften((gloss * mirror + (1 - gloss) * matt).reshape(grid.area.shape), grid)
    total = base + sum(share for _, share in shares)
    return {"total": total, "base": base, "shares": shares, "cos": cos.reshape(grid.area.shape),
            "up": np.where(np.isinf(reach), bounce[:, 2], -1.0).reshape(grid.area.shape)}


def soften(values, grid):
    """Roller marks and orange peel blur a mirror image: two centimetres on the jacket."""
    return gaussian_filter(values, (0.02 / grid.ds, 0.02 / grid.ds), mode="nearest")


def shade(scene, cast, grid, fields, mirror):
    """Radiance of every sub-ray, W/(m2 sr), and per jacket sub-ray its place and the patches' added contrast."""
    env, cond = scene.env, scene.cond
    radiance = env.sky_radiance(cast.rays[..., 2])
    origin = scene.camera.position
    order = np.argsort(cast.which, axis=None, kind="stable")
    sorted_ids = cast.which.ravel()[order]
    flat_rays, flat_t, flat_l = cast.rays.reshape(-1, 3), cast.distance.ravel(), radiance.ravel()
    jacket = np.flatnonzero(cast.on_jacket)
    for index in np.unique(sorted_ids):
        if index < scene.body_solids:
            continue
        solid = scene.solids[index]
        pick = order[np.searchsorted(sorted_ids, index): np.searchsorted(sorted_ids, index, "right")]
        world = origin + flat_t[pick, None] * flat_rays[pick]
        ambient = env.diffuse_radiance(0.0)
        flat_l[pick] = solid.emissivity * band_radiance(solid.temperature(world)) + (1 - solid.emissivity) * ambient
    world = origin + flat_t[jacket, None] * flat_rays[jacket]
    phi, s = scene.body.to_surface(world)
    where = grid.sample(phi, s)
    skin = grid.read(fields["wet_c"], where)
    added = grid.read(fields["wet_c"] - fields["dry_c"], where)
    _, _, nr, nz = scene.body.meridian(s)
    normal = (nr * np.cos(phi))[:, None] * scene.body.face + (nr * np.sin(phi))[:, None] * scene.body.plus
    normal += nz[:, None] * scene.body.axis
    cos = -(flat_rays[jacket] * normal).sum(axis=1)
    eps = angular_emissivity(cond["emissivity"], cos)
    band = np.zeros(len(s), bool)
    seam = np.zeros(len(s), bool)
    if scene.bands:
        b = scene.bands
        off = np.abs(np.mod(s - b["start"] + b["pitch"] / 2, b["pitch"]) - b["pitch"] / 2)
        band = (off < b["half_m"]) & (s > -0.02) & (s < scene.body.length + 0.02)
        eps = np.where(band, b["emissivity"] * eps / cond["emissivity"], eps)
    if scene.seams:
        m = scene.seams
        off = np.abs(np.mod(s - m["start"] + m["pitch"] / 2, m["pitch"]) - m["pitch"] / 2)
        lap = np.abs(phi - m["phi"]) * scene.body.radius
        seam = (off < m["half_m"]) | (lap < m["half_m"])
        skin = skin + m["step_k"] * seam
    flat_l[jacket] = eps * band_radiance(skin) + (1 - eps) * grid.read(mirror["total"], where)
    # The air between: dims everything a little and adds its own light.
    tau = np.exp(-air_absorption_per_m(cond["air"], cond["rh"]) * np.minimum(cast.distance, 60.0))
    radiance = tau * radiance + (1 - tau) * band_radiance(cond["air"])
    return radiance, {"index": jacket, "phi": phi, "s": s, "cos": cos, "added": added, "where": where, "band": band,
                      "seam": seam, "world": world, "skin": skin}


def per_pixel(values, how="mean"):
    """Bring sub-ray values to pixels."""
    h, w = values.shape[0] // SUB, values.shape[1] // SUB
    blocks = values.reshape(h, SUB, w, SUB)
    return blocks.mean(axis=(1, 3)) if how == "mean" else blocks.max(axis=(1, 3))
