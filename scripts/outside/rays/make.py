"""Write a folder of SIMULATED thermal survey frames with the truth beside them.

    python make.py plain|crowded COUNT SEED OUT [--distortion K1] [--processes N]

Nothing here was measured: plant, tags and pictures are invented. The same arguments give the same files.
"""
import argparse
import csv
import json
import os

# One thread a process: the numbers then do not depend on the machine, and the machine is shared.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import multiprocessing as mp  # noqa: E402
import time  # noqa: E402
from pathlib import Path  # noqa: E402

import numpy as np  # noqa: E402
import tifffile  # noqa: E402

from frame import make_frame  # noqa: E402

PREFIX = {"horizontal-cylinder": "SURGE", "vertical-cylinder": "ACCUM"}

SURVEY = """\
# SIMULATED DATA: made by a ray caster to test software. No plant like this exists and nothing was measured.
title = "Simulated survey, {kind} scenes, seed {seed}"
plant = "Simulated plant at Nowhere Flats (invented)"
date = "2024-02-0{day}"
inspector = "simulator rays"

[site]
altitude_m = 120

[defaults]
camera = "sim"
temperature_scale = "celsius"

[cameras.sim]
band_um = [8.0, 14.0]
noise_k = 0.05
accuracy_k = 2.0
"""


def one(job):
    kind, seed, number, out, distortion = job
    started = time.perf_counter()
    frame = make_frame(np.random.default_rng([seed, number, kind == "crowded"]), kind == "crowded", distortion)
    name = f"frame_{number:03d}"
    asset = f"{PREFIX[frame['asset_row']['shape']]}-{100 + number}"
    picture, scale = frame["picture"], "celsius"
    if frame["counts"]:
        scale, picture = "centikelvin", np.clip(np.rint((picture + 273.15) * 100), 1, 65535).astype(np.uint16)
    else:
        picture = picture.astype(np.float32)
    out = Path(out)
    tifffile.imwrite(out / "images" / f"{name}.tif", picture, description="SIMULATED thermal picture, not measured",
                     metadata=None, compression="zlib" if number % 3 == 0 else None)
    np.savez_compressed(out / "truth" / f"{name}.npz", **frame["maps"])
    record = {"simulated": True, "file": f"images/{name}.tif", "asset": asset, **frame["record"]}
    (out / "truth" / f"{name}.json").write_text(json.dumps(record, indent=1))
    row = {"file": f"images/{name}.tif", "asset": asset, "temperature_scale": scale, **frame["frame_row"]}
    return {"asset": asset, **frame["asset_row"]}, row, time.perf_counter() - started


def write_sheet(path, rows):
    with open(path, "w", newline="") as f:
        writer = csv.DictWriter(f, list(dict.fromkeys(k for row in rows for k in row)), restval="")
        writer.writeheader()
        writer.writerows(rows)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("kind", choices=("plain", "crowded"))
    p.add_argument("count", type=int)
    p.add_argument("seed", type=int)
    p.add_argument("out", type=Path)
    p.add_argument("--distortion", type=float, default=0.0, help="radial term k1 of the lens, off by default")
    p.add_argument("--processes", type=int, default=2, choices=(1, 2))
    a = p.parse_args()
    for sub in ("images", "truth"):
        (a.out / sub).mkdir(parents=True, exist_ok=True)
    jobs = [(a.kind, a.seed, i, str(a.out), a.distortion) for i in range(1, a.count + 1)]
    if a.processes == 1 or a.count == 1:
        done = [one(j) for j in jobs]
    else:
        with mp.Pool(2) as pool:
            done = pool.map(one, jobs, chunksize=1)
    write_sheet(a.out / "assets.csv", [d[0] for d in done])
    write_sheet(a.out / "frames.csv", [d[1] for d in done])
    (a.out / "survey.toml").write_text(SURVEY.format(kind=a.kind, seed=a.seed, day=1 + a.seed % 9))
    print(f"SIMULATED data: {a.count} {a.kind} frames in {a.out}, {np.mean([d[2] for d in done]):.1f} s a frame")


if __name__ == "__main__":
    main()
