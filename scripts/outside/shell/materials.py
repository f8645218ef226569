"""What vessels are clad with. Numbers are typical textbook and data-sheet values, all quoted from memory."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Insulation:
    """Dry conductivity at 10 degC mean temperature [W/m K], its slope [W/m K per K], how often it is met."""

    k10: float
    slope: float
    share: float


# From memory of declared (aged) values for cold work: closed-cell foams 0.022-0.036, cellular glass and cork 0.04.
INSULATION = {
    "pur": Insulation(0.0250, 0.00010, 0.30),
    "pir": Insulation(0.0240, 0.00009, 0.24),
    "phenolic": Insulation(0.0220, 0.00008, 0.06),
    "xps": Insulation(0.0335, 0.00012, 0.10),
    "eps": Insulation(0.0355, 0.00013, 0.05),
    "cellular-glass": Insulation(0.0420, 0.00020, 0.13),
    "mineral-wool": Insulation(0.0360, 0.00018, 0.03),
    "elastomeric": Insulation(0.0360, 0.00010, 0.04),
    "cork": Insulation(0.0420, 0.00012, 0.05),
}


@dataclass(frozen=True)
class Jacket:
    """Normal emissivity in the long-wave band, sheet conductance k*t [W/K] low and high, share, gloss 0..1."""

    emissivity: float
    sheet: tuple
    share: float
    gloss: float  # part of the reflection that is mirror-like; judgement, not a measured value


# Sheet: 0.5-0.8 mm steel at 50 W/mK or 0.7 mm aluminium at 150 W/mK; 1 mm PVC at 0.17; 3-4 mm mastic at 0.3.
JACKETS = {
    "painted-metal": Jacket(0.92, (0.025, 0.09), 0.45, 0.60),
    "pvc": Jacket(0.92, (0.00015, 0.00025), 0.33, 0.50),
    "mastic": Jacket(0.94, (0.0008, 0.0014), 0.22, 0.15),
}

SIGMA = 5.670374e-8  # Stefan-Boltzmann [W/m2 K4]


def dry_conductivity(key, mean_c, factor=1.0):
    """Conductivity [W/m K] of dry insulation `key` at `mean_c` [degC], scaled by this specimen's own `factor`."""
    ins = INSULATION[key]
    return factor * (ins.k10 + ins.slope * (mean_c - 10.0))
