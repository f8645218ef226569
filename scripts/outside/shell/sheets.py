"""The survey's sheets, wrong about the truth by what an inspector's instruments and records are wrong."""

import csv
import json
from pathlib import Path

import numpy as np
import tifffile

from .draw import half_width

TOML = """title = "Simulated survey ({kind}), seed {seed}: not a real plant"
plant = "Kettle Ness cold store (invented)"
date = "2024-10-17"
inspector = "simulator"

[site]
altitude_m = 40

[defaults]
temperature_scale = "celsius"
camera = "hand"
sun = "none"

[uncertainty]
air_temperature_k = 0.5
reflected_temperature_k = 1.0
emissivity = 0.02
service_temperature_k = 1.0
wind_pct = 25
relative_humidity_pct = 3
insulation_thickness_pct = 5
camera_accuracy_k = 2.0
conductivity_pct = 10

[cameras.hand]
band_um = [8.0, 14.0]
noise_k = 0.05
accuracy_k = 2.0
"""

ASSET_COLUMNS = ["asset", "shape", "outside_diameter_mm", "length_mm", "insulation", "insulation_thickness_mm",
                 "jacket", "emissivity", "service_temperature_c", "setting", "insulated_year"]
FRAME_COLUMNS = ["file", "asset", "temperature_scale", "air_temperature_c", "relative_humidity_pct", "wind_m_s",
                 "reflected_temperature_c", "distance_m", "sun", "facing_clock", "facing_bearing_deg", "datum_side",
                 "view_start_mm", "camera", "note"]


def rows(frame, rng):
    """(asset row, frame row) as written by somebody who measured with ordinary instruments."""
    a, w = frame.asset, frame.weather
    asset_row = {
        "asset": a.tag, "shape": frame.note["shape"], "outside_diameter_mm": round(a.diameter * 1000),
        "length_mm": round(a.length * 1000), "insulation": a.insulation,
        "insulation_thickness_mm": round(a.thickness * 1000 * (1 + half_width(rng, 0.05)), 1), "jacket": a.jacket,
        "emissivity": round(min(a.emissivity + half_width(rng, 0.02), 0.98), 3),
        "service_temperature_c": round(a.service_c + half_width(rng, 1.0), 1),
        "setting": "outdoor" if a.outdoor else "indoor", "insulated_year": a.year,
    }
    wind = w.wind + half_width(rng, max(0.25 * w.wind, 0.2))
    frame_row = {
        "file": f"images/{frame.name}.tif", "asset": a.tag, "temperature_scale": "celsius",
        "air_temperature_c": round(w.air_c + half_width(rng, 0.5), 1),
        "relative_humidity_pct": round(float(np.clip(100 * w.rh + half_width(rng, 3), 5, 99)), 0),
        "wind_m_s": round(max(wind, 0.0), 2),
        "reflected_temperature_c": round(frame.reflected_c + half_width(rng, 1.0), 1),
        "distance_m": round(frame.distance, 1), "sun": frame.sun,
        "facing_clock": "" if a.upright else (9 if frame.side == "right" else 3),
        "facing_bearing_deg": round(frame.bearing) if a.upright else "", "datum_side": frame.side,
        "view_start_mm": "" if frame.view_start is None else round(frame.view_start * 1000),
        "camera": "hand", "note": "simulated",
    }
    return asset_row, frame_row


def write_frame(out, frame):
    """Image and truth of one frame."""
    out = Path(out)
    tifffile.imwrite(out / "images" / f"{frame.name}.tif", frame.image, compression=None, metadata=None)
    np.savez_compressed(out / "truth" / f"{frame.name}.npz", **frame.maps)
    (out / "truth" / f"{frame.name}.json").write_text(json.dumps(frame.note, indent=1) + "\n")


def write_sheets(out, kind, seed, pairs):
    """survey.toml, assets.csv, frames.csv."""
    out = Path(out)
    (out / "survey.toml").write_text(TOML.format(kind=kind, seed=seed))
    for name, columns, k in (("assets.csv", ASSET_COLUMNS, 0), ("frames.csv", FRAME_COLUMNS, 1)):
        with open(out / name, "w", newline="") as f:
            writer = csv.DictWriter(f, columns)
            writer.writeheader()
            writer.writerows(p[k] for p in pairs)
