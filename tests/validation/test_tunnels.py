"""Tunnels laid out whole, spec to outline, against hand-worked developments and handbook bends.

Half cone: radii 25 to 20 over 300, slant 300.04166, layout radius 1500.2083, sector 2.999583
degrees (plane geometry of a frustum). Half round: 1.6 mm rolled to outside R 100 is 311.6 net.
Channel: FAA-H-8083-31, Airframe, chapter 4, straight line bends: .040 over .16, flats .8, 1.6, .8,
by its formula 3.758144 in (it prints 3.74, rounded on the way). Bend: DIN 6935 (2011-10), r 12,
s 2: v = -7.5796.
"""

import numpy as np
import pytest

from geometry.tank import (
    TunnelEnd,
    TunnelPiece,
    TunnelPlace,
    TunnelSheet,
    TunnelSpec,
    bend_take_mm,
    lay_tunnel,
)

THIN_MM, INCH = 1e-9, 25.4
STILL = TunnelPlace(fore_aft_mm=0.0, up_down_mm=0.0)


def _piece(spec: TunnelSpec, sheet_mm: float) -> TunnelPiece:
    (piece,) = lay_tunnel(spec, TunnelSheet("sheet", sheet_mm)).pieces
    return piece


def test_the_half_cone_is_the_sector_worked_by_hand() -> None:
    spec = TunnelSpec(
        300.0,
        TunnelEnd(25.0, 50.0),
        TunnelEnd(20.0, 40.0),
        "half cone",
        place=STILL,
        run_out_mm=0.0,
    )
    outline = _piece(spec, THIN_MM).outline
    legs = outline[[0, 1, -1, -2]]  # a leg of no height begins and ends the sector's sides
    slant = np.linalg.norm(legs[1] - legs[0])
    assert slant == pytest.approx(300.04166, abs=1e-5)
    point = np.array([0.0, outline[:, 1].max() - 1500.2083])
    far = np.linalg.norm(outline - point, axis=1)
    assert far.max() == pytest.approx(1500.2083, abs=1e-4)
    assert far.min() == pytest.approx(1500.2083 - 300.04166, abs=1e-4)
    left = outline[outline[:, 0] > 0] - point
    assert np.degrees(2.0 * np.arctan2(left[:, 0], left[:, 1]).max()) == pytest.approx(
        2.999583, abs=1e-5
    )


def test_a_half_round_of_thick_sheet_is_laid_out_on_its_middle() -> None:
    end = TunnelEnd(98.4, 196.8)
    spec = TunnelSpec(200.0, end, end, place=STILL, run_out_mm=0.0)
    wide = float(np.ptp(_piece(spec, 1.6).outline[:, 0]))
    assert wide == pytest.approx(311.6, abs=0.06)
    assert wide == pytest.approx(np.pi * 99.2, abs=1e-6)


def test_a_folded_channel_is_the_handbooks_by_its_formula() -> None:
    end = TunnelEnd((0.8 + 0.16) * INCH, (1.6 + 0.32) * INCH)
    spec = TunnelSpec(
        100.0, end, end, "three sided", bend_radius_mm=0.16 * INCH, place=STILL, run_out_mm=0.0
    )
    wide = float(np.ptp(_piece(spec, 0.04 * INCH).outline[:, 0])) / INCH
    assert wide == pytest.approx(3.758144, abs=1e-6)


def test_beyond_five_thicknesses_a_bend_takes_what_din_6935_says() -> None:
    assert bend_take_mm(np.pi / 2.0, 12.0, 2.0) == pytest.approx(2.0 * 14.0 - 7.5796, abs=1e-4)
