"""What is read on paper: level, tall enough, clear of every line, and on every page and piece."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from app.exports import OverviewSheet, PanelSheet, sheaves_of_panel
from app.exports.drawing.drawing import Drawing, Line, Meaning, Text
from app.exports.drawing.lettering import BOLD, PLAIN, font, printable
from app.exports.drawing.page import Page
from app.exports.pages import one_piece
from app.exports.pages.overview import overview_pages
from app.exports.pages.panel_drawing import listed_words, pattern_drawing
from geometry.blank import flatten
from geometry.pattern import dress
from tests.app.exports.marks.test_patch_marks import marked_sheet
from tests.app.exports.marks.test_tape_marks import ready_cut, shown_in, thin_dome
from tests.app.exports.sample_sheets import PANEL_ANGLES, job_facts, panel_sheet, tank_model
from tests.bodies import cone_sheet, dome

SURE = "Size sure to \u00b10.7 mm (1/32 in). The cut line covers both."
FACTS = {"model": "Brackwater 225", "replaces": "2", "revision": "3", "grain": "along"}


def labelled(name: str, show: str = "mm") -> PanelSheet:
    sheet = shown_in(show, name)
    return replace(
        sheet,
        remarks=(SURE,),
        job=replace(sheet.job, **FACTS),  # type: ignore[arg-type]
    )


@cache
def sheets() -> dict[str, PanelSheet]:
    """Return patterns of every kind: crowded, turned, in inches, rolled, thin, with patches."""
    cone = ready_cut(flatten(cone_sheet(170.0, 90.0, 260.0, np.radians(150.0), (40, 20))))
    found = {name: labelled(name) for name in PANEL_ANGLES}
    found |= {f"{name} in inches": labelled(name, "in") for name in PANEL_ANGLES}
    found |= {
        "left side turned": replace(found["left side"], turn_rad=0.61),
        "top strip upright": replace(found["top strip"], turn_rad=np.pi / 2.0),
        "patches": marked_sheet(),
        "patches turned": replace(marked_sheet(), turn_rad=-0.44),
        "cone": cone,
        "cone turned": replace(cone, turn_rad=0.6),
        "thin dome": thin_dome(),
        "left side unproved": panel_sheet("left side", size_proved=False),
    }
    return found


KINDS = (
    *PANEL_ANGLES,
    *(f"{name} in inches" for name in PANEL_ANGLES),
    "left side turned",
    "top strip upright",
    "patches",
    "patches turned",
    "cone",
    "cone turned",
    "thin dome",
    "left side unproved",
)


def courses(lines: tuple[Line, ...]) -> list[shapely.LineString]:
    return [
        shapely.LineString(
            np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
        )
        for line in lines
        if len(line.points) > 1
    ]


def capitals(text: Text) -> shapely.Polygon:
    """Return the ground of the letters themselves: no descender, no accent."""
    corners = text.outline
    low, high = corners[[0, 1]], corners[[3, 2]]
    up = (high - low) / 1.44
    return shapely.Polygon(np.concatenate([(low + 0.32 * up), (low + 1.32 * up)[::-1]]))


@pytest.mark.parametrize("kind", KINDS)
def test_no_word_of_a_pattern_crosses_a_line_or_another_word(kind: str) -> None:
    """Every text against every line that is drawn, whatever it means, grid and hatches too."""
    drawing = pattern_drawing(sheets()[kind])
    tree = shapely.STRtree(courses(drawing.lines))
    grounds = [capitals(text) for text in drawing.texts]
    for text, ground in zip(drawing.texts, grounds, strict=True):
        assert not len(tree.query(ground, "intersects")), text.text
    words = shapely.STRtree(grounds)
    pairs = words.query(grounds, predicate="intersects")
    assert (pairs[0] == pairs[1]).all()


@pytest.mark.parametrize("kind", KINDS)
def test_every_word_of_a_pattern_is_level_or_turned_by_a_quarter_and_tall_enough(kind: str) -> None:
    """Capitals of 2.5 mm at least; 4 mm for the panel's name, its face and what it makes."""
    sheet = sheets()[kind]
    drawing = pattern_drawing(sheet)
    assert {text.angle_deg for text in drawing.texts} <= {0.0, 90.0}
    assert min(text.height_mm for text in drawing.texts) >= 2.5
    from_afar = (sheet.panel.upper(), "MARK THIS FACE", "MAKES THE")
    heights = [text.height_mm for text in drawing.texts if text.text.startswith(from_afar)]
    assert len(heights) >= 3
    assert min(heights) >= 4.0


def test_words_of_the_title_are_tall_enough_too() -> None:
    page = one_piece(labelled("left side"))
    heights = [text.height_mm for placed in page.contents for text in placed.drawing.texts]
    assert min(heights) >= 2.5


MUST_SAY = (
    "Brackwater 225 scrambler, Brackwater 225",
    "LEFT SIDE",
    "MARK THIS FACE: INSIDE",
    "MAKES THE LEFT SIDE",
    "FRONT",
    "TOP",
    "GRAIN",
    "3003-H14 1.6 mm",
    "Rev 3 2026-03-02, replaces rev 2: throw older prints away",
    "SIZE PROVED by 2 tapes",
    SURE,
    "Shop aid, not an approval.",
)


def words_of(drawing: Drawing) -> str:
    return " ".join(text.text for text in drawing.texts)


def words_on(page: Page) -> str:
    return " ".join(words_of(placed.drawing) for placed in page.contents)


def test_a_pattern_carries_its_whole_label_and_so_does_its_title() -> None:
    sheet = labelled("left side")
    page = one_piece(sheet)
    title = page.contents[2].drawing
    for sentence in MUST_SAY:
        assert sentence in words_of(pattern_drawing(sheet)), sentence
        assert sentence in words_of(title), sentence
    assert page.contents[2].drawing.pictures  # the thumbnail tank
    for letter in ("A: top strip", "F1: free edge", "F2: free edge", "F3: free edge"):
        assert letter in words_of(pattern_drawing(sheet))


EVERY_PAGE_SAYS = (
    "Brackwater 225 scrambler, Brackwater 225",
    "LEFT SIDE",
    "MARK THIS FACE: INSIDE",
    "MAKES THE",
    "FRONT",
    "TOP",
    "GRAIN",
    "3003-H14 1.6 mm",
    "Rev 3 2026-03-02, replaces rev 2: throw older prints away",
    "SIZE PROVED by 2 tapes",
    "Size sure to \u00b10.7 mm",
    "Shop aid, not an approval.",
)


def test_no_page_of_a_panel_leaves_without_its_label() -> None:
    """Every page of every file: pattern, key plan, tiles, shape map, bench pages."""
    pages = [page for sheaf in sheaves_of_panel(labelled("left side")) for page in sheaf.pages]
    assert len(pages) > 12
    for page in pages:
        said = " ".join(words_on(page).split())
        for sentence in EVERY_PAGE_SAYS:
            assert sentence in said, (sentence, said)
        assert any(placed.drawing.pictures for placed in page.contents)


def test_the_overview_says_job_model_revision_and_is_tall_enough_to_read() -> None:
    sheet = labelled("left side")
    (page,) = overview_pages(OverviewSheet(sheet.job, sheet.tank, (sheet,)))
    texts = [text for placed in page.contents for text in placed.drawing.texts]
    assert min(text.height_mm for text in texts) >= 2.5
    for sentence in (EVERY_PAGE_SAYS[0], EVERY_PAGE_SAYS[8], "SIZE PROVED", "MARK THIS FACE"):
        assert sentence in words_on(page)


def small_sheet(across_mm: float) -> PanelSheet:
    """Return a dome whose blank is about so wide."""
    flat = flatten(dome(across_mm, np.radians(30.0), 10))
    pattern = dress(flat)
    sheet = panel_sheet("left side")
    return replace(sheet, flat=flat, pattern=pattern, filled=np.zeros(len(flat.faces), bool))


@pytest.mark.parametrize("radius", [50.0, 60.0, 90.0, 150.0, 300.0])
def test_a_piece_over_fifty_millimetres_says_what_it_is_when_it_is_cut_out(radius: float) -> None:
    """A dome of 30 degrees is about as wide as its radius: name, face, hand, revision, FRONT."""
    sheet = small_sheet(radius)
    net = shapely.Polygon(sheet.lay.on_paper(sheet.pattern.net))
    assert float(np.ptp(sheet.pattern.net, axis=0).max()) > 50.0
    on_it = " ".join(
        text.text
        for text in pattern_drawing(sheet).texts
        if net.contains(shapely.Polygon(text.outline))
    )
    for words in ("LEFT SIDE", "MARK THIS FACE: INSIDE", "MAKES THE LEFT SIDE", "Rev A", "FRONT"):
        assert words in on_it


def test_a_piece_too_small_for_its_label_has_it_beside_it() -> None:
    sheet = small_sheet(14.0)
    drawing = pattern_drawing(sheet)
    assert "MARK THIS FACE: INSIDE" in words_of(drawing)
    tree = shapely.STRtree(courses(drawing.lines))
    for text in drawing.texts:
        assert not len(tree.query(capitals(text), "intersects")), text.text


def test_every_witness_mark_has_its_number_at_its_end_or_in_the_list() -> None:
    for name in PANEL_ANGLES:
        sheet = labelled(name)
        told = words_of(pattern_drawing(sheet)).split()
        listed = " ".join(listed_words(sheet))
        for mark in sheet.pattern.marks:
            assert mark.label in told or mark.label in listed


def test_lines_that_are_not_broken_for_words_are_drawn_whole() -> None:
    """Net, cut, marks and ticks are one line each; a broken contour keeps nearly all its length."""
    sheet = sheets()["left side"]
    lines = pattern_drawing(sheet).lines
    net = [line for line in lines if line.meaning is Meaning.NET]
    cut = [line for line in lines if line.meaning is Meaning.CUT]
    assert len(net) == len(cut) == 1
    assert net[0].closed
    assert cut[0].closed
    contours = {Meaning.STRETCH_CONTOUR, Meaning.SHRINK_CONTOUR}
    drawn = sum(c.length for c in courses(tuple(x for x in lines if x.meaning in contours)))
    exact = sum(
        shapely.LineString(
            np.concatenate([c.points, c.points[:1]]) if c.closed else c.points
        ).length
        for c in sheet.pattern.contours
    )
    assert 0.85 * exact < drawn < exact


SIGNS = "\u00b0 \u00d8 \u00b1 \u2190 \u2191 \u2192 \u2193 \u2194 \u2195 \u00b2 \u2212" + (
    " \u00bd \u00bc \u00be \u215b \u215c \u215d \u215e"
)


@pytest.mark.parametrize("name", [PLAIN, BOLD])
def test_the_font_has_the_signs_of_a_shop(name: str) -> None:
    """Degree, diameter, plus-minus, arrows, fractions, squares, a true minus."""
    glyphs = font(name).face.charToGlyph
    assert [sign for sign in SIGNS.split() if ord(sign) not in glyphs] == []
    assert printable(SIGNS) == SIGNS


@pytest.mark.parametrize(
    "job",
    [
        "\u05de\u05d9\u05db\u05dc \u05d3\u05dc\u05e7",
        "\u062e\u0632\u0627\u0646 \u0627\u0644\u0648\u0642\u0648\u062f",
        "tank \U0001f3cd\ufe0f \u6f22",
        "a/b\\c \"quoted\" 'x' <&>",
        "x" * 200,
    ],
)
def test_no_name_breaks_a_page(job: str) -> None:
    """A character the font lacks stands as an open box; words stay within the page."""
    tank = replace(tank_model(), names=(job, *tank_model().names[1:]))
    facts = job_facts(job=job, model="\U0001f3cd")
    sheet = replace(panel_sheet("left side"), job=facts, tank=tank, panel=job)
    page = one_piece(sheet)
    for placed in page.contents:
        left, bottom, right, top = placed.drawing.box
        assert left + placed.x >= 0.0
        assert bottom + placed.y >= 0.0
        assert right + placed.x <= page.width_mm
        assert top + placed.y <= page.height_mm
    texts = [
        capitals(text).buffer(-0.05)
        for placed in page.contents
        for text in placed.drawing.moved(placed.x, placed.y).texts
    ]
    pairs = shapely.STRtree(texts).query(texts, predicate="intersects")
    assert (pairs[0] == pairs[1]).all()
    if "\U0001f3cd" in job:
        assert "\u25a1" in printable(words_on(page))
