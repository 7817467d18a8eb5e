"""A panel's pattern as it lies on full-size pages and in cutting files."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

from app.exports.drawing import Drawing, Meaning, together
from app.exports.facts import JobFacts, PanelSheet, reason_not_to_cut
from app.exports.marks import patch_meanings, patch_sentences_within, top_up, with_outline
from app.exports.pages.full_size import Box, FullSize
from app.exports.pages.panel_drawing import listed_words, pattern_drawing
from app.exports.pages.title import (
    Cell,
    edge_rows,
    front_words,
    identity,
    line_legend,
    thumbnail_picture,
)
from app.exports.words import (
    face_words,
    fact_words,
    flange_sentences,
    grain_words,
    makes_words,
    sheet_words,
    sure_words,
)
from geometry.arrays import FloatArray
from geometry.pattern import Outline


@dataclass(frozen=True, eq=False)
class PanelOnPaper(FullSize):
    """A panel's sheet, drawn full size."""

    sheet: PanelSheet

    @property
    def job(self) -> JobFacts:
        """The panel's job."""
        return self.sheet.job

    @property
    def name(self) -> str:
        """The panel's name."""
        return self.sheet.panel

    @property
    def headings(self) -> tuple[str, str, str]:
        """Panel, the face to mark, what it makes."""
        return self.name.upper(), face_words(self.job), makes_words(self.name)

    @property
    def no_cut(self) -> str | None:
        """Why the blank may not be cut."""
        return reason_not_to_cut(self.sheet)

    def facts(self) -> list[str]:
        """Return the facts of the panel."""
        return fact_words(self.sheet)

    def lists(self) -> list[list[str]]:
        """Return its table of edges, and what found no room on the blank."""
        return [edge_rows(self.sheet), list(listed_words(self.sheet))]

    def brief_facts(self) -> list[str]:
        """Return metal and grain, how sure the size is, how the surface was taken."""
        return [
            f"{sheet_words(self.job)}, {grain_words(self.job)}",
            sure_words(self.sheet).removesuffix("."),
            f"Surface: {self.job.surface}",
        ]

    def cutting_facts(self) -> list[str]:
        """Return grain and sureness, allowances folded, and what found no room."""
        return [
            f"{grain_words(self.job)}. {sure_words(self.sheet)}",
            *flange_sentences(self.sheet),
            *listed_words(self.sheet),
        ]

    @property
    def turn_rad(self) -> float:
        """How far the blank is turned."""
        return self.sheet.turn_rad

    def turned(self, turn_rad: float) -> Self:
        """Return the blank turned further."""
        return self._with(replace(self.sheet, turn_rad=self.turn_rad + turn_rad))

    def topped(self) -> Self:
        """Return it with TOP up."""
        topped = top_up(self.sheet)
        return self if topped is self.sheet else self._with(topped)

    def joined(self, courses: Sequence[FloatArray]) -> Self:
        """Return it with words off the joins."""
        return self._with(replace(self.sheet, joins=tuple(courses)))

    def _with(self, sheet: PanelSheet) -> Self:
        return replace(self, sheet=sheet)

    def outline(self) -> FloatArray:
        """Return the line to cut, or the net line where nothing may be cut."""
        trim = self.sheet.pattern.trim
        cut = trim is not None and self.no_cut is None
        return self.sheet.lay.on_paper(trim if cut and trim is not None else self.sheet.pattern.net)

    def outlines(self) -> list[FloatArray]:
        """Return net line and line to cut."""
        trim = self.sheet.pattern.trim
        return [self.sheet.pattern.net, *([] if trim is None else [trim])]

    def drawing(self) -> Drawing:
        """Return the pattern."""
        return pattern_drawing(self.sheet)

    def cutting_drawing(self, outline: Outline) -> Drawing:
        """Return the pattern with its outlines made of arcs or of splines."""
        return with_outline(self.drawing(), self.sheet, outline)

    def legend(self) -> list[tuple[Meaning, str]]:
        """Return the lines of the pattern."""
        return line_legend(self.sheet, with_cut=self.no_cut is None)

    def hatches(self) -> dict[Meaning, str]:
        """Return what was not scanned, and what was copied."""
        return patch_meanings(self.sheet)

    def hatches_within(self, box: Box) -> list[str]:
        """Return which of these show within a box."""
        return patch_sentences_within(self.sheet, self.sheet.lay.on_paper, box)

    def identity(self) -> Cell:
        """Return panel, face, thumbnail and ways."""
        return identity(self.sheet)

    def thumbnail(self, width_mm: float, height_mm: float) -> Drawing:
        """Return the tank with this panel black."""
        return together(thumbnail_picture(self.sheet.tank, self.name, width_mm, height_mm))

    def ways(self) -> str:
        """Return which way FRONT lies, worked out once for all tiles."""
        return _ways(self.sheet)


@lru_cache(maxsize=8)
def _ways(sheet: PanelSheet) -> str:
    return front_words(sheet)
