"""The gap list on paper: a row for every position, places by number, cautions, what is wrong."""

from dataclasses import replace

import numpy as np

from app.exports import FrameSheet, TankModel, sheaf_of_frame
from app.exports.drawing import Meaning
from app.exports.pages import frame_pages
from app.job import FrameBody, FrameFitChoice, SteeringChoice, TankSpot
from app.job.rest.frame_step import frame_step
from geometry.progress import silent
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.job.rest.test_frame_step import METAL, bar, stood

AXIS = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(30.0))
LEVER = FrameBody("lever", "bar", "round", TankSpot(0, 40, 30), TankSpot(0, 50, 30), 8.0)


def sheet(*bodies: FrameBody, filled: bool = False) -> FrameSheet:
    tank = stood()
    if filled:
        tank = replace(tank, filled=np.ones(len(tank.outside.faces), bool))
    choice = FrameFitChoice(bodies=bodies, steering=AXIS)
    fit = frame_step(tank, choice, METAL, report=silent)
    whole = np.zeros(len(tank.outside.faces), np.int64)
    model = TankModel(tank.outside.vertices, tank.outside.faces, whole, ("",), filled=tank.filled)
    job = panel_sheet("left side").job
    return FrameSheet(job, model, fit)


def words_of(made: FrameSheet) -> list[str]:
    return [
        text.text
        for page in frame_pages(made)
        for placed in page.contents
        for text in placed.drawing.texts
    ]


def test_every_position_has_a_row_with_its_gap_both_ways() -> None:
    made = sheet(LEVER, bar("coil", "coil", -31.0))
    said = words_of(made)
    for number, each in enumerate(made.fit.gaps, start=1):
        assert str(number) in said
        assert any(words.startswith(each.body.name) for words in said)
    assert any("bars 30\u00b0 right" in words for words in said)
    assert "19 mm (3/4 in)" in said  # 31 - 10 to the skin, less the sheet of 2


def test_what_is_wrong_is_bold_and_drawn_thick() -> None:
    made = sheet(bar("top tube", "tube", -9.0), bar("coil", "coil", 40.0))
    (page,) = frame_pages(made)
    texts = [text for placed in page.contents for text in placed.drawing.texts]
    (wrong,) = [text for text in texts if text.text == "THROUGH THE SKIN"]
    assert wrong.bold
    lines = [line for placed in page.contents for line in placed.drawing.lines]
    meanings = [line.meaning for line in lines if line.closed]
    assert meanings.count(Meaning.NET) == 4  # in each of the four pictures
    assert meanings.count(Meaning.SCRIBE) == 4
    assert any("through 1 mm" in text.text for text in texts)


def test_steering_cables_and_hot_parts_are_cautioned_on_every_page() -> None:
    many = [bar(f"bolt {number}", "bolt", 30.0 + number) for number in range(30)]
    pages = frame_pages(sheet(*many))
    assert len(pages) > 1
    for page in pages:
        said = " ".join(text.text for placed in page.contents for text in placed.drawing.texts)
        for word in ("full lock", "cables", "hot parts", "competent", "Shop aid"):
            assert word in said


def test_a_gap_over_what_nobody_scanned_says_so() -> None:
    said = words_of(sheet(bar("coil", "coil", 40.0), filled=True))
    assert any("NOT SCANNED" in words for words in said)


def test_bodies_far_larger_than_the_tank_are_drawn_within_their_pictures() -> None:
    long = FrameBody("spine", "tube", "round", TankSpot(-900, 0, -40), TankSpot(900, 0, -40), 30.0)
    (page,) = frame_pages(sheet(long))
    for placed in page.contents:
        for line in placed.drawing.lines:
            x = line.points[:, 0] + placed.x
            assert x.min() > 5.0
            assert x.max() < 205.0


def test_its_pages_have_a_file_of_their_own() -> None:
    assert sheaf_of_frame(sheet(bar("coil", "coil", 40.0))).name == "frame fit.pdf"


def test_usual_words_stand_whole_in_their_columns() -> None:
    lever = replace(LEVER, name="handlebar", both_hands=True)
    made = sheet(lever, bar("top tube", "tube", -9.0), bar("coil", "coil", -160.0))
    assert not [words for words in words_of(made) if words.endswith("...")]
