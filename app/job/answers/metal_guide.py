"""What a panel asks of its metal, beside the metal's published figures: a guide, in words."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.job.answers.answer import place_words
from app.job.choices import Directions, MetalChoice
from app.job.files import Metals, metal_or_none
from app.units import elongation_text, plain_number, thickness_text
from geometry.arrays import FloatArray
from geometry.blank import FlatPanel
from geometry.metal import LEAST_MM, Figure, MetalGuide, against_metal
from geometry.pattern import ShapeField

SOURCES = {
    "astm-b209": "least figure of ASTM B209",
    "kutz-typical": "usual figure, Handbook of Materials Selection 2002",
    "5052-typical": "usual figure of a published table",
}
"""What a source of docs/sources.md is called before the maker."""

TOLD = 0.0005
"""Part of a length, or of the skin, below which nothing is told."""

MUCH = 0.01
"""Part of the skin asked more than the metal gives, below which shrinking asks for the anneals."""


@dataclass(frozen=True, eq=False)
class PanelGuide:
    """A panel held against its metal.

    Attributes
    ----------
    guide : MetalGuide
    asked : float
        Most stretch asked where the metal thins, as everywhere else before the maker: 0.05 is 100
        drawn to 105. Where it thickens it also goes on a little, square to the shrinking, but
        nothing there tears.
    asked_at : str
        Where, in the shaper's words.
    share_beyond : float or None
        Of the skin, asked more than the metal gives as bought; None where that is not known.
    """

    guide: MetalGuide
    asked: float
    asked_at: str
    share_beyond: float | None


def panel_guide(
    flat: FlatPanel,
    metal: MetalChoice,
    metals: Metals,
    *,
    least_mm: float = LEAST_MM,
    directions: Directions | None = None,
    change: FloatArray | None = None,
) -> PanelGuide | None:
    """Return what a panel asks of its metal; None where the blank did not settle, or for a metal
    nobody gave figures of.

    Parameters
    ----------
    flat : FlatPanel
    metal : MetalChoice
        Its alloy is looked up among the metals.
    metals : mapping of name to SheetMetal
    least_mm : float
        Thinnest the maker accepts.
    directions : Directions, optional
        Where front and top are, to name places by.
    change : (n,) float, optional
        The map's signed change at vertices, where it is known already.
    """
    known = metal_or_none(metal.alloy, metals)
    if known is None or not flat.converged:
        return None
    areas = flat.formed_areas
    guide = against_metal(
        flat.stretches, areas, flat.thickness, known, metal.thickness_mm, least_mm=least_mm
    )
    if change is None:
        change = ShapeField(flat.flat_vertices, flat.faces, flat.stretches).change
    worst = int(np.argmax(change))
    beyond = None
    if guide.elongation is not None:
        beyond = _share_above(change, guide.elongation.value, flat, areas)
    return PanelGuide(
        guide, max(float(change[worst]), 0.0), place_words(flat, worst, directions), beyond
    )


def _share_above(change: FloatArray, value: float, flat: FlatPanel, areas: FloatArray) -> float:
    """Return the share of the skin where the change at vertices, shared out, is above a value."""
    above = (change > value)[flat.faces].mean(axis=1)
    return float((areas * above).sum() / areas.sum())


def guide_words(found: PanelGuide, show: str = "mm") -> str:
    """Return in a few sentences what a panel asks of its metal."""
    guide = found.guide
    name = guide.metal.name
    if guide.elongation is None:
        sheet = thickness_text(guide.thickness_mm, show)
        return f"How far {name} of {sheet} stretches before it tears is not known here: no guide."
    gives = elongation_text(guide.elongation.value, show)
    asked = elongation_text(found.asked, show)
    first = f"{name} as bought stretches about {gives} before it tears."
    asks = f"This panel asks up to {asked}, {found.asked_at}"
    if found.asked < TOLD:
        asks = "This panel asks no stretch"
    return f"{first} {asks}{_so(found)}. A guide, not a verdict."


def _so(found: PanelGuide) -> str:
    """Return what follows from it, as the end of a sentence."""
    guide, share = found.guide, found.share_beyond or 0.0
    over = f", more than that over {plain_number(100.0 * share, 1)} of every 100 of its skin"
    beyond = over if share >= TOLD else ""
    if guide.anneals is None:
        return f"{beyond}; how far it goes once annealed is not known here"
    if guide.anneals == 0:
        if beyond:
            return f"{beyond}: anneal that place"
        return (
            ": all but a speck within that as bought" if share > 0.0 else ": within that as bought"
        )
    often = {1: "once", 2: "twice"}.get(guide.anneals, f"{guide.anneals} times")
    why = beyond if share >= MUCH else f"{beyond}; shrinking hardens it as well"
    return f"{why}: anneal at least {often} on the way"


def no_guide_words(alloy: str) -> str:
    """Return that nothing is known of a metal, and what to do about it."""
    return (
        f"How far {alloy} stretches is not known here, so there is no guide to annealing. "
        "Choose a metal that is known, or add it with its facts."
    )


def guide_facts(found: PanelGuide, show: str = "mm") -> tuple[str, ...]:
    """Return the figures behind the guide, one a line, each with where it comes from."""
    return tuple(_facts(found.guide, show))


def _facts(guide: MetalGuide, show: str) -> Iterator[str]:
    yield f"{guide.metal.name}, {thickness_text(guide.thickness_mm, show)}, in a tensile test:"
    for words, figure in (
        ("as bought stretches at least", guide.elongation),
        ("usually", guide.metal.usual_elongation),
        ("once annealed at least", guide.annealed),
    ):
        told = "not known here"
        if figure is not None:
            told = f"{elongation_text(figure.value, show)} ({source_words(figure)})"
        if figure is not None or words != "usually":
            yield f"{words} {told}"
    pull = elongation_text(float(np.expm1(guide.largest_work)), show)
    yield (
        "Worked as hard as an even pull of "
        f"{pull} over all but the hardest hundredth of the skin, shrinking counted too; each "
        "anneal starts that again"
    )
    yield "Such a test pulls a strip one way until it tears. Hands work metal otherwise"


def source_words(figure: Figure) -> str:
    """Return where a figure comes from, for the maker.

    >>> source_words(Figure(0.05, "astm-b209")), source_words(Figure(0.1, "the mill"))
    ('least figure of ASTM B209', 'the mill')
    """
    return SOURCES.get(figure.source, figure.source)
