"""What was really there: the vessel's outline, what hides it, the wet patches and the clutter."""
import numpy as np
from scipy.ndimage import binary_dilation

from moisture import effective_ratio, layer_conductivity
from jacket import LAYERS
from physics import band_radiance
from render import SUB, per_pixel


def pixel_maps(scene, cast, grid, fields, mirror, marks, patches):
    """Arrays outline, hidden, zones, things, and the list of zone records."""
    outline = per_pixel(cast.vessel) >= 0.5
    free = per_pixel(cast.on_jacket)
    hidden = outline & (free < 0.5)
    things = thing_map(scene, cast, grid, fields, mirror, marks)
    zones = np.zeros(outline.shape, np.uint8)
    records = []
    if not patches:
        return outline, hidden, zones, things, records
    shape = cast.which.shape
    added_sub = np.zeros(shape)
    added_sub.flat[marks["index"]] = marks["added"]
    share = np.maximum(free, 1e-9)
    added = per_pixel(added_sub) / share
    owner = owners(grid, patches)
    owner_sub = np.full(shape, -1, np.int16)
    owner_sub.flat[marks["index"]] = grid.nearest(owner, marks["where"])
    owner_px = per_pixel(owner_sub, "max")
    place = {}
    for name in ("phi", "s"):
        full = np.zeros(shape)
        full.flat[marks["index"]] = marks[name]
        place[name] = per_pixel(full) / share
    # Jacket area a pixel covers: its solid angle times distance squared over the cosine of the view, summed over
    # the sub-rays that land on the jacket.
    d = cast.distance.flat[marks["index"]]
    forward = scene.camera.turn[2]
    axial = cast.rays.reshape(-1, 3)[marks["index"]] @ forward
    solid_angle = axial**3 / (scene.camera.focal * SUB) ** 2
    area_sub = np.zeros(shape)
    area_sub.flat[marks["index"]] = solid_angle * d * d / np.maximum(marks["cos"], 0.05)
    area = per_pixel(area_sub) * SUB * SUB
    contrast = fields["wet_c"] - fields["dry_c"]
    framed = scene.camera.inside(grid.points.reshape(-1, 3)).reshape(contrast.shape)
    in_view = framed & (mirror["cos"] > 0.08)
    square = framed & (mirror["cos"] > 0.25)  # the peak is taken where a camera could honestly read it
    face = facing_phi(scene)
    for k, patch in enumerate(patches, 1):
        mine = owner == k - 1
        candidates = np.where(mine & square, contrast, 0.0)
        peak = float(candidates.flat[np.abs(candidates).argmax()])
        zone = outline & ~hidden & (owner_px == k - 1) & (added / peak >= 0.5) if peak else np.zeros_like(outline)
        zones[zone] = k
        whole = mine & in_view & (contrast / peak >= 0.5) if peak else np.zeros_like(mine)
        records.append(zone_record(scene, grid, fields, patch, k, peak, zone, whole, area, place, added, face))
        touching = np.unique(things[binary_dilation(zone, iterations=2)])
        records[-1]["touches_things"] = [int(i) for i in touching if i]
        records[-1]["placed_near"] = patch.near
    return outline, hidden, zones, things, records


def facing_phi(scene):
    """phi of the line on the jacket that faces the camera: in the plane through axis and camera."""
    q = scene.camera.position - scene.body.start
    return float(np.arctan2(q @ scene.body.plus, q @ scene.body.face))


def owners(grid, patches):
    """Which patch a cell belongs to: the one whose centre is nearest in units of its size; -1 far from all."""
    reach = []
    for p in patches:
        along = (grid.s[:, None] - p.s) / p.half_s
        arc = grid.rho[:, None] * (grid.phi[None, :] - p.phi) / p.half_arc
        reach.append(np.hypot(along, arc))
    reach = np.array(reach)
    best = reach.argmin(axis=0).astype(np.int16)
    best[reach.min(axis=0) > 4.0] = -1
    return best


def _axial(scene, s):
    """Distance along the axis from the datum tangent line, m."""
    u = scene.body.meridian(np.atleast_1d(s))[1]
    return scene.body.length - u if scene.cond["datum_right"] else u


def zone_record(scene, grid, fields, patch, k, peak, zone, whole, area, place, added, face):
    local = effective_ratio(layer_conductivity(patch.wetness, patch, LAYERS))
    record = {"zone": k, "peak_contrast_k": peak, "visible_pixels": int(zone.sum()),
              "centre_angle_deg": float(np.degrees(patch.phi - face)),
              "centre_axial_m": float(_axial(scene, patch.s)[0]), "ratio_peak": float(patch.ratio)}
    if whole.any():
        weight = grid.area[whole]
        phi, s = np.meshgrid(grid.phi, grid.s)
        flux = lambda name, t: np.average(  # noqa: E731 - apparent conductance from the surface inwards
            fields[name][whole] / (fields[t][whole] - scene.cond["service"]), weights=weight)
        record.update({
            "whole_area_m2": float(weight.sum()), "ratio": float(np.average(local[whole], weights=weight)),
            "ratio_by_flux": float(flux("wet_flux", "wet_c") / flux("dry_flux", "dry_c")),
            "whole_axial_m": float(np.average(_axial(scene, s[whole]), weights=weight)),
            "whole_angle_deg": float(np.degrees(np.average(phi[whole], weights=weight) - face)),
            "whole_mean_contrast_k": float(np.average((fields["wet_c"] - fields["dry_c"])[whole], weights=weight)),
            "surface_c": float(np.average(fields["wet_c"][whole], weights=weight)),
            "sound_surface_c": float(np.average(fields["dry_c"][whole], weights=weight)),
            "condensing": bool(fields["condensing"][whole].mean() > 0.5),
            "extra_heat_gain_w": float(-((fields["wet_flux"] - fields["dry_flux"])[whole] * weight).sum()),
        })
    if zone.any():
        weight = area[zone]
        record.update({
            "mean_contrast_k": float(added[zone].mean()), "area_m2": float(weight.sum()),
            "axial_m": float(np.average(_axial(scene, place["s"][zone]), weights=weight)),
            "angle_deg": float(np.degrees(np.average(place["phi"][zone], weights=weight) - face)),
            "angle_level_deg": float(np.degrees(np.average(place["phi"][zone], weights=weight))),
        })
        ys, xs = np.nonzero(zone)
        record["centroid_px"] = [float(xs.mean()), float(ys.mean())]
    else:
        record.update({"mean_contrast_k": None, "area_m2": 0.0, "axial_m": None, "angle_deg": None})
    record["visible_share"] = float(min(1.0, record["area_m2"] / max(record.get("whole_area_m2", 0.0), 1e-9)))
    return record


def thing_map(scene, cast, grid, fields, mirror, marks):
    """Label of the clutter a pixel shows. Solids win over features of the jacket (bands, reflections, ...)."""
    lookup = np.zeros(len(scene.solids) + 1, np.uint8)
    for i, solid in enumerate(scene.solids):
        lookup[i] = solid.thing
    sub = lookup[cast.which]  # -1 reads the last, empty place: sky
    on = per_pixel(sub > 0) >= 0.5
    out = np.where(on, per_pixel(sub, "max"), 0).astype(np.uint8)
    feature = np.zeros(cast.which.shape, np.uint8)
    labels = grid_features(scene, grid, fields, mirror)
    values = grid.nearest(labels, marks["where"])
    if scene.seams:
        values = np.where(marks["seam"], scene.seams["thing"].id, values)
    if scene.bands:
        values = np.where(marks["band"], scene.bands["thing"].id, values)
    feature.flat[marks["index"]] = values
    px = np.where(per_pixel(feature > 0) >= 0.5, per_pixel(feature, "max"), 0)
    return np.where(out > 0, out, px).astype(np.uint8)


def grid_features(scene, grid, fields, mirror):
    """Labels on the jacket of what is no object: where its effect is at least half of its strongest."""
    labels = np.zeros(grid.area.shape, np.uint8)
    if scene.sun:
        q = fields["q_sun"]
        labels[(q > 0) & (q >= 0.5 * q.max())] = scene.sun["thing"].id
    for thing in scene.things:
        if thing.kind == "cold-sky-reflection":
            up = np.where(mirror["cos"] > 0.05, mirror["up"], 0.0)
            labels[up > 0.3] = thing.id
    air = scene.cond["air"]
    slope = band_radiance(air + 0.5) - band_radiance(air - 0.5)
    for thing, share in mirror["shares"]:
        # Below a noise width or so an image in the jacket is not worth a label.
        if share.max() * (1 - scene.cond["emissivity"]) > 0.05 * slope:
            labels[share >= 0.5 * share.max()] = thing.id
    if scene.level:
        labels[np.abs(grid.points[..., 2] - scene.level["z"]) < 0.05] = scene.level["thing"].id
    return labels
