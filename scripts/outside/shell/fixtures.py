"""What every vessel has: supports, nozzles with flanges, a few pipes passing in front."""

import numpy as np

from .stage import Bridge

UP = np.array([0, 0, 1.0])


def supports(st):
    """Saddles under level vessels; a skirt or legs under upright ones."""
    if st.body.upright:
        (_skirt if st.rng.random() < 0.45 else _legs)(st)
    else:
        _saddles(st)


def _saddles(st):
    b, m, rng = st.body, st.body.meridian, st.rng
    axis_height = b.datum[2]
    wrap = np.radians(rng.uniform(50, 60))
    top = axis_height - m.radius * np.cos(wrap)
    half = rng.uniform(0.08, 0.16)
    for f in (0.2 + rng.normal(0, 0.02), 0.8 + rng.normal(0, 0.02)):
        thing = st.thing("saddle")
        centre = b.datum + f * m.length * b.axis
        ambient, chill = st.ambient, rng.uniform(0.5, 4.0)

        def temp(p, ambient=ambient, chill=chill):
            return ambient - chill * np.exp(-(top - p[:, 2]) / 0.15)

        # the saddle's plate lies on the jacket; its web stands below
        st.block([centre[0], 0, top / 2], [half, m.radius * np.sin(wrap) * 0.99, top / 2], temp, thing)
        st.bridges.append(Bridge(thing, b.angle_of(-UP), f * m.length, half, rng.uniform(1.4, 3.0), wrap))


def _low_end(st):
    """(z of the lower tangent line, world point there)."""
    b = st.body
    z = 0.0 if b.axis[2] > 0 else b.meridian.length
    return z, b.datum + z * b.axis


def _skirt(st):
    rng, m = st.rng, st.body.meridian
    z, p = _low_end(st)
    thing = st.thing("skirt")
    ambient, chill, fade = st.ambient, rng.uniform(1.0, 6.0), rng.uniform(0.1, 0.3)
    top = p[2] - rng.uniform(0.0, 0.04)
    st.rod([p[0], p[1], 0], [p[0], p[1], top], m.radius - 0.6 * st.asset.thickness,
           lambda q: ambient - chill * np.exp(-(top - q[:, 2]) / fade), thing)


def _legs(st):
    rng, b, m = st.rng, st.body, st.body.meridian
    z, p = _low_end(st)
    count, start = int(rng.integers(3, 5)), rng.uniform(0, 2 * np.pi)
    radius, lap = rng.uniform(0.04, 0.08), rng.uniform(0.1, 0.3)
    sign = 1.0 if b.axis[2] > 0 else -1.0
    for k in range(count):
        a = start + 2 * np.pi * k / count
        out = np.array([np.cos(a), np.sin(a), 0])
        foot = p * [1, 1, 0] + (m.radius - 0.3 * radius) * out
        thing = st.thing("leg")
        ambient, chill, top = st.ambient, rng.uniform(1, 7), p[2] + lap
        st.rod(foot, foot + top * UP, radius,
               lambda q, t=ambient, c=chill, h=top: t - c * np.exp(-(h - q[:, 2]) / 0.2), thing)
        st.bridges.append(Bridge(thing, b.angle_of(out), z + sign * lap / 2, radius, rng.uniform(2, 7)))


def nozzles(st, count):
    """Nozzles on the crown, the flank and the heads; flange bare and frosted, or insulated and merely cold."""
    for _ in range(count):
        nozzle(st)


def nozzle(st, place=None, frosted=None, kind="nozzle"):
    """One nozzle at `place` (theta, z) or drawn; returns its thing id."""
    rng, b, m = st.rng, st.body, st.body.meridian
    radius = float(rng.choice([0.03, 0.045, 0.06, 0.085, 0.11]))
    low, high = st.visible_axial()
    if place is None and rng.random() < 0.2:  # in the middle of a head
        z = rng.choice([-m.depth, m.length + m.depth])
        root, out = b.datum + z * b.axis, np.sign(z) * b.axis
    else:
        if place is None:
            if b.upright:
                place = (rng.uniform(-1.5, 1.5), rng.uniform(low, high))
            else:
                crown = b.angle_of(UP)
                place = (crown + rng.normal(0, 0.2) if rng.random() < 0.65 else rng.uniform(-0.9, 0.9),
                         rng.uniform(0.06, 0.94) * m.length)
        out = b.outward(place[0])
        root = b.datum + place[1] * b.axis + m.radius * out
    thing = st.thing(kind)
    bare = rng.random() < 0.6 if frosted is None else frosted
    reach = rng.uniform(0.12, 0.35)
    collar = radius + rng.uniform(0.03, 0.06)
    cold = st.frosty if bare else st.jacket_c - rng.uniform(0.5, 3.0)
    chill = st.jacket_c - rng.uniform(0.3, 2.0)
    if place is not None:
        st.bridges.append(Bridge(thing, place[0], place[1], radius + rng.uniform(0.0, 0.025), rng.uniform(5, 14)))
    start = root - 0.05 * out
    st.rod(start, root + 0.55 * reach * out, collar, chill, thing)
    st.rod(root + 0.5 * reach * out, root + reach * out, radius, cold, thing, 0.96 if bare else 0.93)
    st.rod(root + (reach - 0.03) * out, root + (reach + 0.03) * out, radius * rng.uniform(1.6, 2.1),
           cold + rng.uniform(0, 2), thing, 0.95)
    if rng.random() < 0.5 and out[2] > -0.5:
        warm = st.jacket_c + rng.normal(-0.3, 0.6)
        # a pipe that comes towards the camera soon turns up or down, one that rises or leaves sideways may run on
        run = rng.uniform(0.15, 0.3) if out @ b.facing > 0.4 else rng.uniform(0.5, 2.5)
        end = root + (reach + run) * out
        st.rod(root + (reach + 0.03) * out, end, collar, warm, thing)
        if out @ b.facing > 0.4:
            st.lump(end, [1.25 * collar] * 3, warm, thing, 0.93)
            st.rod(end, end + rng.choice([-1, 1]) * rng.uniform(0.3, 3.0) * UP, collar, warm, thing)
    return thing


def pipes(st, count):
    """Pipes crossing the view between camera and vessel: bare at ambient, insulated and cool, frosted, or a warm one."""
    for _ in range(count):
        pipe(st)


def pipe(st):
    rng, b, m = st.rng, st.body, st.body.meridian
    thing = st.thing("pipe")
    radius = rng.uniform(0.02, 0.09)
    kind = rng.choice(["bare", "insulated", "frosted", "warm"], p=[0.4, 0.4, 0.12, 0.08])
    temp = {"bare": st.ambient, "insulated": st.jacket_c + rng.normal(0, 0.5), "frosted": st.frosty,
            "warm": st.weather.air_c + rng.uniform(4, 25)}[kind]
    theta, z = st.spot(0.4)
    target = b.datum + z * b.axis + m.radius * b.outward(theta)
    stand = rng.uniform(0.12, min(0.9, 0.3 * (b.standoff - m.radius)))
    front = -(m.radius + radius + stand)  # world Y of the pipe's plane
    # the place on the pipe's plane that hides the target
    ray = target - st.camera.position
    f = (front - st.camera.position[1]) / ray[1]
    hit = st.camera.position + f * ray
    rising = rng.random() < (0.35 if b.upright else 0.7)
    lean = rng.normal(0, 0.01, 2)
    direction = np.array([lean[0], lean[1], 1.0]) if rising else np.array([1.0, lean[0], lean[1]])
    if rising:
        a, c = hit - hit[2] * direction, hit + (rng.uniform(0.5, 6)) * direction
    else:
        a, c = hit - rng.uniform(1, 7) * direction, hit + rng.uniform(1, 7) * direction
    st.rod(a, c, radius, temp, thing, 0.95 if kind == "frosted" else 0.92)
    if rng.random() < 0.3:  # a valve or a coupling on it
        q = a + rng.uniform(0.2, 0.8) * (c - a)
        unit = direction / np.linalg.norm(direction)
        st.rod(q - 0.09 * unit, q + 0.09 * unit, radius * 1.8, temp + rng.normal(0, 0.6), thing)
    return thing
