"""Bends: how much flat sheet a bend takes, and how far its tangent lines stand from the corner."""

import numpy as np

LEAST_RELIEF_MM = 3.175
"""1/8 in: least hole where two bends cross, in sheet up to .064 in. Source: [relief-holes]."""

THICK_RELIEF_MM = 4.7625
"""3/16 in, in thicker sheet; from memory, not checked."""

BEHIND_TANGENT_MM = 1.5875
"""1/16 in: how far such a hole reaches behind the tangent lines. Source: [relief-holes]."""

_THICK_SHEET_MM = 0.064 * 25.4


def bend_zone_mm(angle_rad: float, inside_radius_mm: float, sheet_mm: float) -> float:
    """Return how long the flat sheet between a bend's tangent lines is.

    (0.01743 R + 0.0078 T) for every degree. Source: [faa-bends].

    .050 in sheet bent 90 degrees over .032 in takes .0853 in:

    >>> round(bend_zone_mm(np.pi / 2.0, 0.032 * 25.4, 0.05 * 25.4) / 25.4, 7)
    0.0852984
    """
    return float(np.degrees(angle_rad) * (0.01743 * inside_radius_mm + 0.0078 * sheet_mm))


def setback_mm(angle_rad: float, inside_radius_mm: float, sheet_mm: float) -> float:
    """Return how far a tangent line lies from where the two outer faces would meet.

    (R + T) tan(angle / 2). Source: [faa-bends].

    >>> round(setback_mm(np.pi / 2.0, 0.032, 0.05), 6)
    0.082
    """
    return float((inside_radius_mm + sheet_mm) * np.tan(angle_rad / 2.0))


def bend_saving_mm(angle_rad: float, inside_radius_mm: float, sheet_mm: float) -> float:
    """Return how much less flat sheet two legs take than they measure outside, corner to edge.

    Twice the setback less the bend's zone. Source: [faa-bends].

    >>> round(bend_saving_mm(np.pi / 2.0, 0.032, 0.05), 7)
    0.0787016
    """
    setback = setback_mm(angle_rad, inside_radius_mm, sheet_mm)
    return 2.0 * setback - bend_zone_mm(angle_rad, inside_radius_mm, sheet_mm)


def relief_diameter_mm(inside_radius_mm: float, sheet_mm: float) -> float:
    """Return the hole drilled where two bends cross: the bend's radius, or the least there is.

    Source: [relief-holes]; taking the radius for the diameter is from memory, not checked.

    >>> relief_diameter_mm(1.6, 1.6), relief_diameter_mm(6.0, 1.6), relief_diameter_mm(1.0, 2.0)
    (3.175, 6.0, 4.7625)
    """
    least = LEAST_RELIEF_MM if sheet_mm <= _THICK_SHEET_MM + 1e-9 else THICK_RELIEF_MM
    return max(least, inside_radius_mm)
