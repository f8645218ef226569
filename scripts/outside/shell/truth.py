"""What really is in the frame."""

import numpy as np


def maps(stage, grid, renderer, index, best, marked, d, delta, owner, halo):
    """The pixel maps of one frame: dict of arrays `outline`, `hidden`, `zones`, `things`.

    `delta` jacket temperature minus the same scene's without patches, `owner` label of the patch each grid cell
    belongs to, `halo` label of the cold bridge whose surroundings a cell is in; all over the conduction grid.
    """
    cam, body = stage.camera, stage.body
    shape = index.shape
    bound = renderer._bounds[0]
    x, y = np.meshgrid(np.arange(cam.width, dtype=float), np.arange(cam.height, dtype=float))
    u, v = cam.planar(x.ravel(), y.ravel())
    pick = np.arange(u.size) if bound is None else np.flatnonzero(
        (u >= bound[0]) & (u <= bound[1]) & (v >= bound[2]) & (v <= bound[3]))
    t = np.full(u.size, np.inf)
    t[pick] = body.hit(cam.position, d[pick])
    outline = np.isfinite(t).reshape(shape)
    hidden = outline & (index != 0)
    things = np.zeros(shape, np.uint8)
    ids = np.array([0, 0] + [i.thing for i in stage.items], np.uint8)  # index -1 and 0 carry no thing
    things[:] = ids[index + 1]
    visible = np.flatnonzero((index == 0).ravel())
    p = cam.position + best.ravel()[visible, None] * d[visible]
    theta, z, s, _ = body.place(p)
    zones = np.zeros(shape, np.uint8)
    contrast = grid.sample(delta, theta, s)
    near = _nearest(grid, owner, theta, s)
    flat_z, flat_t = zones.ravel(), things.ravel()
    flat_t[visible] = np.where(marked.ravel()[visible] > 0, marked.ravel()[visible],
                               _nearest(grid, halo, theta, s))
    for k in range(1, len(stage.patches) + 1):
        peak = np.max(np.abs(delta[owner == k]))
        flat_z[visible[(near == k) & (np.abs(contrast) >= 0.5 * peak)]] = k
    return {"outline": outline, "hidden": hidden, "zones": zones, "things": things}


def _nearest(grid, labels, theta, s):
    i = np.searchsorted(grid.theta_edges, np.mod(theta - grid.theta_edges[0], 2 * np.pi) + grid.theta_edges[0]) - 1
    j = np.clip(((s - grid.s_edges[0]) / grid.ds[0]).astype(int), 0, grid.s.size - 1)
    return labels[np.clip(i, 0, grid.theta.size - 1), j]


def owners(grid, patches):
    """For every cell the patch (1..) whose outline is nearest, as far as 0.4 m outside it; else 0."""
    label = np.zeros(grid.shape, np.uint8)
    least = np.full(grid.shape, 0.4)
    for k, p in enumerate(patches, 1):
        gap = p.distance(grid)
        closer = gap < least
        label[closer], least[closer] = k, gap[closer]
    return label


def zone_rows(stage, grid, delta, owner, ratio, zones, level_angle):
    """One dict a patch: contrasts [K, signed], place, size; over its whole extent, hidden parts included."""
    rows = []
    for k, patch in enumerate(stage.patches, 1):
        mine = owner == k
        values = np.where(mine, delta, 0.0)
        peak = float(values.flat[np.argmax(np.abs(values))])
        core = mine & (np.abs(delta) >= 0.5 * abs(peak))
        w = grid.area * core
        area = float(w.sum())
        turn = np.mod(grid.theta - patch.theta + np.pi, 2 * np.pi) - np.pi + patch.theta
        theta = float((w.sum(axis=1) * turn).sum() / area)
        s = float((w.sum(axis=0) * grid.s).sum() / area)
        rows.append({
            "zone": k, "peak_contrast_k": round(peak, 4),
            "mean_contrast_k": round(float((w * delta).sum() / area), 4),
            "ratio": round(patch.ratio, 4), "ratio_mean": round(float((w * ratio).sum() / area), 4),
            "axial_m": round(float(stage.body.meridian.axial_at(np.array(s))), 4),
            "angle_deg": round(float(np.degrees(theta)), 2),
            "angle_from_level_deg": None if stage.body.upright else round(float(np.degrees(theta - level_angle)), 2),
            "area_m2": round(area, 5), "half_width_m": [round(patch.half_arc, 3), round(patch.half_length, 3)],
            "visible_pixels": int((zones == k).sum()),
        })
    return rows


def halos(grid, bridges, extra_k):
    """Label of the bridge round which the jacket stands out by at least 0.15 K because of bridging, else 0."""
    label = np.zeros(grid.shape, np.uint8)
    strong = np.abs(extra_k) > 0.15
    for b in bridges:
        r = grid.meridian.radius
        turn = np.abs(np.mod(grid.theta - b.theta + np.pi, 2 * np.pi) - np.pi)[:, None]
        along = np.abs(grid.s - b.s)[None, :]
        gap = np.hypot(np.maximum(turn - b.half_sector, 0) * r, np.maximum(along - b.radius, 0))
        label[strong & (gap < b.radius * (b.half_sector == 0) + 0.25) & (label == 0)] = b.thing
    return label
