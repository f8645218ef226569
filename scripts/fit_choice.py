#!/usr/bin/env python3
"""Fits the weights by which an outline is chosen, and says how well they choose on draws left out of the fit.

A conditional logit: among the contenders of a frame each is taken with probability softmax(terms · weights), and the weights
are those that lose least in likeness (intersection over union with the vessel) over all frames,

    loss = Σ_frames Σ_contenders p · [(1 − likeness) + 0.3·ramp(0.96 − likeness) + ramp(0.93 − likeness)] + ridge

where ramp(x) = x / 0.06, cut to 0..1: an outline off by half a vessel is hardly worse than one off by a quarter. Only the order
of the scores counts; the weights are printed at the scale of the source, in which thresholds of the score are stated.

usage:    python3 scripts/fit_choice.py FOLDER...     each with a contenders.csv of `validate --only contenders`
needs:    numpy, scipy
exit:     0; 2 a table is missing or of another form
"""
import csv
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

# Ridge on the weights of terms scaled to unit spread, against a loss in per cent: it keeps them from growing without bound.
RIDGE = 0.02
# Weights in the source over weights of the fit.
SCALE = 0.5
# Likeness below which an outline is wrong.
WRONG = 0.90
# Parts of the draws that are left out in turn.
PARTS = 5


class Frame:
    """The contenders of one frame: terms (contenders × terms) and likeness (contenders)."""

    def __init__(self, name, rows):
        self.kind = "crowded" if name.startswith("c") else "plain"
        values = np.array(rows, dtype=float)
        self.terms, self.likeness = values[:, :-1], values[:, -1]


def read(folder):
    """Names of the terms, and the frames of a draw."""
    path = Path(folder) / "contenders.csv"
    try:
        with open(path, newline="") as sheet:
            head, *rows = csv.reader(sheet)
    except (OSError, ValueError) as problem:
        print(f"{path}: {problem}", file=sys.stderr)
        sys.exit(2)
    if head[0] != "frame" or head[-1] != "likeness":
        print(f"{path}: not a table of contenders", file=sys.stderr)
        sys.exit(2)
    frames = {}
    for name, *values in rows:
        frames.setdefault(name, []).append(values)
    return head[1:-1], [Frame(name, values) for name, values in frames.items()]


def loss(likeness):
    ramp = lambda below: np.clip((below - likeness) / 0.06, 0, 1)
    return (1 - likeness) + 0.3 * ramp(0.96) + ramp(0.93)


def fit(frames):
    """Weights of the terms."""
    terms = np.vstack([frame.terms for frame in frames])
    losses = np.concatenate([loss(frame.likeness) for frame in frames])
    counts = np.array([len(frame.likeness) for frame in frames])
    starts = np.r_[0, np.cumsum(counts)[:-1]]
    owner = np.repeat(np.arange(len(frames)), counts)
    spread = terms.std(axis=0) + 1e-9
    scaled = terms / spread

    def objective(weights):
        score = scaled @ weights
        power = np.exp(score - np.maximum.reduceat(score, starts)[owner])
        share = power / np.add.reduceat(power, starts)[owner]
        expected = np.add.reduceat(share * losses, starts)
        slope = scaled.T @ (share * (losses - expected[owner]))
        per_cent = 100 / len(frames)
        return expected.sum() * per_cent + RIDGE * weights @ weights, slope * per_cent + 2 * RIDGE * weights

    found = minimize(objective, np.zeros(scaled.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 400})
    return found.x / spread


def wrong(frames, weights):
    """Frames whose best contender is wrong, and all."""
    taken = np.array([frame.likeness[np.argmax(frame.terms @ weights)] for frame in frames])
    return f"{int((taken < WRONG).sum())} of {len(frames)}"


def main():
    draws = [read(folder) for folder in sys.argv[1:]]
    if not draws:
        print(__doc__, file=sys.stderr)
        sys.exit(2)
    names = draws[0][0]
    frames = [frame for _, some in draws for frame in some]
    weights = fit(frames)
    for name, weight in zip(names, weights):
        print(f"{name:22} {SCALE * weight:6.2f}")
    of = lambda some, kind: [frame for frame in some if frame.kind == kind]
    for kind in ("plain", "crowded"):
        print(f"wrong among {kind}, fitted to them: {wrong(of(frames, kind), weights)}")
    if len(draws) < 2:
        return
    for part in range(min(PARTS, len(draws))):
        out = [frame for index, (_, some) in enumerate(draws) if index % PARTS == part for frame in some]
        rest = [frame for index, (_, some) in enumerate(draws) if index % PARTS != part for frame in some]
        theirs = fit(rest)
        print(f"left out, part {part}: " + ", ".join(f"{kind} {wrong(of(out, kind), theirs)}" for kind in ("plain", "crowded")))


if __name__ == "__main__":
    main()
