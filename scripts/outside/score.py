#!/usr/bin/env python3
"""What a survey's findings.json says against the truth of simulated scenes: counts over a folder, and each miss with its why.

usage:    score.py SURVEY RESULT [--list]      SURVEY holds truth/*.npz (scenes of scripts/outside) or truth.json (make-scenes)
          --list   names every patch missed, false call and poor outline
needs:    numpy, opencv-python-headless

Rules, the same as those of the validation study (tests/validation/src/score.rs): a patch of at least 1 K in the mean and nine
visible pixels counts; it is found where a local finding that is not set aside shares a quarter of their union; a finding is no
false call where a tenth of it lies on a patch of any contrast.
"""
import argparse
import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np

LEAST_CONTRAST_K = 1.0
LEAST_PIXELS = 9
SAME_PLACE = 0.25
TOUCHES = 0.1
UNDER = 0.5
POOR_OUTLINE = 0.90
SET_ASIDE = {"penetration", "reflection", "sun-warmed"}


@dataclass
class Patch:
    """A wet patch: where it shows (bool, height x width), the mean of its contrast in K, as a size, and its ratio to dry."""

    mask: np.ndarray
    contrast_k: float
    ratio: float


@dataclass
class Truth:
    """What is there in one frame; masks are bool, height x width."""

    outline: np.ndarray
    patches: list
    things: list = field(default_factory=list)


def of_runs(runs, shape):
    """A mask from its runs: start, length, start, length, in rows."""
    flat = np.zeros(shape[0] * shape[1], bool)
    for start, length in zip(runs[::2], runs[1::2]):
        flat[start:start + length] = True
    return flat.reshape(shape)


def own_truths(survey):
    """Truths by file of a survey made by `make-scenes`."""
    truths = {}
    for frame in json.loads((survey / "truth.json").read_text())["frames"]:
        shape = (frame["height"], frame["width"])
        patches = [
            Patch(of_runs(p["pixel_runs"], shape), abs(p["contrast_mean_k"]), p["conductivity_ratio"])
            for p in frame["patches"]
        ]
        things = [(c["kind"], of_runs(c["pixel_runs"], shape)) for c in frame["clutter"] if c["pixel_runs"] is not None]
        truths[frame["file"]] = Truth(of_runs(frame["vessel_runs"], shape), patches, things)
    return truths


def outside_truth(survey, name):
    """The truth of one frame of the scenes of scripts/outside."""
    with np.load(survey / "truth" / f"{name}.npz") as held:
        arrays = {key: held[key] for key in held.files}
    told = json.loads((survey / "truth" / f"{name}.json").read_text())
    # A patch that is wholly hidden has no contrast.
    patches = [
        Patch(arrays["zones"] == zone["zone"], abs(zone["mean_contrast_k"] or 0.0), zone["ratio"]) for zone in told["zones"]
    ]
    things = [(kind, arrays["things"] == int(number)) for number, kind in told["things"].items()]
    return Truth(arrays["outline"].astype(bool), patches, things)


def mask_of(outline_px, shape):
    """The pixels whose centre lies in a closed polygon."""
    mask = np.zeros(shape, np.uint8)
    if len(outline_px) >= 3:
        points = np.round(np.array(outline_px) * 16).astype(np.int32)
        cv2.fillPoly(mask, [points], 1, shift=4)
    return mask.astype(bool)


def share(a, b):
    """Intersection over union."""
    return (a & b).sum() / max((a | b).sum(), 1)


def thing_at(truth, mask):
    """The kind of thing under most of a zone, or a dash."""
    grown = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    best = max(truth.things, key=lambda thing: (thing[1] & grown).sum(), default=None)
    return best[0] if best is not None and (best[1] & grown).sum() >= 0.1 * mask.sum() else "-"


def why_missed(patch, report, zones):
    """A word for why a patch was not found."""
    if report["usability"] == "unusable":
        return "unusable"
    for zone in zones:
        if zone["aside"] and (zone["mask"] & patch.mask).sum() >= UNDER * patch.mask.sum():
            return f"aside: {zone['because'][-1][:60]}"
    for zone in zones:
        if not zone["aside"] and (zone["mask"] & patch.mask).any():
            return "fragment" if zone["mask"].sum() < patch.mask.sum() else "in a larger zone"
    for zone in zones:
        if zone["aside"] and (zone["mask"] & patch.mask).sum() >= 0.2 * patch.mask.sum():
            return "part aside"
    return "nothing there"


def main():
    parser = argparse.ArgumentParser(description="score a survey of simulated scenes against their truth")
    parser.add_argument("survey", type=Path)
    parser.add_argument("result", type=Path)
    parser.add_argument("--list", action="store_true")
    asked = parser.parse_args()
    findings = json.loads((asked.result / "findings.json").read_text())
    own = own_truths(asked.survey) if (asked.survey / "truth.json").exists() else None
    zones_of = {}
    for zone in findings["zones"] + findings["set_aside"]:
        for sighting in zone["sightings"]:
            zones_of.setdefault(sighting["file"], []).append((zone, sighting))
    counts, whys, outlines, iou, covered = Counter(), Counter(), [], [], []
    lines = []
    for report in findings["frames"]:
        name = Path(report["file"]).stem
        truth = own[report["file"]] if own else outside_truth(asked.survey, name)
        shape = truth.outline.shape
        zones = [
            {**zone, "mask": mask_of(sighting["outline_px"], shape), "aside": zone["likely_cause"] in SET_ASIDE}
            for zone, sighting in zones_of.get(report["file"], [])
            if zone["extent"] == "local"
        ]
        counts["refused"] += report["usability"] == "unusable"
        counts["limited"] += report["usability"] == "limited"
        if report["vessel_outline_px"]:
            likeness = share(mask_of(report["vessel_outline_px"], shape), truth.outline)
            outlines.append(likeness)
            if likeness < POOR_OUTLINE:
                counts["outlines poor"] += 1
                lines.append(f"{name} outline {likeness:.3f} {report['usability']}")
        for number, patch in enumerate(truth.patches, 1):
            if patch.mask.sum() < LEAST_PIXELS:
                continue
            found = max((z for z in zones if not z["aside"]), key=lambda z: share(z["mask"], patch.mask), default=None)
            is_found = found is not None and share(found["mask"], patch.mask) >= SAME_PLACE
            if patch.contrast_k < LEAST_CONTRAST_K:
                continue
            counts["patches"] += 1
            counts["found"] += is_found
            if is_found:
                iou.append(share(found["mask"], patch.mask))
                low, high = found["conductivity_ratio_interval"]
                covered.append(low <= patch.ratio <= high)
            else:
                why = why_missed(patch, report, zones)
                whys[why] += 1
                lines.append(f"{name} missed patch {number} {patch.contrast_k:.1f} K {patch.mask.sum()} px by "
                             f"{thing_at(truth, patch.mask)}: {why}")
        for zone in zones:
            on_patch = max(((zone["mask"] & p.mask).sum() for p in truth.patches), default=0)
            if not zone["aside"] and on_patch < TOUCHES * max(zone["mask"].sum(), 1):
                counts["false"] += 1
                x, y = zone["sightings"][0]["centroid_px"]
                lines.append(f"{name} false call {zone['contrast_k']:.1f} K ratio {zone['conductivity_ratio']:.1f} "
                             f"{zone['length_m']:.2f}x{zone['arc_m']:.2f} m at {x:.0f},{y:.0f} on {thing_at(truth, zone['mask'])}")
    if asked.list:
        print("\n".join(lines))
    frames = len(findings["frames"])
    print(f"{asked.survey.name}: frames {frames}, found {counts['found']} of {counts['patches']}, false {counts['false']}, "
          f"outlines {len(outlines)}, below {POOR_OUTLINE} {counts['outlines poor']}, worst {min(outlines, default=0):.3f}, "
          f"limited {counts['limited']}, refused {counts['refused']}, "
          f"zone IoU {np.mean(iou) if iou else 0:.2f}, interval covers {np.mean(covered) if covered else 0:.2f}")
    print("  missed:", "; ".join(f"{count} {why}" for why, count in whys.most_common()) or "none")


if __name__ == "__main__":
    main()
