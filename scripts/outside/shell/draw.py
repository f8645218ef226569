"""Random plant: what vessel, in what air, seen by what camera, and how wrong the sheets are about it."""

from dataclasses import dataclass

import numpy as np

from .body import Body
from .materials import INSULATION, JACKETS, dry_conductivity
from .meridian import Meridian
from .optics import Camera

SIZES = ((320, 240), (320, 240), (384, 288), (464, 348), (640, 480), (640, 512))
THICKNESSES = (0.050, 0.060, 0.075, 0.080, 0.100, 0.120, 0.150)


@dataclass
class Asset:
    """A vessel as it is. Lengths in m, `service_c` degC, `factor` scales the tabulated dry conductivity."""

    tag: str
    upright: bool
    diameter: float
    length: float
    head: str
    insulation: str
    thickness: float
    factor: float
    jacket: str
    emissivity: float
    sheet: float
    gloss: float
    service_c: float
    outdoor: bool
    year: int


@dataclass
class Weather:
    """Air [degC] at 1.5 m, humidity 0..1, wind [m/s] over the jacket, absorbed-sun strength [W/m2]."""

    air_c: float
    rh: float
    wind: float
    sun_w_m2: float = 0.0
    lapse_k_per_m: float = 0.0
    clear_sky: bool = False


def _pick(rng, table):
    keys = list(table)
    share = np.array([table[k].share for k in keys])
    return keys[rng.choice(len(keys), p=share / share.sum())]


def half_width(rng, width):
    """An error with the given 95 % half-width."""
    return rng.normal(0.0, width / 1.96)


def asset(rng, number, upright):
    outdoor = bool(rng.random() < 0.35)
    insulation, jacket = _pick(rng, INSULATION), _pick(rng, JACKETS)
    service = float(rng.uniform(-40, -5))
    if insulation == "elastomeric":
        service = max(service, -28.0)  # sheets of it are not built up beyond about 80 mm
    flux = rng.uniform(8, 17)  # what designers allow, W/m2, from memory
    ideal = dry_conductivity(insulation, -5.0) * (24 - service) / flux
    thickness = min(THICKNESSES, key=lambda t: abs(t - ideal))
    if insulation == "elastomeric":
        thickness = min(thickness, 0.080)
    sheet_low, sheet_high = JACKETS[jacket].sheet
    diameter = float(round(rng.uniform(1.0, 2.4), 2))
    low, high = (2.0, 6.0) if upright else (2.0, 7.0)
    return Asset(
        tag=f"{'SEP' if upright else 'REC'}-{number:03d}", upright=upright, diameter=diameter,
        length=float(round(rng.uniform(max(low, 1.3 * diameter), high), 2)),
        head=str(rng.choice(["ellipsoidal", "torispherical"])), insulation=insulation, thickness=thickness,
        factor=1 + half_width(rng, 0.10), jacket=jacket,
        emissivity=float(np.clip(JACKETS[jacket].emissivity + rng.normal(0, 0.012), 0.86, 0.97)),
        sheet=float(np.exp(rng.uniform(np.log(sheet_low), np.log(sheet_high)))),
        gloss=JACKETS[jacket].gloss * rng.uniform(0.7, 1.3), service_c=service, outdoor=outdoor,
        year=int(rng.integers(1985, 2019)),
    )


def weather(rng, outdoor):
    air_c = float(rng.uniform(5, 35))
    if outdoor:
        return Weather(air_c, float(rng.uniform(0.35, 0.85)), float(rng.gamma(2.0, 0.6) + 0.2))
    return Weather(air_c, float(rng.uniform(0.35, 0.80)), float(rng.uniform(0.05, 0.5)))


def stand(rng, a):
    """The vessel in its place and a camera in front of it: (body, camera, datum side, partly seen?, distance m).

    Draws standing places and lenses until the vessel fits the picture (or, one time in seven, is cut off across its
    axis but shows both flanks).
    """
    partial = bool(rng.random() < 0.15)
    meridian = Meridian(a.diameter / 2, a.length, a.head)
    width, height = SIZES[rng.integers(len(SIZES))]
    flip = bool(rng.random() < (0.12 if a.upright else 0.4))
    clearance = rng.uniform(0.5, 1.1) if a.upright else rng.uniform(0.35, 1.1)
    for attempt in range(4000):
        partial = partial or attempt > 2500  # a vessel too tall for every lens is shown in part
        distance, eye = rng.uniform(3, 9), rng.uniform(1.2, 1.8)
        hfov = rng.choice([24.0, 34.0, 45.0, 50.0, 57.0]) + rng.uniform(-1, 1)
        r = meridian.radius
        if a.upright:
            base = meridian.depth + clearance
            low = np.array([0, 0, base + (a.length if flip else 0)])
            axis = np.array([0, 0, -1.0 if flip else 1.0])
            position = np.array([rng.normal(0, 0.25), -(distance + r), eye])
            centre = np.array([0, 0, base + a.length / 2])
        else:
            low = np.array([(a.length if flip else -a.length) / 2 * 1.0, 0, r + clearance])
            axis = np.array([-1.0 if flip else 1.0, 0, 0])
            position = np.array([rng.normal(0, 0.12 * a.length), -(distance + r), eye])
            centre = np.array([0, 0, r + clearance])
        shift = rng.uniform(0.25, 0.55) * a.length * rng.choice([-1, 1]) if partial else rng.normal(0, 0.03 * a.length)
        aim = centre + shift * np.abs(axis)
        if partial and not a.upright:
            position[0] += 0.8 * shift  # one walks along a level vessel
        elif not a.upright:
            aim[2] += rng.normal(0, 0.1)
        camera = Camera(position, aim, rng.normal(0, 0.9), hfov, width, height, rng.uniform(-0.02, 0.10))
        body = Body(meridian, low, axis, position, a.upright)
        if body.standoff < r + 2.7 or np.degrees(np.arcsin(abs(camera.axes[2][2]))) > 22:
            continue
        if _fits(body, camera, partial):
            break
    else:
        raise RuntimeError(f"no standing place found for {a}")
    side = ("top" if flip else "bottom") if a.upright else ("right" if flip else "left")
    return body, camera, side, partial, float(body.standoff - meridian.radius)


def _fits(body, camera, partial):
    rim = body.rim()
    if np.any(camera.to_plane(rim)[2] < 0.3):
        return False
    x, y = camera.pixel(rim)
    along, across, n_along, n_across = (y, x, camera.height, camera.width) if body.upright else (
        x, y, camera.width, camera.height)
    margin = 0.02
    whole = along.min() > margin * n_along and along.max() < (1 - margin) * n_along
    flanks = across.min() > margin * n_across and across.max() < (1 - margin) * n_across
    if not partial:
        return bool(whole and flanks and (np.ptp(along) > 0.6 * n_along or np.ptp(across) > 0.6 * n_across))
    if whole or not flanks or np.ptp(across) < 0.3 * n_across:
        return False
    ends = body.datum + np.outer([0, body.meridian.length], body.axis)
    e = camera.pixel(ends)[1 if body.upright else 0]
    seen = np.ptp(np.clip(e, 0, n_along)) / np.ptp(e)
    return bool(0.4 < seen < 0.88)


def view_start(body, camera, side):
    """Distance [m] along the axis from the datum tangent line to where the axis meets the picture's datum-side edge."""
    z = np.linspace(-6, body.meridian.length + 6, 4001)
    points = body.datum + z[:, None] * body.axis
    ok = camera.to_plane(points)[2] > 0.2
    x, y = camera.pixel(points[ok])
    edge, pos = {"left": (-0.5, x), "right": (camera.width - 0.5, x),
                 "bottom": (camera.height - 0.5, y), "top": (-0.5, y)}[side]
    cross = np.flatnonzero(np.diff(np.sign(pos - edge)) != 0)
    zz = z[ok]
    nearest = cross[np.argmin(np.abs(zz[cross] - body.meridian.length / 2))]
    f = (edge - pos[nearest]) / (pos[nearest + 1] - pos[nearest])
    return float(zz[nearest] + f * (zz[nearest + 1] - zz[nearest]))
