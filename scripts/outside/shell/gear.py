"""Instruments, ladders, plates, ports, bands: what is bolted to vessels and stands in the way of the view."""

import numpy as np

from .fixtures import UP, nozzle
from .stage import Bridge, Mark


def _frame_at(st, theta):
    """(outward, sideways) unit vectors square to the axis at an angle."""
    out = st.body.outward(theta)
    return out, np.cross(st.body.axis, out)


def level_column(st, bare):
    """A stand-pipe with two arms; bare ones are frosted up to the liquid in them and merely cold above."""
    rng, b, m = st.rng, st.body, st.body.meridian
    thing = st.thing("level-column-bare" if bare else "level-column-insulated")
    radius = rng.uniform(0.03, 0.05) if bare else rng.uniform(0.07, 0.11)
    gap = rng.uniform(0.12, 0.30) + radius
    if b.upright:
        low, high = st.visible_axial()
        theta = rng.choice([-1, 1]) * rng.uniform(0.9, 1.7) if rng.random() < 0.4 else st.spot(0.6)[0]
        span = rng.uniform(0.35, 0.7) * (high - low)
        z0 = rng.uniform(low, high - span)
        out = b.outward(theta)
        ends = [b.datum + z * b.axis + m.radius * out for z in sorted((z0, z0 + span), key=lambda q: q * b.axis[2])]
    else:
        z = st.spot(0.5)[1]
        out = np.array([0, -1.0, 0])
        tall = rng.uniform(0.5, 0.8) * m.radius
        flank = np.sqrt(m.radius**2 - tall**2)
        ends = [b.datum + z * b.axis + flank * out + h * UP for h in (-tall, tall)]
        gap += m.radius - flank
    bottom, top = (e + gap * out for e in ends)
    liquid = bottom[2] + rng.uniform(0.2, 0.8) * (top[2] - bottom[2])
    cold, cool = st.frosty, st.weather.air_c - rng.uniform(3, 9)
    if bare:
        temp = lambda p: cool + (cold - cool) / (1 + np.exp(np.clip((p[:, 2] - liquid) / 0.03, -40, 40)))
    else:
        temp = st.jacket_c + rng.normal(-0.2, 0.5)
    st.rod(bottom - 0.15 * UP, top + 0.15 * UP, radius, temp, thing, 0.95)
    for root, tip in zip(ends, (bottom, top)):
        st.rod(root - 0.03 * out, tip, 0.8 * radius, temp, thing, 0.95)
        _, z, s, _ = b.place(root[None, :])
        st.bridges.append(Bridge(thing, b.angle_of(root - b.datum - z[0] * b.axis), s[0], 0.8 * radius, rng.uniform(3, 9)))
        if bare:  # a stop valve in the arm
            q = 0.5 * (root + tip)
            st.block(q, [0.05, 0.05, 0.07], temp, thing, 0.95)


def sight_glasses(st):
    """One to three round glasses in bolted rings, one above the other."""
    rng, b, m = st.rng, st.body, st.body.meridian
    theta, z = st.spot(0.5)
    radius, cold = rng.uniform(0.03, 0.06), st.frosty
    for k in range(int(rng.integers(1, 4))):
        if b.upright:
            t, zz = theta, z + 0.35 * k
        else:
            t, zz = theta - 0.3 * k / m.radius, z
        if not 0.02 < zz < m.length - 0.02:
            continue
        thing = st.thing("sight-glass")
        out, _ = _frame_at(st, t)
        root = b.datum + zz * b.axis + m.radius * out
        proud = rng.uniform(0.02, 0.10)
        ring = 0.5 * cold + 0.5 * st.jacket_c
        st.rod(root - 0.03 * out, root + proud * out, radius + 0.03, ring, thing, 0.95)
        st.rod(root, root + (proud + 0.012) * out, radius, cold + rng.uniform(0, 3), thing, 0.88)
        st.bridges.append(Bridge(thing, t, zz, radius + 0.03, rng.uniform(4, 12)))


def nameplate(st):
    """A maker's plate on stand-off brackets, bare metal or painted."""
    rng, b, m = st.rng, st.body, st.body.meridian
    thing = st.thing("nameplate")
    theta, z = st.spot(0.35)
    out, side = _frame_at(st, theta)
    root = b.datum + z * b.axis + m.radius * out
    half = np.array([rng.uniform(0.08, 0.16), rng.uniform(0.05, 0.11), 0.004])
    off = rng.uniform(0.015, 0.06)
    st.block(root + off * out, half, st.weather.air_c - rng.uniform(0.2, 2.0), thing, rng.choice([0.25, 0.5, 0.9]),
             np.array([b.axis, side, out]))
    for sign in (-1, 1):
        foot = root + sign * 0.7 * half[0] * b.axis
        st.rod(foot - 0.02 * out, foot + off * out, 0.02, st.jacket_c - rng.uniform(0.2, 2.0), thing)
        st.bridges.append(Bridge(thing, theta, z + sign * 0.7 * half[0], 0.02, rng.uniform(1.5, 5)))


def inspection_ports(st):
    """Plugged ports for thickness readings, the plugs leaking a little cold; some of them badly seated."""
    rng, b, m = st.rng, st.body, st.body.meridian
    for _ in range(int(rng.integers(2, 5))):
        thing = st.thing("inspection-port")
        theta, z = st.spot(0.25)
        out, _ = _frame_at(st, theta)
        root = b.datum + z * b.axis + m.radius * out
        radius = rng.uniform(0.03, 0.055)
        st.rod(root - 0.03 * out, root + rng.uniform(0.006, 0.02) * out, radius,
               st.jacket_c - abs(rng.normal(0.5, 0.5)), thing, rng.choice([0.9, 0.94]))
        st.bridges.append(Bridge(thing, theta, z, radius, rng.uniform(1.3, 3.0)))


def frosted_stub(st):
    """A bare stub with a ball of frost on it, on the face that is seen."""
    rng, b, m = st.rng, st.body, st.body.meridian
    theta, z = st.spot(0.4)
    thing = nozzle(st, (theta, z), frosted=True, kind="frosted-stub")
    out, _ = _frame_at(st, theta)
    tip = b.datum + z * b.axis + (m.radius + rng.uniform(0.05, 0.25)) * out
    for _ in range(int(rng.integers(1, 4))):
        st.lump(tip + rng.normal(0, 0.04, 3), rng.uniform(0.06, 0.14, 3),
                rng.uniform(0.05, 0.35) * st.asset.service_c, thing)


def bands_and_seams(st):
    """Straps of dull stainless round the jacket, lapped sheets, one lap along the vessel."""
    rng, m = st.rng, st.body.meridian
    if rng.random() < 0.75:
        thing = st.thing("band")
        pitch, start, half = rng.uniform(0.3, 0.9), rng.uniform(0, 0.3), rng.choice([0.0065, 0.0095, 0.0125])
        st.marks.append(Mark(thing, lambda theta, z: (np.abs(np.mod(z - start + pitch / 2, pitch) - pitch / 2) < half)
                             & (z > 0.02) & (z < m.length - 0.02), rng.uniform(0.2, 0.6), 0.0, 0.4))
    thing = st.thing("seam")
    pitch, start, step = rng.uniform(0.9, 1.3), rng.uniform(0, 0.9), rng.normal(0.0, 0.12)
    st.marks.append(Mark(thing, lambda theta, z: (np.abs(np.mod(z - start + pitch / 2, pitch) - pitch / 2) < 0.015)
                         & (z > 0) & (z < m.length), None, step))
    at, step2 = rng.uniform(-1.2, 1.2), rng.normal(-0.05, 0.15)
    st.marks.append(Mark(thing, lambda theta, z: (np.abs(theta - at) * m.radius < 0.012) & (z > 0) & (z < m.length),
                         None, step2))


def ladder(st):
    """A fixed ladder standing off the jacket; on tall vessels with a cage from 2.3 m up."""
    rng, b, m = st.rng, st.body, st.body.meridian
    thing = st.thing("ladder")
    theta, z = st.spot(0.5)
    if b.upright:
        out = b.outward(float(np.clip(theta, -1.1, 1.1)))
        low_z, high_z = (b.datum + zz * b.axis for zz in (0.0, m.length))
        top = max(low_z[2], high_z[2]) + rng.uniform(-0.3, 1.0)
        foot = np.array([b.datum[0], b.datum[1], 0]) + (m.radius + 0.2) * out
    else:
        out = np.array([0, -1.0, 0])
        top = b.datum[2] + m.radius + rng.uniform(0.1, 1.0)
        foot = (b.datum + z * b.axis) * [1, 1, 0] + (m.radius + rng.uniform(0.1, 0.25)) * out
    side = np.cross(UP, out)
    temp, bar = st.ambient, rng.uniform(0.010, 0.014)
    rail = rng.uniform(0.018, 0.028)
    for sign in (-1, 1):
        st.rod(foot + sign * 0.21 * side, foot + sign * 0.21 * side + top * UP, rail, temp, thing, 0.9)
    for h in np.arange(0.25, top, 0.3):
        st.rod(foot - 0.21 * side + h * UP, foot + 0.21 * side + h * UP, bar, temp, thing, 0.9)
    for h in np.arange(0.8, top, 1.8):  # brackets to the shell
        if b.upright and min(low_z[2], high_z[2]) < h < max(low_z[2], high_z[2]):
            for sign in (-1, 1):
                q = foot + sign * 0.21 * side + h * UP
                st.rod(q, q - 0.25 * out, 0.02, temp - 1.0, thing, 0.9)
    if top > 2.9 and rng.random() < 0.7:
        _cage(st, foot, out, side, top, temp, thing)


def _cage(st, foot, out, side, top, temp, thing):
    angles = np.linspace(-np.pi / 2, np.pi / 2, 9)
    ring = [0.36 * np.sin(a) * side + (0.10 + 0.62 * np.cos(a)) * out for a in angles]
    heights = np.arange(2.3, top + 0.01, st.rng.uniform(0.7, 1.1))
    for h in heights:
        for p, q in zip(ring[:-1], ring[1:]):
            st.rod(foot + p + h * UP, foot + q + h * UP, 0.018, temp, thing, 0.9)
    for k in (1, 3, 4, 5, 7):
        st.rod(foot + ring[k] + heights[0] * UP, foot + ring[k] + heights[-1] * UP + 0.01 * UP, 0.014, temp, thing, 0.9)
