"""What stands round every vessel: supports, nozzles, pipes crossing in front, and the backdrop."""
import numpy as np

from geometry import Box, Cylinder, Plane, constant


def blotch(rng, amplitude, scale):
    """A smooth unevenness over world points, K: a few plane waves in random directions."""
    waves = rng.normal(size=(5, 3)) / scale
    phase = rng.uniform(0, 2 * np.pi, 5)
    weight = amplitude / np.sqrt(5) * rng.uniform(0.5, 1.5, 5)
    return lambda p: np.cos(p @ waves.T + phase) @ weight


def cold_paint(scene, place, cold, reach, rng, base=None):
    """Steel that is `cold` K below the air at `place` and warms with a decay length `reach`, m (fin law)."""
    place = np.asarray(place, float)
    rough = blotch(rng, 0.15 + 0.04 * cold, 0.08)
    air = scene.env.air_c

    def paint(local, world):
        away = np.linalg.norm(world - place, axis=1)
        return air(world[:, 2]) + (base or -0.3) - cold * np.exp(-away / reach) + rough(world)
    return paint


def disc_bridge(body, phi, s, radius, conductance):
    """Extra metal-to-jacket conductance, W/(m2 K), over a round place."""
    def bridge(grid):
        away = np.hypot(grid.s[:, None] - s, grid.rho[:, None] * (grid.phi[None, :] - phi))
        return conductance * np.clip((radius + 0.02 - away) / 0.02, 0.0, 1.0)
    return bridge


def supports(scene):
    """Saddles under a lying vessel; skirt or legs under a standing one."""
    rng, body, r = scene.rng, scene.body, scene.body.radius
    cold = float(rng.choice([rng.uniform(0.3, 2.0), rng.uniform(2.0, 12.0)]))
    if body.lying:
        width = rng.uniform(0.09, 0.16)
        for side in (-1, 1):
            x = side * rng.uniform(0.27, 0.33) * body.length
            top = body.start[2] - 0.53 * r
            t = scene.thing("saddle")
            paint = cold_paint(scene, (x, -0.85 * r, top), cold, 0.3, rng)
            scene.add(Box((x, 0, top / 2), (width, 0.85 * r, top / 2), paint, 0.93, t.id),
                      Box((x, 0, 0.06), (width * 1.6, 0.95 * r, 0.06), constant(scene.env.floor_c), 0.94, t.id))
            scene.anchor(t, [(x, -0.86 * r, top)])
            s, c = x + body.length / 2, 0.12 * cold

            def band(grid, s=s, c=c):
                near = (np.abs(grid.s - s) < width)[:, None] & (grid.phi > np.radians(36))[None, :]
                return c * near
            scene.bridges.append(band)
        return
    foot = body.start[2]
    if rng.random() < 0.5:
        t = scene.thing("skirt")
        paint = cold_paint(scene, (0, -r, foot + 0.1), cold, 0.45, rng)
        scene.add(Cylinder((0, 0, 0), (0, 0, foot - 0.02), 0.94 * r, paint, 0.9, t.id))
        return
    turn = rng.uniform(-0.6, 0.6)
    for i in range(4):
        t = scene.thing("leg")
        a = turn + np.pi / 4 + i * np.pi / 2
        x, y = (r + 0.05) * np.sin(a), -(r + 0.05) * np.cos(a)
        top = foot + rng.uniform(0.25, 0.5)
        paint = cold_paint(scene, (x, y, top), cold, 0.35, rng)
        scene.add(Box((x, y, top / 2), (0.06, 0.06, top / 2), paint, 0.9, t.id))
        scene.anchor(t, [(x, y, top)])


def frost_paint(scene, inner, outer, cold_c, rng):
    """Bare stub on the metal: near service temperature at the jacket, milder outwards, patchy with rime."""
    inner, way = np.asarray(inner, float), np.asarray(outer, float) - np.asarray(inner, float)
    length = np.linalg.norm(way)
    way = way / length
    rough = blotch(rng, 1.0, 0.03)
    rime = rng.uniform(1.0, 4.0)
    air = scene.env.mean_air_c

    def paint(local, world):
        x = np.clip((world - inner) @ way / length, 0, 1.5)
        skin = cold_c + (air - cold_c) * (0.25 + 0.30 * x)  # the film keeps a bare skin well above the metal
        return skin + np.where(rough(world) > 0.25, rime, 0.0) + 0.3 * rough(world)
    return paint


def nozzle(scene, phi, s, radius, reach, kind="nozzle"):
    """An uninsulated stub with a flange, square to the jacket, that also chills the jacket round its foot."""
    rng, body = scene.rng, scene.body
    a, _ = body.point(phi, s, -0.03)
    b, normal = body.point(phi, s, reach)
    paint = frost_paint(scene, a, b, scene.cond["service"], rng)
    t = scene.thing(kind, [(phi, s)])
    scene.add(Cylinder(a, b, radius, paint, 0.93, t.id),
              Cylinder(b - 0.05 * normal, b, radius * 1.75, paint, 0.93, t.id),
              Cylinder(b, b + 0.03 * normal, radius * 1.65, paint, 0.93, t.id))
    scene.bridges.append(disc_bridge(body, phi, s, radius * 1.3, rng.uniform(1.5, 5.0)))
    return t


def nozzles(scene, count):
    rng, body = scene.rng, scene.body
    for _ in range(count):
        # Along the top of a lying vessel mostly; anywhere round a standing one.
        phi = rng.normal(-1.45, 0.15) if body.lying and rng.random() < 0.7 else rng.uniform(-1.5, 1.5)
        s = rng.uniform(0.08, 0.92) * body.length
        nozzle(scene, phi, s, rng.uniform(0.03, 0.11), rng.uniform(0.08, 0.28))


def crossing_pipe(scene, kind="pipe"):
    """A pipe between camera and vessel: upright, level or oblique; insulated, at air temperature, cold or hot."""
    rng, body, r = scene.rng, scene.body, scene.body.radius
    air, y = scene.env.mean_air_c, -(r + rng.uniform(0.18, 0.7))
    state = str(rng.choice(["insulated", "ambient", "cold", "hot"], p=[0.4, 0.25, 0.2, 0.15]))
    radius = rng.uniform(0.06, 0.14) if state == "insulated" else rng.uniform(0.02, 0.07)
    mean = {"insulated": air + rng.uniform(-2.5, 0.0), "ambient": air + rng.uniform(-0.6, 0.6),
            "cold": air - rng.uniform(0.3, 0.7) * (air - scene.cond["service"]), "hot": air + rng.uniform(4, 25)}[state]
    rough = blotch(rng, 0.2 if state != "cold" else 1.0, 0.15)
    t = scene.thing(f"{kind}-{state}")
    lean = rng.normal(0, 0.25)
    low, high = body.start[2] - r, body.start[2] + (r if body.lying else body.length)
    if rng.random() < 0.6 or not body.lying and rng.random() < 0.3:  # upright
        x = rng.uniform(-0.42, 0.42) * (body.length if body.lying else 1.6 * r)
        knee = rng.uniform(low, high)
        points = [(x, y, -0.1), (x, y, knee), (x + lean, y, knee + 0.5), (x + lean, y, high + 3.0)]
        if rng.random() < 0.6:
            points = [points[0], (x, y, high + 3.0)]
    else:
        z = rng.uniform(low + 0.2 * (high - low), high)
        points = [(-9.0, y, z - lean), (9.0, y, z + lean)]
    scene.pipe(points, radius, lambda local, world: mean + rough(world), t)
    a, b = np.array(points[0], float), np.array(points[-1], float)
    scene.anchor(t, [a + f * (b - a) for f in np.linspace(0.02, 0.98, 40)])


def backdrop(scene):
    """Floor, walls of panels with joints and doors, ceiling; outdoors ground, a building, and open sky."""
    rng, env, body, cam = scene.rng, scene.env, scene.body, scene.camera
    r, air = body.radius, env.mean_air_c
    ground = blotch(rng, 0.25 if env.indoor else 0.8, 0.7)
    floor = Plane((0, 0, 0), (0, 0, 1), lambda local, world: env.floor_c + ground(world), 0.94)
    back = r + rng.uniform(0.35, 3.0) if env.indoor else r + rng.uniform(2.0, 9.0)
    pitch, phase = rng.uniform(0.9, 1.25), rng.uniform(0, 1)
    panel = rng.normal(0, 0.12, 400)
    joint_k, joint_m = rng.uniform(-0.5, 0.5), rng.uniform(0.008, 0.02)
    course, slope = rng.uniform(2.5, 4.5), rng.uniform(-0.1, 0.15)
    uneven = blotch(rng, 0.15, 0.9)

    def panels(local, world):
        x = world[:, 0] / pitch + phase + 100
        number = np.floor(x).astype(int)
        off = np.minimum(x - number, 1 - (x - number)) * pitch
        row = np.abs(np.mod(world[:, 2], course) - course / 2)
        joint = (off < joint_m) | (row < joint_m)
        rise = slope * (world[:, 2] - 2.0) + env.gradient * (world[:, 2] - env.height) * 0.7
        return scene.wall_c + panel[number % 400] + joint_k * joint + rise + uneven(world)
    scene.add(floor, mirrored=True)
    if env.indoor:
        top = max(body.start[2] + (r if body.lying else body.length + body.depth) + rng.uniform(0.8, 4.0),
                  cam.position[2] + 2.0)
        scene.add(Plane((0, back, 0), (0, -1, 0), panels), mirrored=True)
        scene.add(Plane((0, 0, top), (0, 0, -1), constant(env.ceiling_c), 0.92),
                  Plane((-rng.uniform(6, 12) - body.length / 2, 0, 0), (1, 0, 0), constant(air - 0.3)),
                  Plane((rng.uniform(6, 12) + body.length / 2, 0, 0), (-1, 0, 0), constant(air - 0.2)), mirrored=True)
        scene.mirrored.append(Plane((0, cam.position[1] - rng.uniform(0.8, 5.0), 0), (0, 1, 0), constant(air + 0.1)))
    elif rng.random() < 0.75:
        tall, wide = rng.uniform(3.0, 9.0), rng.uniform(3.0, 20.0)
        x = rng.uniform(-4, 4)
        scene.add(Box((x, back + 3.0, tall / 2), (wide, 3.0, tall / 2), panels), mirrored=True)
    if not env.indoor:
        scene.add(Box((0, 60.0, 3.0), (90.0, 1.0, rng.uniform(2.0, 6.0)), constant(air - 0.5)))  # trees far off
    if rng.random() < 0.5:  # a door or cabinet on the wall behind
        x, shade = rng.uniform(-4, 4), rng.uniform(-1.0, 1.0)
        scene.add(Box((x, back - 0.03, 1.05), (rng.uniform(0.4, 1.1), 0.03, 1.05),
                      lambda local, world: scene.wall_c + shade + 0.0 * world[:, 0]))
    far_things(scene, back)
    # The inspector, who stands at his own camera and shows faintly in a glossy jacket.
    body_c = air + rng.uniform(0.25, 0.6) * (33.0 - air)
    x, y, z = cam.position + [rng.uniform(-0.15, 0.15), -0.35, -0.55]
    figure = Cylinder((x, y, z - 0.9), (x, y, z + 0.6), 0.22, constant(body_c), 0.95)
    scene.emitters.insert(0, (figure, scene.thing("operator-reflection")))


def far_things(scene, back):
    """Pipe racks, posts and other vessels between the vessel and the wall."""
    rng, body, r = scene.rng, scene.body, scene.body.radius
    air = scene.env.mean_air_c
    room = back - r
    for _ in range(int(rng.integers(0, 4))):
        radius, z = rng.uniform(0.03, 0.12), rng.uniform(0.4, body.start[2] + 4.0)
        y = r + rng.uniform(0.15, 0.9) * room
        shade = rng.uniform(-1.0, 1.0)
        rough = blotch(rng, 0.15, 0.4)
        paint = (lambda shade, rough: lambda local, world: scene.wall_c + shade + rough(world))(shade, rough)
        if rng.random() < 0.6:
            scene.add(Cylinder((-12, y, z), (12, y, z + rng.normal(0, 0.2)), radius, paint))
        else:
            x = rng.uniform(-5, 5)
            scene.add(Box((x, y, 5), (radius, radius, 5), paint))
    if room > 1.2 and rng.random() < 0.6:
        size = rng.uniform(0.3, 0.42) * room
        y, shade = r + 0.5 * room, rng.uniform(-0.9, 0.9)
        paint = lambda local, world: scene.wall_c + shade - 0.3 * local[:, 1]  # noqa: E731
        x = rng.uniform(-4, 4)
        if rng.random() < 0.5:
            scene.add(Cylinder((x, y, 0.3), (x, y, rng.uniform(2, 6)), size, paint))
        else:
            z = size + rng.uniform(0.3, 2.0)
            scene.add(Cylinder((x, y, z), (x + rng.choice([-1, 1]) * rng.uniform(2, 5), y, z), size, paint))
    if rng.random() < 0.3:
        t = air + rng.uniform(1, 6)  # a warm cabinet
        scene.add(Box((rng.uniform(-4, 4), back - 0.25, 0.9), (0.35, 0.2, 0.9), constant(t)))
