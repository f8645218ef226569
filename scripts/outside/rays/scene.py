"""A scene: conditions, vessel, camera, surroundings, and the list of clutter things with their solids."""
from dataclasses import dataclass, field

import numpy as np

from body import Body
from camera import Camera
from geometry import Cylinder, pipe_run
from physics import DRY_CONDUCTIVITY, JACKETS, KELVIN, band_radiance, sky_temperature_c

PICTURES = ((320, 240), (320, 240), (384, 288), (464, 348), (640, 480), (640, 512))


@dataclass
class Thing:
    """One piece of clutter: solids in front of the jacket, or a feature of the jacket itself."""
    id: int
    kind: str
    anchors: list = field(default_factory=list)  # (phi, s) places on the jacket where it is seen


class Environment:
    """Air and everything the jacket exchanges radiation with, as far as it has one temperature a direction."""

    def __init__(self, indoor, air_c, gradient, height, floor_c, ceiling_c, sky_depression):
        # The air is measured at the vessel's mid-height and warms by `gradient` K a metre upwards.
        self.indoor, self.mean_air_c, self.gradient, self.height = indoor, air_c, gradient, height
        self.floor_c, self.ceiling_c, self.sky_depression = floor_c, ceiling_c, sky_depression
        # A wall beside the vessel sees floor and walls below, ceiling (or sky) and walls above. Overhead sky, weighed
        # by the cosine law, is 0.8 of the way to its zenith value for a square-root law.
        if indoor:
            up, down = 0.5 * (ceiling_c + self.air_c(self.height + 2.0)), 0.6 * floor_c + 0.4 * air_c
        else:
            up, down = sky_temperature_c(air_c, sky_depression, 0.64), floor_c
        self.up_k, self.down_k = up + KELVIN, down + KELVIN

    def air_c(self, z):
        return self.mean_air_c + self.gradient * (np.asarray(z, float) - self.height)

    def exchange_k(self, normal_z):
        """Radiant temperature a surface of this tilt exchanges with, K."""
        share = 0.5 * (1.0 + normal_z)
        return (share * self.up_k**4 + (1.0 - share) * self.down_k**4) ** 0.25

    def diffuse_radiance(self, normal_z):
        """Band radiance falling on a surface of this tilt, averaged over its hemisphere, W/(m2 sr)."""
        share = 0.5 * (1.0 + normal_z)
        return share * band_radiance(self.up_k - KELVIN) + (1 - share) * band_radiance(self.down_k - KELVIN)

    def sky_radiance(self, direction_z):
        if self.indoor:  # rays that escape a hall through its far end meet something at air temperature
            return np.full(np.shape(direction_z), band_radiance(self.mean_air_c))
        return band_radiance(sky_temperature_c(self.mean_air_c, self.sky_depression, direction_z))


class Scene:
    def __init__(self, rng, cond, body, camera, env):
        self.rng, self.cond, self.body, self.camera, self.env = rng, cond, body, camera, env
        self.solids = list(body.solids())
        self.body_solids = len(self.solids)
        self.mirrored = []  # solids the jacket may show as a mirror image
        self.emitters = []  # (solid, thing) of persons and lamps, behind the camera
        self.things = []
        self.bridges = []  # (function of grid -> extra W/(m2 K))
        self.bands = None
        self.seams = None
        self.level = None
        self.sun = None
        self.wall_c = env.mean_air_c

    def thing(self, kind, anchors=()):
        t = Thing(len(self.things) + 1, kind, list(anchors))
        self.things.append(t)
        return t

    def add(self, *solids, mirrored=False):
        self.solids += solids
        if mirrored:
            self.mirrored += solids

    def pipe(self, points, radius, paint, thing, emissivity=0.92):
        self.add(*pipe_run(points, radius, paint, emissivity, thing.id))

    def bar(self, a, b, radius, paint, thing, emissivity=0.88):
        self.add(Cylinder(a, b, radius, paint, emissivity, thing.id))

    def behind(self, point):
        """(phi, s) of the jacket that the camera would see at this point, or None."""
        d = np.asarray(point, float) - self.camera.position
        d = (d / np.linalg.norm(d))[None, :]
        best = min(s.hit(self.camera.position, d)[0] for s in self.solids[: self.body_solids])
        if not np.isfinite(best):
            return None
        phi, s = self.body.to_surface(self.camera.position + best * d)
        return float(phi[0]), float(s[0])

    def anchor(self, thing, points):
        for p in points:
            place = self.behind(p)
            if place is not None:
                thing.anchors.append(place)


def bell(rng, half_width, low=None):
    """A normal error whose 95 % half-width is given, cut at 2.5 sigma."""
    value = float(np.clip(rng.normal(), -2.5, 2.5)) * half_width / 1.96
    return value if low is None else max(value, low)


def draw_conditions(rng, crowded):
    """True state of the day and of the vessel; temperatures in degC, lengths in m."""
    indoor = rng.random() < 0.6
    lying = rng.random() < 0.5
    jacket = str(rng.choice(list(JACKETS), p=[0.5, 0.25, 0.25]))
    eps, gloss, sheet, alpha = JACKETS[jacket]
    material = str(rng.choice(list(DRY_CONDUCTIVITY)))
    stated = rng.random() < 0.5
    tabulated = DRY_CONDUCTIVITY[material]
    nominal_mm = int(rng.choice([50, 60, 75, 80, 100, 100, 120, 125, 150]))
    diameter = round(rng.uniform(1.0, 2.4), 2)
    return {
        "indoor": indoor, "shape": "horizontal-cylinder" if lying else "vertical-cylinder",
        "diameter": diameter, "length": round(rng.uniform(2.0, 7.0), 1),
        "head": str(rng.choice(["ellipsoidal", "torispherical"])),
        "jacket": jacket, "emissivity": rng.uniform(*eps), "gloss": rng.uniform(*gloss),
        "sheet_wk": rng.uniform(*sheet), "solar_absorptance": rng.uniform(*alpha),
        "insulation": material, "conductivity_stated": stated,
        "conductivity": round(tabulated * rng.uniform(0.95, 1.1), 4) if stated
        else tabulated * (1.0 + bell(rng, 0.10)),
        "thickness_nominal_mm": nominal_mm, "thickness": nominal_mm / 1000 * (1.0 + bell(rng, 0.05)),
        "air": rng.uniform(5.0, 35.0), "service": rng.uniform(-40.0, -5.0),
        "rh": rng.uniform(30, 75) if indoor else rng.uniform(35, 85),
        "wind": rng.uniform(0.0, 0.3) if indoor else rng.uniform(0.4, 4.0),
        "wind_phi": rng.uniform(-np.pi, np.pi), "sun": "none" if indoor else str(rng.choice(["none", "overcast"])),
        "gradient": rng.uniform(0.0, 0.08), "partial": rng.random() < 0.15,
        "datum_right": lying and rng.random() < 0.35, "bearing": int(rng.integers(0, 360)),
        "sky_depression": rng.uniform(1.0, 8.0), "crowded": crowded,
    }


def draw_sensor(rng, crowded):
    return {
        "blur_px": rng.uniform(0.6, 1.2), "offset_k": bell(rng, 2.0), "noise_k": 0.05,
        "column_k": rng.uniform(0.004, 0.015), "vignette_k": rng.uniform(-0.15, 0.15), "dead": int(rng.integers(0, 11)),
        "centre_px": rng.uniform(-8, 8, 2), "sideways": False,
    }


def draw_body(rng, cond):
    r = cond["diameter"] / 2
    height = r + rng.uniform(0.45, 1.3) if cond["shape"] == "horizontal-cylinder" else r / 2 + rng.uniform(0.2, 0.9)
    return Body(cond["shape"], cond["diameter"], cond["length"], cond["head"], height)


def draw_camera(rng, cond, body, sensor, distortion=0.0):
    """A camera a person can hold: 1.2-1.8 m above the floor or, for a tall vessel, above a landing.

    The lens is picked as the inspector would pick it: the whole vessel with some margin, or for a partial frame
    about two thirds of it.
    """
    width, height = PICTURES[rng.integers(len(PICTURES))]
    whole = body.length + 2 * body.depth
    upright = not body.lying and whole / cond["diameter"] > 1.7 and rng.random() < 0.85
    if upright:
        width, height = height, width
        sensor["sideways"] = True
    r = body.radius
    seen = whole * (rng.uniform(0.5, 0.8) if cond["partial"] else 1.0)
    # Far enough that an ordinary lens takes it in, near enough to stay within the room.
    wanted = max(seen / (2 * np.tan(np.radians(rng.uniform(19, 27)))), 2.2 * r + 1.2)
    distance = float(np.clip(wanted, 3.0, 9.0 - r)) + r
    shift = rng.uniform(0.25, 0.45) * (whole - seen) * rng.choice([-1, 1]) if cond["partial"] else 0.0
    eye = rng.uniform(1.2, 1.8)
    if body.lying:
        x0, z = rng.uniform(-0.07, 0.07) * body.length, eye
    else:
        # Stand on the floor or on the landing from which the part of interest is about level.
        middle = body.start[2] + body.length / 2 + shift
        x0, z = 0.0, eye + max(0.0, 1.2 * round((middle - eye - 0.3) / 1.2))
    if body.lying and cond["partial"]:
        x0 += shift
    target = body.start + body.axis * (body.length / 2 + shift)
    jitter = 0.03 * seen if cond["partial"] else 0.02 * seen
    target = target + rng.uniform(-jitter, jitter, 3) * [1, 0, 1]
    position = np.array([x0, -distance, z])
    roll = rng.normal(0, 1.2)
    span = 2 * np.degrees(np.arctan(seen / 2 / (distance - 0.2 * r)))
    along = width if body.lying else height
    # Degrees across the picture's width so that the length of interest fills most of its own direction.
    half = np.tan(np.radians(span / 2)) * width / along / rng.uniform(0.78, 0.97)
    across = height if body.lying else width
    need = np.tan(np.arctan(r * 1.08 / np.sqrt(distance**2 - r**2))) * width / across / 0.9
    hfov = 2 * np.degrees(np.arctan(max(half, need)))
    for _ in range(30):
        camera = Camera(position, target, roll, hfov, width, height, distortion)
        if cond["partial"] or hfov > 74 or np.all(camera.inside(body.silhouette_points(), 3.0)):
            break
        hfov *= 1.03
    return camera


def visible_span(scene):
    """Where along s the axis is in the picture: array of s values, m."""
    s = np.linspace(0.0, scene.body.length, 200)
    middle = scene.body.start + s[:, None] * scene.body.axis
    return s[scene.camera.inside(middle, 6.0)]


def view_start_m(scene):
    """Distance from the datum tangent line to the picture's datum-side edge, at the depth of the axis, m.

    None where both ends of the vessel with their heads are in the picture.
    """
    body, cam = scene.body, scene.camera
    if np.all(cam.inside(body.silhouette_points(), -0.5)):
        return None
    u = np.linspace(-3.0, body.length + 3.0, 4001)
    xy, z = cam.project(body.start + u[:, None] * body.axis)
    if not body.lying:
        inside, edge = -xy[:, 1], -(cam.height - 0.5)
    elif scene.cond["datum_right"]:
        inside, edge, u = xy[::-1, 0] * -1, -(cam.width - 0.5), body.length - u[::-1]
    else:
        inside, edge = xy[:, 0], -0.5
    return float(np.interp(edge, inside, u))
