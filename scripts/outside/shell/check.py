"""Checks of the simulator itself: `python check.py`. Takes some seconds; prints one line a check, exit 1 on failure."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np  # noqa: E402

from shell import air, frame, radiance  # noqa: E402
from shell.body import Body  # noqa: E402
from shell.conduction import Grid, Problem  # noqa: E402
from shell.meridian import Meridian  # noqa: E402

FAILED = []


def say(name, value, low, high):
    good = low <= value <= high
    print(f"{'ok  ' if good else 'FAIL'} {name}: {value:.5g} (wanted {low:g} to {high:g})")
    if not good:
        FAILED.append(name)


def plain_shell():
    """A uniform cylinder with a fixed film against the textbook series of resistances."""
    m, thick, k, h = Meridian(0.8, 4.0, "torispherical"), 0.12, 0.03, 7.0
    g = Grid(m, thick, 0.03)
    film = lambda t: (h * (20 - t), np.full_like(t, h))
    p = Problem(g, lambda t: k + 0 * t, np.ones(g.shape), np.ones(7), -35.0, 1e6, 0.03, film)
    t = p.solve(tolerance_k=1e-5)
    mid = t[-1][g.theta.size // 3, g.s.size // 2]
    r = 0.8 * np.log(0.8 / 0.68) / k
    say("jacket of a uniform cylinder minus exact [K]", float(mid - (20 - 55 * (1 / h) / (1 / h + r))), -0.01, 0.01)
    say("heat balance, in minus out [relative]", _imbalance(p, g, t, h), -0.002, 0.002)


def _imbalance(p, g, t, h):
    into = float((g.area * h * (20 - t[-1])).sum())
    out = float((p._g_in * (t[0] + 35.0)).sum())
    return (into - out) / into


def sheet_fin():
    """A jacket of high conductance smooths a step of conductivity over the length sqrt(sheet / h)."""
    m = Meridian(1.0, 4.0, "ellipsoidal")
    g = Grid(m, 0.08, 0.02)
    film = lambda t: (8.0 * (20 - t), np.full_like(t, 8.0))
    step = np.where(g.s > 2.0, 3.0, 1.0)[None, :] * np.ones(g.shape)
    width = []
    for sheet in (1e-5, 0.2):
        p = Problem(g, lambda c: 0.025 + 0 * c, step, np.ones(7), -30.0, 1e6, sheet, film)
        t = p.solve(tolerance_k=1e-5)[-1][g.theta.size // 3]
        lo, hi = t[g.s < 0.7].max(), t[(g.s > 3.0) & (g.s < 3.4)].mean()
        frac = (t - lo) / (hi - lo)
        mid = (g.s > 1.0) & (g.s < 3.0)
        width.append(np.interp(0.9, frac[mid], g.s[mid]) - np.interp(0.1, frac[mid], g.s[mid]))
    # exponential tails of length L: 10 % to 90 % lie 2 L ln 5 apart
    say("smoothing by the sheet, 10-90 % [m]", float(width[1]), 0.4, 2 * np.sqrt(0.2 / 8) * np.log(5) * 1.25)
    say("smoothing without a sheet, 10-90 % [m]", float(width[0]), 0.01, 0.16)


def figures():
    """Dished heads: ray hits lie on the profile, normals stand square to it."""
    for head in ("ellipsoidal", "torispherical"):
        m = Meridian(1.0, 3.0, head)
        eye = np.array([-1.0, -6.0, 1.4])
        b = Body(m, [-1.5, 0, 1.5], [1.0, 0, 0], eye, False)
        rng = np.random.default_rng(1)
        target = np.c_[rng.uniform(-2.2, 2.2, 4000), rng.uniform(-1, 1, 4000), rng.uniform(0.5, 2.5, 4000)]
        d = (target - eye) / np.linalg.norm(target - eye, axis=1)[:, None]
        t = b.hit(eye, d)
        ok = np.isfinite(t)
        p = eye + t[ok, None] * d[ok]
        theta, z, s, n = b.place(p)
        rho = np.linalg.norm((p - b.datum) - z[:, None] * b.axis, axis=1)
        off = np.hypot(rho - m.radius_at(s), z - m.axial_at(s))
        say(f"{head}: hits off the profile, worst [m]", float(off.max()), 0, 2e-3)
        least = float(-np.einsum("ij,ij->i", n, d[ok]).max())
        say(f"{head}: visible normals face the camera, least cosine", least, -0.02, 1)


def numbers():
    """Values that any textbook has."""
    k, nu, rho = air.properties(20.0)
    say("air conductivity at 20 degC [W/mK]", k, 0.0252, 0.0260)
    say("air viscosity at 20 degC [m2/s]", nu, 1.48e-5, 1.54e-5)
    say("dew point at 20 degC, 50 % [degC]", float(air.dew_point(20.0, 0.5)), 9.1, 9.4)
    share = float(radiance.band(27.0) * np.pi / (5.670374e-8 * 300.15**4))
    say("share of black-body radiation at 27 degC within 8-14 um", share, 0.36, 0.39)
    say("emissivity at 75 deg over normal", float(radiance.emissivity_at(np.cos(np.radians(75)), 1.0)), 0.75, 0.82)


def whole_frame():
    """Same seed, same frame; truth's place of a zone agrees with where its pixels are; contrast is in the image."""
    first, second = frame.make(4, 2, False, False), frame.make(4, 2, False, False)
    say("same seed, pixels that differ", float((first.image != second.image).sum()), 0, 0)
    for n in range(0, 12):
        f = frame.make(4, n, n % 2 == 1, False)
        for row in f.note["zones"]:
            zone = f.maps["zones"] == row["zone"]
            if row["visible_pixels"] > 250 and row["area_m2"] > 0.1:
                grown = _ring(zone, f.maps)
                seen = float(np.median(f.image[zone]) - np.median(f.image[grown]))
                name = f"frame {n} zone {row['zone']}: contrast seen over mean contrast"
                say(name, seen / row["mean_contrast_k"], 0.6, 1.35)
                return


def _ring(zone, maps):
    from scipy.ndimage import binary_dilation

    free = maps["outline"] & ~maps["hidden"] & (maps["things"] == 0) & (maps["zones"] == 0)
    return binary_dilation(zone, iterations=16) & ~binary_dilation(zone, iterations=9) & free


if __name__ == "__main__":
    for check in (plain_shell, sheet_fin, figures, numbers, whole_frame):
        check()
    sys.exit(1 if FAILED else 0)
