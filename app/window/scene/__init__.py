"""The tank in three dimensions: the only part that knows VTK."""

from app.window.scene.body_painter import Body
from app.window.scene.crown_painter import PaintedCrown
from app.window.scene.curve_painter import Curve, Style
from app.window.scene.datum_painter import PaintedDatum
from app.window.scene.hatch_painter import PaintedHeld, PaintedMarks
from app.window.scene.light_painter import LIT, UNLIT, PaintedLights
from app.window.scene.mark_painter import NOTHING_DRAWN, Drawn
from app.window.scene.panel_painter import PaintedChange, PaintedSurface
from app.window.scene.proxy import PROXY_ABOVE, ProxyOf, lighter
from app.window.scene.seam_painter import PaintedSeams
from app.window.scene.sides_painter import PaintedBands
from app.window.scene.skin_painter import SKIN_PAINTERS, PaintedSkin, SkinPainter
from app.window.scene.surface_pick import Hit
from app.window.scene.tank_view import Pick, TankPicture, TankView
from app.window.scene.trial import draws_here

__all__ = [
    "LIT",
    "NOTHING_DRAWN",
    "PROXY_ABOVE",
    "SKIN_PAINTERS",
    "UNLIT",
    "Body",
    "Curve",
    "Drawn",
    "Hit",
    "PaintedBands",
    "PaintedChange",
    "PaintedCrown",
    "PaintedDatum",
    "PaintedHeld",
    "PaintedLights",
    "PaintedMarks",
    "PaintedSeams",
    "PaintedSkin",
    "PaintedSurface",
    "Pick",
    "ProxyOf",
    "SkinPainter",
    "Style",
    "TankPicture",
    "TankView",
    "draws_here",
    "lighter",
]
