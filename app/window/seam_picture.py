"""What the Seams step shows on the tank besides: what forms lock, and the place of advice."""

from dataclasses import replace
from math import radians, sin

import numpy as np

from app.job import JobState, Panels, advice_place_words, made, raised_advice
from app.window.kept import Kept
from app.window.legend import Swatch
from app.window.look import HELD
from app.window.scene import PaintedHeld, TankPicture
from app.window.steps import ADVICE, Desk, shown_advice
from geometry.arrays import BoolArray, FloatArray
from geometry.breakups import BreakUpFigures, LiftOut
from geometry.mesh import face_normals
from geometry.panels import Panel

LOCKED_HERE = Swatch("striped", HELD, "LOCKED HERE: the form holds the panel")
_STRIPE_MM = 5.0
_SQUARE_RAD = radians(0.5)
"""Faces past square by less than this are square: as lifting out is judged."""


def with_seams_told(picture: TankPicture, state: JobState, desk: Desk, kept: Kept) -> TankPicture:
    """Return the tank's picture with what is told of its seams while their step is shown."""
    panels: Panels | None = made(state, "Seams")
    figures: BreakUpFigures | None = made(state, "Costs") or made(state, "Judged")
    size = made(state, "Size")
    if size is None:
        return picture
    scale = size.mm_per_unit
    if panels is not None and figures is not None:
        held = kept.of("held", (panels, figures, scale), held_on_tank)
        if held is not None:
            picture = replace(picture, held=held, legend=(*picture.legend, LOCKED_HERE))
    kind, number = desk.chosen
    raised = raised_advice(state) if kind == ADVICE else ()
    told = shown_advice(raised, with_hushed=True)
    if 0 <= number < len(told):
        advice = told[number].advice
        places = kept.of("advice", (*(float(x) for x in advice.place), scale), _place)
        words = kept.of("advice words", (advice_place_words(advice),), _one)
        picture = replace(picture, warned=places, warnings=words)
    return picture


def held_on_tank(panels: Panels, figures: BreakUpFigures, mm_per_unit: float) -> PaintedHeld | None:
    """Return what is locked of the panels as they are cut; None where all lift out."""
    lifts = {panel.name: panel.lift for panel in figures.panels if not panel.lift.is_free}
    held = np.zeros(len(panels.cut.mesh.faces), bool)
    for panel in panels.panels:
        if panel.name in lifts:
            held[panel.face_of_panel_face] = locked_faces(panel, lifts[panel.name])
    if not held.any():
        return None
    vertices = panels.cut.outside / mm_per_unit
    return PaintedHeld(vertices, panels.cut.mesh.faces[held], _STRIPE_MM / mm_per_unit)


def locked_faces(panel: Panel, lift: LiftOut) -> BoolArray:
    """Return which faces of a panel lie past square to the way it is pulled out.

    A rough answer was found on larger triangles: its way out is kept, and asked of these.
    """
    if len(lift.locked) == len(panel.mesh.faces):
        return lift.locked
    along = face_normals(panel.outside, panel.mesh.faces) @ lift.direction
    return np.asarray(along > sin(_SQUARE_RAD))


def _place(x: float, y: float, z: float, mm_per_unit: float) -> FloatArray:
    return np.array([[x, y, z]]) / mm_per_unit


def _one(words: str) -> tuple[str, ...]:
    return (words,)
