"""What makes a frame crowded: fittings in front of the jacket, marks on it, and light and air that are not even."""
import numpy as np

from geometry import Box, Cylinder, Ellipsoid, constant
from plant import blotch, crossing_pipe, disc_bridge, frost_paint, nozzle


def choose(rng, cond, sensor):
    """Three to seven kinds that fit the setting. Those that change the day or the camera take effect here."""
    kinds = ["level-column", "sight-glasses", "ladder", "more-pipes", "bands-and-seams", "nameplate", "ports",
             "frosted-stubs", "mirror-image", "strong-vignette", "guard-rail"]
    kinds += ["stratified-air"] if cond["indoor"] else ["sun-warmed", "cold-sky"]
    kinds += [] if cond["shape"] == "horizontal-cylinder" else ["liquid-level"]
    picked = [str(k) for k in rng.permutation(kinds)[: rng.integers(3, 8)]]
    if "sun-warmed" in picked and "cold-sky" in picked:
        picked.remove("cold-sky" if rng.random() < 0.5 else "sun-warmed")
        spare = [k for k in kinds if k not in picked and k not in ("sun-warmed", "cold-sky")]
        picked.append(str(rng.choice(spare)))
    if "sun-warmed" in picked:
        # An inspector writes "direct" where he casts a shadow; thin haze or bright cloud warms a jacket all the same.
        cond["beam"] = rng.uniform(20.0, 90.0)
        cond["sun"] = "direct" if cond["beam"] > 55.0 else "overcast"
    if "cold-sky" in picked:
        cond["sky_depression"], cond["sun"] = rng.uniform(18.0, 40.0), "none"
    if "stratified-air" in picked:
        cond["gradient"] = rng.uniform(0.25, 0.9)
    if "strong-vignette" in picked:
        sensor["vignette_k"] = rng.choice([-1, 1]) * rng.uniform(0.35, 0.9)
        sensor["column_k"] = rng.uniform(0.025, 0.07)
    return picked


def _paint(scene, mean_c, unevenness=0.2, scale=0.2):
    rough = blotch(scene.rng, unevenness, scale)
    return lambda local, world: mean_c + rough(world)


def _side(scene):
    """A place on the side towards the camera: (phi, s), away from the very ends."""
    q = scene.camera.position - scene.body.start
    face = np.arctan2(q @ scene.body.plus, q @ scene.body.face)
    return face + scene.rng.uniform(-0.95, 0.95), scene.rng.uniform(0.08, 0.92) * scene.body.length


def _column_line(scene, off):
    """Foot and head of an upright line beside the vessel, `off` metres clear of the jacket, and its two way-ins."""
    rng, body, r = scene.rng, scene.body, scene.body.radius
    if body.lying:
        x = rng.uniform(-0.4, 0.4) * body.length
        z = body.start[2] + r * np.array([-rng.uniform(0.5, 0.8), rng.uniform(0.5, 0.85)])
        line = np.array([[x, -(r + off), z[0]], [x, -(r + off), z[1]]])
        inner = [np.array([x, -np.sqrt(r * r - (zz - body.start[2]) ** 2) + 0.05, zz]) for zz in z]
    else:
        phi = rng.uniform(-1.2, 1.2)
        s = body.length * np.array([rng.uniform(0.08, 0.3), rng.uniform(0.6, 0.92)])
        line = np.array([body.point(phi, ss, off)[0] for ss in s])
        inner = [body.point(phi, ss, -0.05)[0] for ss in s]
    return line, inner


def level_column(scene):
    """An upright stand-pipe tied into the vessel above and below: bare and rimed, or lagged."""
    rng, cond = scene.rng, scene.cond
    bare = rng.random() < 0.5
    t = scene.thing("level-column-bare" if bare else "level-column-insulated")
    line, inner = _column_line(scene, rng.uniform(0.12, 0.35))
    air = scene.env.mean_air_c
    if bare:
        paint, radius = frost_paint(scene, line[0], line[1], cond["service"], rng), rng.uniform(0.03, 0.06)
    else:
        paint, radius = _paint(scene, air - rng.uniform(0.5, 3.5)), rng.uniform(0.09, 0.15)
    way = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
    scene.bar(line[0] - 0.15 * way, line[1] + 0.15 * way, radius, paint, t, 0.93)
    for place, foot in zip(line, inner):
        scene.bar(foot, place, radius * 0.7, paint, t, 0.93)
        phi, s = scene.body.to_surface(foot[None])
        scene.bridges.append(disc_bridge(scene.body, phi[0], s[0], radius * 0.8, rng.uniform(1.0, 4.0)))
    scene.anchor(t, line[0] + np.linspace(0, 1, 12)[:, None] * (line[1] - line[0]))


def sight_glasses(scene):
    """A stack of bull's-eye bodies on a small column, close to service temperature."""
    rng, cond = scene.rng, scene.cond
    t = scene.thing("sight-glass")
    line, inner = _column_line(scene, rng.uniform(0.10, 0.2))
    air = scene.env.mean_air_c
    cold = cond["service"] + rng.uniform(0.25, 0.6) * (air - cond["service"])
    paint = _paint(scene, cold, 0.8, 0.05)
    scene.bar(line[0], line[1], 0.02, paint, t)
    for place, foot in zip(line, inner):
        scene.bar(foot, place, 0.02, paint, t)
    n = int(rng.integers(2, 5))
    for f in np.linspace(0.12, 0.88, n):
        c = line[0] + f * (line[1] - line[0])
        scene.add(Box(c, (0.06, 0.05, rng.uniform(0.08, 0.14)), paint, 0.9, t.id),
                  Cylinder(c, c + [0, -0.07, 0], 0.04, constant(cold + rng.uniform(1, 4)), 0.85, t.id))
    scene.anchor(t, line[0] + np.linspace(0, 1, 8)[:, None] * (line[1] - line[0]))


def ladder(scene):
    """Two stringers and rungs up the camera's side; on tall vessels mostly with a safety cage."""
    rng, body, r = scene.rng, scene.body, scene.body.radius
    top = body.start[2] + (r + 0.9 if body.lying else body.length + 0.8)
    air = scene.env.mean_air_c
    steel = _paint(scene, air - rng.uniform(0.0, 0.9), 0.15, 0.5)
    shine = rng.choice([0.45, 0.85, 0.92])  # galvanised or painted
    t = scene.thing("ladder")
    if body.lying:
        turn, base = 0.0, np.array([rng.uniform(-0.4, 0.4) * body.length, -(r + 0.18), 0.0])
    else:
        turn = rng.uniform(-1.1, 1.1)
        base = np.array([(r + 0.18) * np.sin(turn), -(r + 0.18) * np.cos(turn), 0.0])
    out, across = np.array([np.sin(turn), -np.cos(turn), 0.0]), np.array([np.cos(turn), np.sin(turn), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    for side in (-0.21, 0.21):
        scene.bar(base + side * across, base + side * across + top * up, 0.025, steel, t, shine)
    for z in np.arange(0.3, top, 0.3):
        scene.bar(base - 0.21 * across + z * up, base + 0.21 * across + z * up, 0.011, steel, t, shine)
    if top > 3.2 and rng.random() < 0.75:
        cage = scene.thing("ladder-cage")
        ring = [(-0.21, 0.0), (-0.36, 0.2), (-0.36, 0.48), (-0.2, 0.70), (0.2, 0.70), (0.36, 0.48), (0.36, 0.2),
                (0.21, 0.0)]
        for z in np.arange(2.3, top, 0.9):
            spots = [base + a * across + b * out + z * up for a, b in ring]
            for p, q in zip(spots, spots[1:]):
                scene.bar(p, q, 0.016, steel, cage, shine)
        for a, b in ring[1:-1]:
            p = base + a * across + b * out
            scene.bar(p + 2.3 * up, p + top * up, 0.012, steel, cage, shine)
    scene.anchor(t, [base + z * up for z in np.arange(0.3, top, 0.3)])


def more_pipes(scene):
    for _ in range(int(scene.rng.integers(1, 3))):
        crossing_pipe(scene, "pipe-in-front")


def guard_rail(scene):
    """The rail of the walkway the inspector looks across."""
    rng, r = scene.rng, scene.body.radius
    t = scene.thing("guard-rail")
    floor = max(0.0, scene.camera.position[2] - 1.5)
    y = -(r + rng.uniform(0.5, 0.9))
    steel = _paint(scene, scene.env.mean_air_c - rng.uniform(-0.3, 0.6), 0.1, 0.8)
    for z in (0.55, 1.05):
        scene.bar((-9, y, floor + z), (9, y, floor + z), 0.022, steel, t)
    for x in np.arange(-9 + rng.uniform(0, 1.5), 9, 1.5):
        scene.bar((x, y, floor), (x, y, floor + 1.05), 0.022, steel, t)
    scene.anchor(t, [(x, y, floor + 1.05) for x in np.linspace(-3, 3, 15)])


def bands_and_seams(scene):
    """Thin straps of brighter metal round the jacket, and the laps of its sheets."""
    rng, body = scene.rng, scene.body
    if rng.random() < 0.7:
        pitch = rng.uniform(0.45, 1.0)
        scene.bands = {"thing": scene.thing("jacket-bands"), "pitch": pitch, "start": rng.uniform(0, pitch),
                       "half_m": rng.uniform(0.008, 0.016), "emissivity": rng.uniform(0.25, 0.7)}
    if scene.bands is None or rng.random() < 0.6:
        scene.seams = {"thing": scene.thing("jacket-seams"), "pitch": rng.uniform(0.9, 1.25), "half_m": 0.012,
                       "start": rng.uniform(0, 1), "phi": rng.uniform(-0.9, 0.9),
                       "step_k": rng.choice([-1, 1]) * rng.uniform(0.12, 0.5)}
    feature = scene.bands or scene.seams
    for n in range(int(body.length / feature["pitch"])):
        feature["thing"].anchors.append((rng.uniform(-0.8, 0.8), feature["start"] + n * feature["pitch"]))


def nameplate(scene):
    """A plate held clear of the jacket by a bracket that reaches the metal."""
    rng, body, air = scene.rng, scene.body, scene.env.mean_air_c
    phi, s = _side(scene)
    off = rng.uniform(0.03, 0.08)
    centre, normal = body.point(phi, s, off)
    t = scene.thing("nameplate", [(phi, s)])
    along = body.axis - (body.axis @ normal) * normal
    along /= np.linalg.norm(along)
    turn = np.array([along, np.cross(normal, along), normal])
    plate = constant(air - rng.uniform(0.2, 0.25 * (air - scene.cond["service"])))
    w, h = rng.uniform(0.08, 0.15), rng.uniform(0.05, 0.1)
    scene.add(Box(centre, (w, h, 0.003), plate, rng.choice([0.3, 0.6, 0.9]), t.id, turn),
              Box(body.point(phi, s, off / 2)[0], (0.6 * w, 0.015, off / 2), plate, 0.9, t.id, turn))
    scene.bridges.append(disc_bridge(body, phi, s, 0.05, rng.uniform(0.3, 2.0)))


def ports(scene):
    """Plugged inspection ports: short discs on the jacket; a leaky plug is colder than the jacket beside it."""
    rng, body = scene.rng, scene.body
    t = scene.thing("inspection-port")
    for _ in range(int(rng.integers(1, 4))):
        phi, s = _side(scene)
        radius = rng.uniform(0.03, 0.075)
        a, b = body.point(phi, s, -0.02)[0], body.point(phi, s, rng.uniform(0.012, 0.04))[0]
        cold = rng.uniform(-0.3, 1.0) if rng.random() < 0.5 else rng.uniform(1.0, 6.0)
        scene.add(Cylinder(a, b, radius, constant(scene.env.mean_air_c - 1.5 - cold), 0.92, t.id))
        scene.bridges.append(disc_bridge(body, phi, s, radius, 0.25 * max(cold, 0.0)))
        t.anchors.append((phi, s))


def frosted_stubs(scene):
    """Bare stubs with rime, some close together, on the side towards the camera."""
    rng, body = scene.rng, scene.body
    for _ in range(int(rng.integers(1, 4))):
        phi, s = _side(scene)
        nozzle(scene, phi, s, rng.uniform(0.02, 0.06), rng.uniform(0.06, 0.2), "frosted-stub")
        if rng.random() < 0.4:
            nozzle(scene, phi, min(s + rng.uniform(0.2, 0.4), 0.97 * body.length), rng.uniform(0.015, 0.04),
                   rng.uniform(0.06, 0.15), "frosted-stub")


def sun_warmed(scene):
    """Hazy sun on the camera's side and from above: a few kelvin, not a spoilt frame."""
    rng = scene.rng
    high, bearing = np.radians(rng.uniform(20, 65)), rng.uniform(-np.pi, np.pi)
    towards = np.array([np.cos(high) * np.sin(bearing), -np.cos(high) * abs(np.cos(bearing)), np.sin(high)])
    scene.sun = {"thing": scene.thing("sun-warmed"), "towards": towards, "beam": scene.cond["beam"]}


def cold_sky(scene):
    """The sky itself was set clear in `choose`; this only names the strip of jacket that mirrors it."""
    scene.thing("cold-sky-reflection", [(-0.9, f * scene.body.length) for f in (0.2, 0.5, 0.8)]
                if scene.body.lying else [])


def mirror_image(scene):
    """A bystander behind the camera, or a hot lamp overhead, seen in the jacket."""
    rng, cam, air = scene.rng, scene.camera, scene.env.mean_air_c
    x, y, z = cam.position
    if rng.random() < 0.6 or not scene.env.indoor:
        t = scene.thing("person-reflection")
        skin = air + rng.uniform(0.4, 0.8) * (34.0 - air)
        px, py, ground = x + rng.choice([-1, 1]) * rng.uniform(0.5, 2.5), y + rng.uniform(-1.0, 1.2), z - 1.5
        body = Ellipsoid((px, py, ground + 0.9), np.eye(3), (0.25, 0.18, 0.92), constant(skin), 0.96)
        scene.emitters.append((body, t))
    else:
        t = scene.thing("lamp-reflection")
        lx, ly = x + rng.uniform(-3, 3), -scene.body.radius - rng.uniform(0.8, 3.0)
        top = scene.body.start[2] + (scene.body.radius if scene.body.lying else scene.body.length) + rng.uniform(0.4, 1)
        lamp = Box((lx, ly, max(top, z + 1.2)), (0.6, 0.12, 0.06), constant(rng.uniform(45.0, 95.0)), 0.9)
        scene.emitters.append((lamp, t))


def liquid_level(scene):
    """Above the liquid the metal is warmer: the gas there is superheated and its film is poor."""
    rng, body = scene.rng, scene.body
    z = body.start[2] + rng.uniform(0.2, 0.75) * body.length
    scene.level = {"thing": scene.thing("liquid-level"), "z": z, "step_k": rng.uniform(3.0, 14.0)}
    scene.level["thing"].anchors += [(p, z - body.start[2]) for p in (-0.7, 0.0, 0.7)]


def nothing_more(scene):
    """Kinds that only change the air or the camera; `choose` has already done so."""


ADD = {
    "level-column": level_column, "sight-glasses": sight_glasses, "ladder": ladder, "more-pipes": more_pipes,
    "guard-rail": guard_rail, "bands-and-seams": bands_and_seams, "nameplate": nameplate, "ports": ports,
    "frosted-stubs": frosted_stubs, "sun-warmed": sun_warmed, "cold-sky": cold_sky, "mirror-image": mirror_image,
    "liquid-level": liquid_level, "stratified-air": nothing_more, "strong-vignette": nothing_more,
}
