"""`RestJob`: what pages of the rest of a tank are made of."""

from dataclasses import dataclass

import numpy as np

from app.delivery.sheets import NotReadyError, tank_model
from app.exports import JobFacts, Output, TankModel
from app.job import JobState, Metals, Surface, directions_of, made
from app.units import Fractions
from geometry.datum import point_array
from geometry.metal import METALS


@dataclass(frozen=True, eq=False)
class RestJob:
    """What pages of the rest of a tank are made of.

    Attributes
    ----------
    state : JobState
    facts : JobFacts
    tank : TankModel
        In its panels where it is cut; in one piece, of no name, where not.
    output : Output
    fractions : Fractions
    metals : mapping of name to SheetMetal
    """

    state: JobState
    facts: JobFacts
    tank: TankModel
    output: Output
    fractions: Fractions
    metals: Metals


def rest_job(
    state: JobState,
    facts: JobFacts,
    *,
    metals: Metals = METALS,
    output: Output | None = None,
    fractions: Fractions | None = None,
) -> RestJob:
    """Return what pages of the rest of a tank are made of.

    Parameters
    ----------
    state : JobState
    facts : JobFacts
        As `job_facts` gives them.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output, optional
    fractions : Fractions, optional
        To which fraction of an inch lengths are told.

    Raises
    ------
    NotReadyError
        The tank's surface is not made.
    """
    how = (output or Output(), fractions or Fractions(), dict(metals))
    return RestJob(state, facts, whole_tank(state), *how)


def whole_tank(state: JobState) -> TankModel:
    """Return the tank for pictures: in its panels where it is cut, else in one piece.

    Raises
    ------
    NotReadyError
    """
    if made(state, "Seams") is not None:
        return tank_model(state)
    surface: Surface | None = made(state, "Surface")
    if surface is None:
        raise NotReadyError("")
    working, said = surface.working, directions_of(state)
    return TankModel(
        vertices=working.outside,
        faces=working.mesh.faces,
        panel_of_face=np.zeros(len(working.mesh.faces), np.int64),
        names=("",),
        front=point_array(said.front),
        up=point_array(said.top),
        filled=working.filled,
        copied=working.copied,
    )
