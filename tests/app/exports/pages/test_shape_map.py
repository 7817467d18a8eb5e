"""The shape map for every eye and every copier, and what it tells along the edges."""

import itertools
from functools import cache

import numpy as np
import pypdfium2
import pytest
import shapely

from app.exports import PanelSheet, TankModel
from app.exports.drawing import BLACK, Colour, Meaning, Page
from app.exports.files import pdf_bytes
from app.exports.marking_out import TICK_MM
from app.exports.pages import shape_pages
from app.exports.pages.edge_work import amount_words, edge_ticks, slits_and_folds
from app.exports.pages.shape_map import bands
from app.exports.words import tape_reading, tells_a_tape
from geometry.arrays import FloatArray
from geometry.blank import Work, flatten
from geometry.mesh import TriMesh
from geometry.pattern import dress
from tests.app.exports.sample_sheets import job_facts, panel_sheet
from tests.bodies import dome, graph_patch

PROTAN = np.array(
    [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ]
)
DEUTAN = np.array(
    [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ]
)
EYES = {"all colours": np.eye(3), "no red": PROTAN, "no green": DEUTAN}
"""Linear red, green and blue as such an eye sees them. Source: [machado2009], severity 1."""


def lab(colour: Colour, eye: FloatArray) -> FloatArray:
    """Return CIE L*, a*, b* of an sRGB colour as an eye sees it, white point D65."""
    part = np.array(colour)
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    seen = np.clip(eye @ linear, 0.0, 1.0)
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    ratio = (to_xyz @ seen) / np.array([0.9505, 1.0, 1.089])
    root = np.where(ratio > 0.008856, np.cbrt(ratio), 7.787 * ratio + 16.0 / 116.0)
    x, y, z = root.tolist()
    return np.array([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)])


@pytest.mark.parametrize("eye", EYES)
def test_more_is_darker_and_the_two_ways_differ_for_eyes_that_lack_a_colour(eye: str) -> None:
    """L* falls with every band; stretch stays yellowish (b* above 0), shrink bluish."""
    every = bands(np.array([-0.08, -0.06, -0.04, -0.02, 0.02, 0.04, 0.06, 0.08]))
    for sign in (1.0, -1.0):
        side = [lab(band.colour, EYES[eye]) for band in every if band.level * sign > 0.0]
        for weaker, stronger in itertools.pairwise(side):
            assert weaker[0] - stronger[0] > 1.5
        assert side[0][0] < lab((1.0, 1.0, 1.0), EYES[eye])[0] - 1.5
        assert all(sign * seen[2] > 5.0 for seen in side)
    for level in (0.02, 0.08):
        there, back = (
            lab(next(band.colour for band in every if band.level == way * level), EYES[eye])
            for way in (1.0, -1.0)
        )
        assert np.linalg.norm(there - back) > 20.0


@cache
def pages_of(name: str = "left side", show: str = "mm") -> tuple[Page, ...]:
    return tuple(shape_pages(panel_sheet(name, show=show)))


def test_after_a_photocopier_bands_stay_hatched_and_what_is_left_stays_white() -> None:
    """At 150 dots an inch, each black or white: share of black well within band and blank."""
    page = pages_of()[0]
    document = pypdfium2.PdfDocument(pdf_bytes([page], "x"))
    picture = document[0].render(scale=150.0 / 72.0, grayscale=True).to_pil()
    document.close()
    black = np.asarray(picture.convert("L")) < 128
    dots = 150.0 / 25.4
    rows, columns = np.indices(black.shape)
    x, y = (columns + 0.5) / dots, page.height_mm - (rows + 0.5) / dots
    fills = [fill for part in page.contents[1:2] for fill in part.drawing.fills]
    shares: dict[Colour, float] = {}
    covered = []
    for fill in fills:
        area = shapely.Polygon(fill.loops[0], fill.loops[1:]).buffer(0.0)
        covered.append(area)
        if fill.colour == BLACK:
            continue
        inner = area.buffer(-1.5)
        if inner.area > 150.0:
            within = shapely.contains_xy(inner, x.ravel(), y.ravel()).reshape(black.shape)
            shares[fill.colour] = float(black[within].mean())
    assert len(shares) >= 2
    assert all(0.05 < share < 0.6 for share in shares.values())
    net = next(line for line in page.contents[1].drawing.lines if line.meaning is Meaning.NET)
    left = shapely.Polygon(net.points).buffer(-4.0) - shapely.union_all(covered).buffer(3.0)
    white = shapely.contains_xy(left, x.ravel(), y.ravel()).reshape(black.shape)
    assert white.sum() > 5000
    assert black[white].mean() < 0.5 * min(shares.values())


def lone(mesh: TriMesh, work: Work | None = None) -> PanelSheet:
    """Return a panel by itself, marked out."""
    flat = flatten(mesh, work or Work("von_mises", "formed"))
    tank = TankModel(mesh.vertices, mesh.faces, np.zeros(len(mesh.faces), np.int64), ("top",))
    filled = np.zeros(len(mesh.faces), bool)
    return PanelSheet(job_facts(), "top", flat, dress(flat, tick_mm=TICK_MM["mm"]), filled, tank)


def words(page: Page) -> list[str]:
    return [text.text for part in page.contents for text in part.drawing.texts]


def test_a_caps_edge_is_folded_by_the_closed_form() -> None:
    """100 (1 - sin 30 / 0.51765) = 3.41 in every 100 of a cap of 30 degrees, to 2 %.

    0.51765 R is the blank's radius: the one-dimensional least-work solution, von Mises.
    """
    sheet = lone(dome(200.0, float(np.radians(30.0)), 20))
    truth = 100.0 * (1.0 - np.sin(np.radians(30.0)) / 0.51765076)
    (gather,) = sheet.pattern.gathers
    np.testing.assert_allclose(-gather.change_mm[:-1], truth, rtol=0.02)
    told = words(shape_pages(sheet)[0])
    folds = [word for word in told if word.startswith("F1/") and "fold" in word]
    assert len(folds) >= len(gather.flat_mm) - 1
    assert "F1/1: fold 3.5" in folds
    assert not [word for word in told if "slit " in word and word.startswith("F1/")]


def test_a_saddles_edge_is_slit_open() -> None:
    """Where a panel is saddled its edge is longer than paper: every sign is an open V."""
    x, y = np.meshgrid(*2 * [np.linspace(-110.0, 110.0, 33)], indexing="ij")
    sheet = lone(graph_patch((x**2 - y**2) / 400.0, 110.0, 110.0))
    signs = slits_and_folds(sheet, lambda points: points)
    worked = [
        (flat, formed)
        for gather in sheet.pattern.gathers
        for flat, formed in zip(gather.flat_mm, gather.formed_mm, strict=True)
        if tells_a_tape(flat, formed)
    ]
    assert len(signs.lines) == len(worked) > 3
    assert len(signs.fills) == sum(formed < flat for flat, formed in worked) == 0
    assert [word for word in words(shape_pages(sheet)[0]) if ": slit " in word]


def test_signs_stand_on_the_net_line_and_point_into_the_blank() -> None:
    sheet = panel_sheet("left side")
    on_paper = sheet.lay.on_paper
    net = shapely.Polygon(on_paper(sheet.pattern.net))
    signs = slits_and_folds(sheet, on_paper)
    assert signs.lines
    for sign in signs.lines:
        mouth = (sign.points[0] + sign.points[2]) / 2.0
        assert net.exterior.distance(shapely.Point(mouth)) < 0.3
        assert net.contains(shapely.Point(sign.points[1]))


def test_ticks_stand_a_tape_apart_on_net_and_cut_line() -> None:
    sheet = panel_sheet("left side")
    ticks = edge_ticks(sheet, lambda points: points)
    on_net = sum(len(gather.places) for gather in sheet.pattern.gathers)
    assert len(ticks) > on_net
    assert sheet.pattern.trim is not None
    lines = shapely.union_all(
        [shapely.LinearRing(sheet.pattern.net), shapely.LinearRing(sheet.pattern.trim)]
    )
    for tick in ticks:
        assert lines.distance(shapely.LineString(tick.points)) < 0.6


@pytest.mark.parametrize("show", ["mm", "in"])
def test_every_piece_and_every_total_stands_in_the_table(show: str) -> None:
    sheet = panel_sheet("left side", show=show)
    _, *tables = pages_of("left side", show)
    told = [word for page in tables for word in words(page)]
    for gather in sheet.pattern.gathers:
        count = len(gather.flat_mm)
        assert {f"{gather.letter}/{piece + 1}" for piece in range(count)} <= set(told)
    assert told.count("total") == len(sheet.pattern.edges)
    if show == "mm":
        for gather in (*sheet.pattern.gathers, *sheet.pattern.cut_gathers):
            flat, formed, _ = gather.total_mm
            assert f"{tape_reading(flat):g}" in told
            assert f"{tape_reading(formed):g}" in told
    assert all("MAKES THE LEFT SIDE" in words(page) for page in tables)


def test_what_a_tape_cannot_tell_is_left() -> None:
    assert amount_words("A/1", 100.0, 100.2) == "A/1"
    assert amount_words("A/1", 100.0, 102.1) == "A/1: slit 2"
