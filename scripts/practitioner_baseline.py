#!/usr/bin/env python3
"""A plain image-processing script for the same job, kept as a yardstick of speed and accuracy.

What a competent person would write in an afternoon with OpenCV and scikit-image: threshold the vessel from its background,
fit a rectangle, scale it by the known diameter, take a running baseline along the vessel, threshold what stands out,
put each spot through a one-line heat balance. It is meant to be judged fairly, so nothing in it is slowed or weakened.
It reads a survey folder (survey.toml, assets.csv, frames.csv, images/) and writes findings.json in the shape the main
program writes, and one annotated PNG a frame.

usage:    python3 scripts/practitioner_baseline.py FOLDER --out DIR [--no-pictures] [--timing]
needs:    pip install numpy opencv-python-headless scikit-image tifffile     (Python 3.11 or newer)
handles:  horizontal and vertical cylinders and flats; TIFF, PNG, CSV; scales centikelvin, decikelvin, kelvin, celsius,
          fahrenheit, linear. Metric columns only, except that a missing number takes the default below.
exit:     0 every frame read, 1 at least one was not, 2 the folder could not be read
"""
import argparse
import csv
import hashlib
import json
import math
import sys
import time
import tomllib
from pathlib import Path

import cv2
import numpy as np
import tifffile
from skimage.filters import threshold_multiotsu
from skimage.measure import label, regionprops

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
DRY_CONDUCTIVITY_W_MK = {
    "pir": 0.0235, "pur": 0.0235, "xps": 0.026, "eps": 0.0355, "phenolic": 0.019, "cellular-glass": 0.048,
    "mineral-wool": 0.0375, "elastomeric": 0.040, "cork": 0.0425,
}
EMISSIVITY = {
    "pvc": 0.90, "mastic": 0.90, "painted-metal": 0.90, "weathered-aluminium": 0.20, "bright-aluminium": 0.10,
    "stainless": 0.20, "galvanised": 0.28,
}
LEAST_CONTRAST_K = 0.5
CONTRAST_TO_NOISE = 4.0
BLUR_SIGMA_PX = 1.5
WORST_MISFIT = 0.6


def number(row, key, default=None):
    """The number in a sheet's cell, or the default where it is blank."""
    text = (row.get(key) or "").strip()
    return float(text) if text else default


def read_sheets(folder):
    """The survey's settings, its assets by tag, and its frames with the defaults filled in."""
    survey = tomllib.loads((folder / "survey.toml").read_text())
    with open(folder / "assets.csv", newline="") as sheet:
        assets = {row["asset"]: row for row in csv.DictReader(sheet)}
    defaults = {key: str(value) for key, value in survey.get("defaults", {}).items()}
    with open(folder / "frames.csv", newline="") as sheet:
        frames = [{**row, **{k: v for k, v in defaults.items() if not row.get(k)}} for row in csv.DictReader(sheet)]
    return survey, assets, frames


def read_grid(path):
    """A text grid: comma, semicolon or tab between the numbers."""
    lines = path.read_text().strip().splitlines()
    separator = ";" if ";" in lines[0] else "\t" if "\t" in lines[0] else ","
    rows = [[cell.replace(",", ".") for cell in line.rstrip(separator).split(separator)] for line in lines]
    return np.array(rows, dtype=np.float32)


def read_apparent_c(path, frame):
    """The image as apparent temperatures in °C."""
    suffix = path.suffix.lower()
    if suffix in (".tif", ".tiff"):
        stored = tifffile.imread(path)
    elif suffix in (".csv", ".tsv", ".txt"):
        stored = read_grid(path)
    else:
        stored = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    if stored is None or stored.ndim != 2:
        raise ValueError("not a single-channel image")
    stored = stored.astype(np.float32)
    scale = frame["temperature_scale"]
    if scale == "linear":
        return stored * number(frame, "scale_gain_k") + number(frame, "scale_offset_c")
    forms = {
        "centikelvin": lambda v: v * 0.01 - 273.15, "decikelvin": lambda v: v * 0.1 - 273.15,
        "kelvin": lambda v: v - 273.15, "celsius": lambda v: v, "fahrenheit": lambda v: (v - 32) / 1.8,
    }
    return forms[scale](stored)


def correct_emissivity_c(apparent_c, emissivity, reflected_c):
    """Surface temperature by the fourth-power form of the measurement equation."""
    squared = np.square(apparent_c + np.float32(273.15))
    radiance = squared * squared - np.float32((1 - emissivity) * (reflected_c + 273.15) ** 4)
    return np.sqrt(np.sqrt(np.maximum(radiance / np.float32(emissivity), 1.0))) - np.float32(273.15)


def expected_aspect(asset):
    """Length over width of the figure the register describes."""
    if asset["shape"] == "flat":
        return number(asset, "length_mm") / number(asset, "height_mm")
    diameter_mm = number(asset, "outside_diameter_mm")
    return (number(asset, "length_mm") + 0.5 * diameter_mm) / diameter_mm


def blobs(mask):
    """The outer contours of a mask's connected parts, small ones tidied away."""
    tidy = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    tidy = cv2.morphologyEx(tidy, cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8))
    contours, _ = cv2.findContours(tidy, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    return [contour for contour in contours if cv2.contourArea(contour) > 0.02 * mask.size]


def misfit(contour, asset, whole, shape):
    """How unlike the registered figure a blob is: 0 is a perfect rectangle of the right proportions lying the right way."""
    (_, _), (width, height), angle_deg = rectangle = cv2.minAreaRect(contour)
    long_px, short_px = max(width, height), min(width, height)
    if short_px < 8:
        return rectangle, math.inf
    turned = abs(math.cos(math.radians(angle_deg if width >= height else angle_deg + 90)))
    wrong_way = (turned < 0.9) if asset["shape"] != "vertical-cylinder" else (turned > 0.43)
    cost = 1 - cv2.contourArea(contour) / (long_px * short_px) + (1.0 if wrong_way and whole else 0.0)
    if whole:
        x, y, w, h = cv2.boundingRect(contour)
        touches = (x <= 1) + (y <= 1) + (x + w >= shape[1] - 1) + (y + h >= shape[0] - 1)
        cost += abs(math.log(long_px / short_px / expected_aspect(asset))) + 0.4 * touches
    return rectangle, cost


def find_vessel(smooth_c, asset, whole):
    """The vessel's rotated rectangle ((centre), (long, short), angle) and mask, or None where nothing plausible is found."""
    # Cold stubs and warm pipes would stretch the grey scale; the vessel lies near the middle of it.
    low_c, high_c = np.percentile(smooth_c[::2, ::2], [4, 96])
    grey = np.clip((smooth_c - low_c) / max(high_c - low_c, 0.05) * 255, 0, 255).astype(np.uint8)
    border = np.concatenate([grey[0], grey[-1], grey[:, 0], grey[:, -1]])
    departure = cv2.absdiff(grey, np.full_like(grey, int(np.median(border))))
    middle, upper = threshold_multiotsu(grey[::2, ::2], classes=3, nbins=64)
    masks = [(grey > middle) & (grey <= upper), grey > upper, grey <= middle]
    masks = [mask.astype(np.uint8) * 255 for mask in masks]
    for image, flag in ((grey, cv2.THRESH_BINARY), (grey, cv2.THRESH_BINARY_INV), (departure, cv2.THRESH_BINARY)):
        masks.append(cv2.threshold(image, 0, 255, flag + cv2.THRESH_OTSU)[1])
    # Regions shut in by edges: the vessel's inside is one even where it is no warmer or colder than the wall.
    edges = cv2.morphologyEx(cv2.GaussianBlur(grey, (0, 0), 1.0), cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    for share in (75, 85, 92):
        masks.append((edges < np.percentile(edges[::2, ::2], share)).astype(np.uint8) * 255)
    best, best_cost = None, WORST_MISFIT
    for mask in masks:
        for contour in blobs(mask):
            rectangle, cost = misfit(contour, asset, whole, grey.shape)
            if cost < best_cost:
                best, best_cost = rectangle, cost
    if best is None:
        # Nothing has the registered proportions: the largest thing that differs from the wall is the next best guess.
        found = [contour for mask in masks[-6:-3] for contour in blobs(mask)]
        best = cv2.minAreaRect(max(found, key=cv2.contourArea)) if found else None
    if best is None or min(best[1]) < 8:
        return None
    # The fitted rectangle, not the ragged blob, is taken as the vessel: spots at its edge stay inside.
    mask = np.zeros(grey.shape, np.uint8)
    cv2.fillPoly(mask, [cv2.boxPoints(best).astype(np.int32)], 1)
    return best, mask.astype(bool)


def axes_of(rectangle, asset, frame):
    """Unit vectors along the vessel from its datum end and across it (down or right), and half sizes in pixels."""
    (_, _), (width, height), angle_deg = rectangle
    a = math.radians(angle_deg)
    u, v = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
    upright = asset["shape"] == "vertical-cylinder"
    lies_along_u = (abs(u[1]) > abs(u[0])) == upright
    along, across, half_long, half_short = (u, v, width / 2, height / 2) if lies_along_u else (v, u, height / 2, width / 2)
    side = frame.get("datum_side") or ("bottom" if upright else "left")
    forward = {"left": (1, 0), "right": (-1, 0), "bottom": (0, -1), "top": (0, 1)}[side]
    along = along if along @ np.array(forward) > 0 else -along
    outward = np.array((1, 0) if upright else (0, 1))
    across = across if across @ outward > 0 else -across
    return along, across, half_long, half_short


def place_pixels(shape, rectangle, asset, frame):
    """Axial distance from the datum tangent line in m and sine of the angle for every pixel, and the scale in px/m."""
    along, across, half_long, half_short = axes_of(rectangle, asset, frame)
    width_mm = number(asset, "outside_diameter_mm") or number(asset, "height_mm")
    pixels_per_metre = 2 * half_short / (width_mm / 1000)
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    dx, dy = x - rectangle[0][0], y - rectangle[0][1]
    axial_px = dx * along[0] + dy * along[1]
    length_m = number(asset, "length_mm") / 1000
    start_mm = number(frame, "view_start_mm")
    if start_mm is None:
        axial_m = axial_px / pixels_per_metre + length_m / 2
    else:
        axial_m = (axial_px + half_long) / pixels_per_metre + max(start_mm / 1000, -0.25 * width_mm / 1000)
    return axial_m, (dx * across[0] + dy * across[1]) / half_short, pixels_per_metre


def residual_of(smooth_c, inside, upright):
    """Departure from a baseline: the median of each line along the vessel, smoothed across it."""
    lines, wanted = (smooth_c.T, inside.T) if upright else (smooth_c, inside)
    # A sort with the outside at the far end is much quicker than a masked median.
    counts = wanted.sum(axis=1)
    ordered = np.sort(np.where(wanted, lines, np.inf), axis=1)
    medians = ordered[np.arange(len(counts)), np.maximum(counts - 1, 0) // 2]
    known = np.isfinite(medians)
    if known.sum() < 5:
        return np.zeros_like(smooth_c)
    filled = np.interp(np.arange(len(medians)), np.flatnonzero(known), medians[known])
    filled = cv2.GaussianBlur(filled.astype(np.float32).reshape(-1, 1), (1, 15), 3)
    baseline = np.broadcast_to(filled, lines.shape)
    baseline = baseline if not upright else baseline.T
    return np.where(inside, smooth_c - baseline, 0).astype(np.float32)


def heat_flux_w_m2(surface_c, conditions):
    """Film (1.6 ΔT^⅓ in still air, 4 v^0.6 added in wind, W/m²K) plus radiation."""
    difference_k = conditions["air_c"] - surface_c
    film_w_m2k = 1.6 * max(abs(difference_k), 0.05) ** (1 / 3) + 4 * conditions["wind_m_s"] ** 0.6 * (conditions["wind_m_s"] > 0.5)
    radiated = (conditions["reflected_c"] + 273.15) ** 4 - (surface_c + 273.15) ** 4
    return film_w_m2k * difference_k + conditions["emissivity"] * STEFAN_BOLTZMANN_W_M2K4 * radiated


def conductivity_w_mk(surface_c, asset, conditions):
    """Effective conductivity of the insulation under a patch of jacket, from its heat balance."""
    thickness_m = number(asset, "insulation_thickness_mm") / 1000
    radius_m = (number(asset, "outside_diameter_mm") or 1e9) / 2000
    path_m = radius_m * math.log(radius_m / (radius_m - thickness_m)) if radius_m < 1e5 else thickness_m
    drop_k = surface_c - conditions["service_c"]
    return heat_flux_w_m2(surface_c, conditions) * path_m / drop_k if drop_k > 1 else float("nan")


def dew_point_c(air_c, humidity_pct):
    """Magnus form."""
    x = math.log(humidity_pct / 100) + 17.62 * air_c / (243.12 + air_c)
    return 243.12 * x / (17.62 - x)


def outline_of(mask):
    """The longest outer contour of a mask as a list of points."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    return max(contours, key=len)[:, 0].tolist()


def find_zones(view, asset, frame, conditions):
    """Every spot that stands out of the baseline, as the records findings.json holds."""
    residual, inside, smooth_c = view["residual"], view["inside"], view["smooth_c"]
    threshold_k = max(LEAST_CONTRAST_K, CONTRAST_TO_NOISE * view["noise_k"])
    face = inside & (np.abs(view["sine"]) < 0.866)
    zones = []
    sound_c = view["sound_c"]
    k_sound = conductivity_w_mk(sound_c, asset, conditions)
    for region in regionprops(label(face & (residual < -threshold_k))):
        if region.area < 9 or min(region.bbox[2] - region.bbox[0], region.bbox[3] - region.bbox[1]) < 3:
            continue
        rows, columns = region.coords[:, 0], region.coords[:, 1]
        spot = np.zeros(residual.shape, bool)
        spot[rows, columns] = True
        contrast_k = float(residual[rows, columns].mean())
        surface_c = sound_c + contrast_k
        sine = np.clip(view["sine"][rows, columns], -0.99, 0.99)
        axial_m = view["axial_m"][rows, columns]
        scale = view["pixels_per_metre"]
        k_zone = conductivity_w_mk(surface_c, asset, conditions)
        ratio = k_zone / k_sound if k_sound and k_sound > 0 else float("nan")
        if not math.isfinite(ratio):
            ratio = 1.0
        touches_edge = bool((np.abs(sine) > 0.84).any())
        zones.append({
            "asset": asset["asset"], "departure": "colder", "extent": "local", "axial_m": float(axial_m.mean()),
            "angle_deg": float(np.degrees(np.arcsin(sine)).mean()), "length_m": float(np.ptp(axial_m)),
            "arc_m": float(np.ptp(np.arcsin(sine)) * number(asset, "outside_diameter_mm", 2000) / 2000),
            "area_m2": float((1 / np.sqrt(1 - sine**2)).sum() / scale**2), "surface_c": surface_c,
            "extreme_c": float(smooth_c[rows, columns].min()), "contrast_k": contrast_k,
            "contrast_to_noise": abs(contrast_k) / max(view["noise_k"], 1e-3), "uncertainty_k": 2.0,
            "conductivity_w_mk": k_zone, "conductivity_ratio": ratio,
            "conductivity_ratio_interval": [0.7 * ratio, 1.3 * ratio], "moisture_volume_fraction": None,
            "likely_cause": "undetermined" if touches_edge else "wet-insulation", "because": ["colder than its line"],
            "action": "open-and-inspect", "priority": float(np.clip(20 * abs(contrast_k), 0, 100)), "priority_parts": {},
            "heat_gain_w": heat_flux_w_m2(surface_c, conditions) * region.area / scale**2, "extra_heat_gain_w": 0.0,
            "below_dew_point": surface_c < view["dew_point_c"], "below_freezing": surface_c < 0,
            "sightings": [{
                "file": frame["file"], "centroid_px": [float(columns.mean()), float(rows.mean())],
                "box_px": [int(region.bbox[1]), int(region.bbox[0]), int(np.ptp(columns)) + 1, int(np.ptp(rows)) + 1],
                "outline_px": outline_of(spot), "pixels": int(region.area),
            }],
        })
    return zones


def draw(path, view, zones, frame):
    """The frame in a colour-vision-safe map, the outline, the zones numbered, and a strip of text."""
    picture = view["smooth_c"]
    low_c, high_c = np.percentile(picture, [1, 99])
    grey = np.clip((picture - low_c) / max(high_c - low_c, 0.1) * 255, 0, 255).astype(np.uint8)
    image = cv2.applyColorMap(cv2.resize(grey, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR), cv2.COLORMAP_CIVIDIS)
    if view.get("outline") is not None:
        cv2.polylines(image, [(np.array(view["outline"]) * 2).astype(np.int32)], True, (255, 255, 255), 2)
    for index, zone in enumerate(zones, 1):
        points = (np.array(zone["sightings"][0]["outline_px"]) * 2).astype(np.int32)
        cv2.polylines(image, [points], True, (0, 0, 0), 2)
        text = f"{index}: {zone['contrast_k']:+.1f} K"
        cv2.putText(image, text, tuple(int(c) for c in points[0]), 0, 0.5, (255, 255, 255), 1, cv2.LINE_AA)
    bar = cv2.applyColorMap(np.repeat(np.linspace(255, 0, image.shape[0]).astype(np.uint8)[:, None], 24, 1), cv2.COLORMAP_CIVIDIS)
    image = np.hstack([image, bar])
    cv2.putText(image, f"{high_c:.1f}", (image.shape[1] - 62, 14), 0, 0.45, (255, 255, 255), 1, cv2.LINE_AA)
    cv2.putText(image, f"{low_c:.1f}", (image.shape[1] - 62, image.shape[0] - 6), 0, 0.45, (255, 255, 255), 1, cv2.LINE_AA)
    strip = np.zeros((40, image.shape[1], 3), np.uint8)
    line = f"{frame['asset']}  {frame['file']}  air {frame['air_temperature_c']} C  zones {len(zones)}  screening only"
    cv2.putText(strip, line, (6, 25), 0, 0.45, (255, 255, 255), 1, cv2.LINE_AA)
    cv2.imwrite(str(path), np.vstack([image, strip]))


def conditions_of(asset, frame):
    """What the heat balance and the correction need, from the two sheets."""
    air_c = number(frame, "air_temperature_c")
    return {
        "air_c": air_c, "reflected_c": number(frame, "reflected_temperature_c", air_c), "wind_m_s": number(frame, "wind_m_s", 0.0),
        "humidity_pct": number(frame, "relative_humidity_pct", 60.0), "service_c": number(asset, "service_temperature_c", -30.0),
        "emissivity": number(asset, "emissivity", EMISSIVITY.get(asset["jacket"], 0.9)),
    }


def examine(folder, asset, frame):
    """One frame, from its file to its record, its zones and what the picture needs."""
    path = folder / frame["file"]
    conditions = conditions_of(asset, frame)
    surface_c = correct_emissivity_c(read_apparent_c(path, frame), conditions["emissivity"], conditions["reflected_c"])
    smooth_c = cv2.GaussianBlur(np.nan_to_num(surface_c, nan=float(np.nanmedian(surface_c))), (0, 0), BLUR_SIGMA_PX)
    noise_k = float(np.median(np.abs(surface_c[:, 1:] - surface_c[:, :-1])) * 1.4826 / math.sqrt(2))
    dew_c = dew_point_c(conditions["air_c"], conditions["humidity_pct"])
    record = {
        "file": frame["file"], "asset": frame["asset"], "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        "width": surface_c.shape[1], "height": surface_c.shape[0], "usability": "good", "reasons": [], "assumed": [],
        "noise_k": noise_k, "dew_point_c": dew_c, "vessel_outline_px": [],
    }
    view = {"smooth_c": smooth_c, "noise_k": noise_k, "dew_point_c": dew_c}
    problem = "bright metal" if conditions["emissivity"] < 0.5 else "wind" if conditions["wind_m_s"] > 6.7 else None
    problem = problem or ("sun on the jacket" if frame.get("sun") == "direct" else None)
    problem = problem or ("too little temperature difference" if conditions["air_c"] - conditions["service_c"] < 15 else None)
    found = find_vessel(smooth_c, asset, number(frame, "view_start_mm") is None)
    if found is None or problem:
        record.update(usability="unusable", reasons=[problem or "no vessel found"])
        return record, [], view
    rectangle, mask = found
    axial_m, sine, pixels_per_metre = place_pixels(surface_c.shape, rectangle, asset, frame)
    inside = cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    upright = asset["shape"] == "vertical-cylinder"
    view.update(inside=inside, axial_m=axial_m, sine=sine, pixels_per_metre=pixels_per_metre, outline=cv2.boxPoints(rectangle).tolist())
    view["residual"] = residual_of(smooth_c, inside, upright)
    view["sound_c"] = float(np.median(smooth_c[inside])) if inside.any() else float("nan")
    area_m2 = float(mask.sum()) / pixels_per_metre**2
    record.update(
        vessel_outline_px=view["outline"], pixels_per_metre=pixels_per_metre, smallest_zone_mm=3000 / pixels_per_metre,
        sound_surface_c=view["sound_c"], expected_sound_surface_c=None, viewed_m2=area_m2, usable_m2=area_m2,
    )
    return record, find_zones(view, asset, frame, conditions), view


def main():
    parser = argparse.ArgumentParser(description="plain image-processing baseline")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--no-pictures", action="store_true")
    parser.add_argument("--timing", action="store_true", help="print the mean time a frame")
    options = parser.parse_args()
    cv2.setNumThreads(1)
    try:
        survey, assets, frames = read_sheets(options.folder)
    except (OSError, KeyError, ValueError) as error:
        print(f"{options.folder}: {error}", file=sys.stderr)
        return 2
    (options.out / "annotated").mkdir(parents=True, exist_ok=True)
    records, zones, failed = [], [], 0
    started = time.perf_counter()
    for frame in frames:
        try:
            record, found, view = examine(options.folder, assets[frame["asset"]], frame)
        except (OSError, KeyError, ValueError, TypeError) as error:
            failed += 1
            records.append({"file": frame["file"], "asset": frame["asset"], "usability": "unusable", "reasons": [str(error)], "assumed": []})
            continue
        records.append(record)
        zones.extend(found)
        if not options.no_pictures:
            draw(options.out / "annotated" / (Path(frame["file"]).stem + ".png"), view, found, frame)
    zones.sort(key=lambda zone: -zone["priority"])
    for rank, zone in enumerate(zones, 1):
        zone.update(rank=rank, id=f"{zone['asset']}-{rank}")
    settings = {"least_contrast_k": LEAST_CONTRAST_K, "contrast_to_noise": CONTRAST_TO_NOISE, "blur_sigma_px": BLUR_SIGMA_PX}
    result = {
        "schema": "coldjacket.findings/1", "made_by": {"program": "practitioner_baseline", "version": "1", "settings": settings},
        "survey": {key: survey.get(key) for key in ("title", "plant", "date", "inspector")},
        "frames": records, "zones": zones, "set_aside": [], "assets": [],
    }
    (options.out / "findings.json").write_text(json.dumps(result, default=str))
    if options.timing:
        print(f"{len(frames)} frames, {1000 * (time.perf_counter() - started) / max(len(frames), 1):.1f} ms a frame")
    return 1 if failed or any(record["usability"] == "unusable" for record in records) else 0


if __name__ == "__main__":
    sys.exit(main())
