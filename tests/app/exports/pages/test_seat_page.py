"""The seat face on paper and in cutting files: curves read back, map, words, nothing unproved."""

import io
from dataclasses import replace

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import SeatSheet, plate_files, seat_plates, sheaf_of_seat
from app.exports.drawing import Meaning
from app.exports.pages import seat_pages
from app.job import Seat, SeatChoice, held_seat
from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.job.rest.test_seat_step import found, plate, seat
from tests.geometry.gauges.test_seat import leaning
from tests.geometry.surface.flats.trays import tray


def sheet(of: Seat | None = None, *, proved: bool = True) -> SeatSheet:
    job = replace(panel_sheet("left side").job, size_proved=proved)
    return SeatSheet(job, of or found())


def words_of(pages: SeatSheet) -> str:
    (page,) = seat_pages(pages)
    return " ".join(text.text for placed in page.contents for text in placed.drawing.texts)


def cut_read_back(files: dict[str, bytes], name: str) -> FloatArray:
    """Return the CUT polyline of a DXF, its arcs followed to 0.001 mm."""
    text = files[f"{name}.dxf"].decode("utf-8")
    drawing = ezdxf.filemanagement.read(io.StringIO(text))
    (line,) = drawing.modelspace().query('*[layer=="CUT"]')
    assert isinstance(line, LWPolyline)
    return np.array([(p.x, p.y) for p in ezdxf.path.make_path(line).flattening(0.001)])


def apart(line: FloatArray, other: FloatArray) -> float:
    """Return how far the points of a line are from another, placed the same."""
    course = shapely.LineString(other)
    return float(shapely.distance(shapely.points(line), course).max())


def test_both_templates_are_read_back_from_their_cutting_files() -> None:
    """A DXF may be moved on its sheet: laid on by middles.

    Points within 0.02 mm, arcs followed to 0.001 and laid on to 0.001 besides; the chords between
    points 2.1 mm apart on a round of 45.9 mm are 2.1^2 / 8 / 45.9 = 0.012 off on top.
    """
    for made in seat_plates(sheet()):
        files = plate_files(made)
        outline = shapely.Polygon(cut_read_back(files, made.name))
        wanted = shapely.Polygon(made.outline)
        assert outline.area == pytest.approx(wanted.area, abs=0.02 * wanted.length)
        laid = _laid_on(wanted, outline)
        assert apart(np.array(laid.exterior.coords), np.array(outline.exterior.coords)) < 0.022
        assert outline.hausdorff_distance(laid) < 0.022 + 0.012


def _laid_on(shape: shapely.Polygon, other: shapely.Polygon) -> shapely.Polygon:
    """Return a shape moved so that its middle lies on another's."""
    by = np.array(other.centroid.coords[0]) - np.array(shape.centroid.coords[0])
    return shapely.transform(shape, lambda points: points + by)


def test_the_line_templates_hollow_is_the_line() -> None:
    (_, over) = seat_plates(sheet())
    (cut,) = [line for line in over.lines if line.meaning is Meaning.CUT]
    assert cut.curve is not None
    assert apart(found().line, np.concatenate([cut.points, cut.points[:1]])) < 0.03


def test_left_is_on_the_left_as_seen_from_behind() -> None:
    for made in seat_plates(sheet()):
        place = {note.words: note.place for note in made.notes}
        assert place["LEFT"][0] < 0.0 < place["RIGHT"][0]
        assert made.face == "MARKED FACE LOOKS BACK"


def test_nothing_is_cut_while_the_size_is_not_taped() -> None:
    for made in seat_plates(sheet(proved=False)):
        assert made.no_cut == "SIZE NOT TAPED"
        assert Meaning.CUT not in {line.meaning for line in made.lines}
        assert not [name for name in plate_files(made) if name.endswith((".dxf", ".svg"))]


def test_the_page_says_how_it_leans_and_how_flat_it_is() -> None:
    said = words_of(sheet())
    assert "Leans 18" in said
    assert "Flat within" in said
    assert "Shop aid, not an approval" in said
    assert "HELD" not in said


def test_the_page_says_what_its_lean_hangs_on() -> None:
    leans = sheet()
    level = "Level is that of the flat bottom edge."
    assert level not in words_of(leans)
    assert level in words_of(replace(leans, job=replace(leans.job, level=level)))


def test_a_warped_face_has_level_lines_and_numbers_to_a_tenth() -> None:
    """Its middle stands 0.4 mm higher than its rim: lines on both sides of the plane, 0.1 apart."""
    warped = seat(SeatChoice(), leaning(tray(1.2, noise_mm=0.02, warp_mm=0.4)))
    (page,) = seat_pages(sheet(warped))
    lines = [line for placed in page.contents for line in placed.drawing.lines]
    meanings = [line.meaning for line in lines]
    assert meanings.count(Meaning.STRETCH_CONTOUR) >= 1
    assert meanings.count(Meaning.SHRINK_CONTOUR) >= 1
    numbers = {
        text.text for placed in page.contents for text in placed.drawing.texts if text.masked
    }
    assert numbers & {"+1", "+2", "+3"}
    assert numbers & {"-1", "-2"}


def test_a_held_face_says_what_moved_off_it() -> None:
    held = SeatChoice(held=held_seat(found()))
    assert "still lies there" in words_of(sheet(seat(held)))
    moved = TriMesh(plate().vertices + 0.6 * found().plane.normal, plate().faces)
    said = words_of(sheet(seat(held, moved)))
    assert "HELD" in said
    assert "0.6 mm" in said
    plates = seat_plates(sheet(seat(held, moved)))
    assert all("moved off" in " ".join(each.remarks) for each in plates)


def test_what_nobody_scanned_is_told_and_drawn() -> None:
    part = np.zeros(len(found().line), bool)
    part[10:60] = True
    guessed = sheet(replace(found(), line_filled=part))
    assert "NOT SCANNED" in words_of(guessed)
    over = seat_plates(guessed)[1]
    assert Meaning.NO_DATA in {line.meaning for line in over.lines}
    assert "NOT SCANNED" in " ".join(over.remarks)


def test_what_was_made_from_the_other_side_is_told_and_drawn() -> None:
    part = np.zeros(len(found().line), bool)
    part[10:60] = True
    copied = sheet(replace(found(), line_copied=part))
    assert "MADE FROM THE OTHER SIDE" in words_of(copied)
    over = seat_plates(copied)[1]
    assert Meaning.COPIED in {line.meaning for line in over.lines}
    assert "MADE FROM THE OTHER SIDE" in " ".join(over.remarks)


def test_its_pages_have_a_file_of_their_own() -> None:
    assert sheaf_of_seat(sheet()).name == "seat face.pdf"


def _wide_map(of: SeatSheet) -> float:
    """Return how wide the face's own outline is on the page, mm."""
    (page,) = seat_pages(of)
    lines = [line for part in page.contents for line in part.drawing.lines]
    (edge,) = (line for line in lines if line.meaning is Meaning.NET and line.closed)
    return float(np.ptp(edge.points[:, 0]))


def test_a_map_at_full_size_has_bars_both_ways_and_no_other_has() -> None:
    """A bar is 100 mm long on the page; a face too wide for it is drawn smaller and says so."""
    full = sheet()
    corner = full.seat.plane.flat(full.seat.plane.corner)
    assert _wide_map(full) == pytest.approx(float(np.ptp(corner[:, 0])), rel=1e-9)
    (page,) = seat_pages(full)
    bars = [
        np.ptp(line.points, axis=0)
        for part in page.contents
        for line in part.drawing.lines
        if line.meaning is Meaning.BAR
    ]
    for way in ([100.0, 0.0], [0.0, 100.0]):
        assert any(np.allclose(bar, way) for bar in bars)
    assert "measure the bars" in words_of(full)
    plane = full.seat.plane
    across = 220.0 / float(np.ptp(corner[:, 0]))
    large = replace(plane, corner=plane.point + (plane.corner - plane.point) * across)
    reduced = replace(full, seat=replace(full.seat, plane=large))
    told = words_of(reduced)
    assert "NOT FULL SIZE" in told
    assert "bars" not in told
    assert _wide_map(reduced) <= 184.0 - 28.0 + 1e-6
    (page,) = seat_pages(reduced)
    lines = [line for part in page.contents for line in part.drawing.lines]
    assert all(line.meaning is not Meaning.BAR for line in lines)
