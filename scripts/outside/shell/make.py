"""Write a simulated survey: `python make.py KIND COUNT SEED OUT`, KIND `plain` or `crowded`.

OUT gets survey.toml, assets.csv, frames.csv, images/*.tif and truth/. The same arguments give the same files, and a
frame does not depend on how many others are made. `--jobs 2` uses two processes (never more).
"""

import argparse
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # one core a process; must stand before numpy is loaded

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np  # noqa: E402

from shell import frame, sheets  # noqa: E402


def one(task):
    """Make and write one frame; returns its two sheet rows."""
    out, kind, seed, number = task
    made = frame.make(seed, number, upright=number % 2 == 1, crowded=kind == "crowded")
    sheets.write_frame(out, made)
    return sheets.rows(made, np.random.default_rng([seed, number, 77]))


def main():
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("kind", choices=["plain", "crowded"])
    p.add_argument("count", type=int)
    p.add_argument("seed", type=int)
    p.add_argument("out", type=Path)
    p.add_argument("--jobs", type=int, default=1, choices=[1, 2])
    args = p.parse_args()
    if args.count < 1 or args.count > 899:
        p.error("COUNT from 1 to 899")
    for sub in ("images", "truth"):
        (args.out / sub).mkdir(parents=True, exist_ok=True)
    tasks = [(args.out, args.kind, args.seed, n) for n in range(args.count)]
    if args.jobs == 1:
        pairs = [one(t) for t in tasks]
    else:
        with ProcessPoolExecutor(args.jobs) as pool:
            pairs = list(pool.map(one, tasks))
    sheets.write_sheets(args.out, args.kind, args.seed, pairs)
    print(f"{args.count} {args.kind} frames of SIMULATED data in {args.out}")


if __name__ == "__main__":
    main()
