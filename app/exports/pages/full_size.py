"""`FullSize`: what full-size pages and cutting files are made from, as it lies on them.

A panel's pattern is one (`panel_on_paper`), a template or a piece bent from flat sheet another
(`plate_on_paper`). How it is split over papers, joined and told on each is the same for all.
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import Self

from app.exports.drawing import Drawing, Meaning
from app.exports.facts import JobFacts
from app.exports.pages.title import Cell
from geometry.arrays import FloatArray
from geometry.pattern import Outline

Box = tuple[float, float, float, float]


class FullSize(ABC):
    """Something flat that is drawn full size."""

    # ---- what it is

    @property
    @abstractmethod
    def job(self) -> JobFacts:
        """The job it belongs to."""

    @property
    @abstractmethod
    def name(self) -> str:
        """What the maker calls it."""

    @property
    @abstractmethod
    def headings(self) -> tuple[str, str, str]:
        """Its name in capitals, the face to mark, and what it makes or serves for."""

    @property
    @abstractmethod
    def no_cut(self) -> str | None:
        """Why no CUT line may be drawn, in capitals; None when one may."""

    @abstractmethod
    def facts(self) -> list[str]:
        """Return what its title tells first, a sentence each."""

    @abstractmethod
    def lists(self) -> list[list[str]]:
        """Return further rows of its title, by subject."""

    @abstractmethod
    def brief_facts(self) -> list[str]:
        """Return what every tile of it tells, in a few words each."""

    @abstractmethod
    def cutting_facts(self) -> list[str]:
        """Return what a cutting file tells, a sentence each."""

    # ---- how it lies

    @property
    @abstractmethod
    def turn_rad(self) -> float:
        """How far it is turned on its pages, to the left."""

    @abstractmethod
    def turned(self, turn_rad: float) -> Self:
        """Return it turned further to the left."""

    @abstractmethod
    def topped(self) -> Self:
        """Return it turned half round where its top would hang down; itself where not."""

    @abstractmethod
    def joined(self, courses: Sequence[FloatArray]) -> Self:
        """Return it with words off the lines (k, 2) where its tiles meet."""

    # ---- what is drawn

    @abstractmethod
    def outline(self) -> FloatArray:
        """Return the outermost line drawn, (k, 2) mm, closed without repeating its first point."""

    def outlines(self) -> list[FloatArray]:
        """Return every outline it is made from, (k, 2) mm each."""
        return [self.outline()]

    @abstractmethod
    def drawing(self) -> Drawing:
        """Return all of it, words included."""

    @abstractmethod
    def cutting_drawing(self, outline: Outline) -> Drawing:
        """Return the same with its outlines made of arcs or of splines."""

    @abstractmethod
    def legend(self) -> list[tuple[Meaning, str]]:
        """Return the kinds of lines drawn, and their names."""

    @abstractmethod
    def hatches(self) -> dict[Meaning, str]:
        """Return what each hatch on it means."""

    @abstractmethod
    def hatches_within(self, box: Box) -> list[str]:
        """Return what the hatches mean that show within a box of the drawing."""

    @abstractmethod
    def identity(self) -> Cell:
        """Return who and what it is, with a picture, to begin a title."""

    @abstractmethod
    def thumbnail(self, width_mm: float, height_mm: float) -> Drawing:
        """Return a small picture, a strip of `ARROW_MM` for the way to FRONT below it."""

    @abstractmethod
    def ways(self) -> str:
        """Return which way FRONT and TOP lie on the page."""
