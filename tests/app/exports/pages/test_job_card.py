"""The job card on paper: the maker's own stages, what was measured, sheet sums, cautions behind."""

from dataclasses import replace
from datetime import date

import numpy as np
import pypdfium2
import pytest

from app.exports import JobFacts, ProofTape
from app.exports.drawing import Meaning, Page, Text
from app.exports.files import pdf_bytes
from app.exports.pages.cautions import (
    ALL_CAUTIONS,
    DEFER,
    LINES,
    PSI_KPA,
    leak_words,
    pressure_steps,
)
from app.exports.pages.job_card import CardSheet, job_card_pages
from app.job import (
    JobCard,
    PanelCard,
    Price,
    Reading,
    Stage,
    with_anneal,
    with_gap,
    with_hours,
    with_stage_state,
    with_stages_named,
    with_thickness,
)
from geometry.metal import BlankUse, sheet_metal, sheet_use

FACTS = JobFacts(
    job="Brackwater 225 scrambler", alloy="3003-H14", thickness_mm=1.6, revision="3",
    dated=date(2026, 11, 26), scan_unit="millimetres", tapes=(ProofTape(537.0, 536.9),),
    size_proved=True, surface="Blank on the middle of the metal", model="Brackwater 225",
    replaces="2",
)  # fmt: skip
PANELS = ("left side", "right side", "top strip", "front end", "seat end")
USE = sheet_use(
    sheet_metal("3003-H14"), 1.6, [BlankUse(name, 100e3, 500.0, 250.0) for name in PANELS]
)


def worked() -> JobCard:
    card = with_stage_state(JobCard(), 0, "done")
    card = with_stage_state(card, 1, "waiting", "the customer")
    card = with_stage_state(card, 2, "doing")
    card = with_anneal(with_anneal(card, "top strip"), "top strip")
    card = with_thickness(card, "top strip", Reading("crown", 1.31))
    card = with_gap(card, "top strip", Reading("seam A, mark 3", 0.4))
    return with_hours(with_hours(card, 3.5, "top strip"), 2.0)


def sheet_of(card: JobCard, **changes: object) -> CardSheet:
    made = CardSheet(FACTS, card, PANELS, (USE,), Price(7.5, "kg", "EUR"), ("left side", 541.0))
    return replace(made, **changes)  # type: ignore[arg-type]


def texts_of(pages: list[Page]) -> list[Text]:
    return [text for page in pages for placed in page.contents for text in placed.drawing.texts]


def words_of(pages: list[Page]) -> str:
    return " ".join(text.text for text in texts_of(pages))


def crosses(pages: list[Page]) -> int:
    """Return how many boxes are ticked: two strokes each."""
    lines = [line for page in pages for placed in page.contents for line in placed.drawing.lines]
    return (
        sum(
            line.meaning is Meaning.BAR and bool((np.ptp(line.points, axis=0) > 1.0).all())
            for line in lines
        )
        // 2
    )


def test_a_five_panel_tank_takes_one_page_and_its_back() -> None:
    pages = job_card_pages(sheet_of(worked()))
    assert len(pages) == 2
    assert "sheet 1 of 2" in words_of(pages[:1])
    assert "CAUTIONS" in words_of(pages[1:])


def test_the_next_step_stands_on_top_and_waiting_says_what_for() -> None:
    words = words_of(job_card_pages(sheet_of(worked())))
    assert "NOW: scan and set true" in words
    assert "waiting for the customer" in words
    assert "NEXT: take the order" in words_of(job_card_pages(sheet_of(JobCard())))
    done = JobCard(stages=(Stage("all of it", "done"),))
    assert "NEXT: all done" in words_of(job_card_pages(sheet_of(done)))


def test_done_stages_and_anneals_are_ticked_and_nothing_else() -> None:
    """One stage done, two anneals."""
    assert crosses(job_card_pages(sheet_of(worked()))) == 3
    assert crosses(job_card_pages(sheet_of(JobCard()))) == 0


def test_the_makers_own_list_is_printed_in_the_makers_order() -> None:
    card = with_stages_named(JobCard(), ["base first", "sides", "polish"])
    told = [text.text for text in texts_of(job_card_pages(sheet_of(card)))]
    places = [told.index(name) for name in ("base first", "sides", "polish")]
    assert places == sorted(places)
    assert "anneal" not in told


def test_readings_hours_and_metal_are_told_in_both_units() -> None:
    words = words_of(job_card_pages(sheet_of(worked())))
    for told in ("crown: 1.31 mm (.052 in)", "seam A, mark 3: 0.4 mm (.016 in)", "hours 3.5 +"):
        assert told in words
    assert "HOURS altogether 5.5" in words
    used = JobCard(panels=(PanelCard("left side", metal_mm2=210_000.0),))
    assert "metal used 2100 cm\u00b2" in words_of(job_card_pages(sheet_of(used)))


def test_sheet_weight_and_cost_are_those_of_the_rectangles() -> None:
    """5 x 500 x 250 x 1.6 mm at 2.73 g/cm3 is 2.73 kg, at 7.50 a kilogram 20.475."""
    words = words_of(job_card_pages(sheet_of(worked())))
    assert "2.7 kg (6.0 lb)" in words
    assert "EUR 20.48" in words or "EUR 20.47" in words
    assert "4 x 8 ft (13 kg, 28.6 lb) takes 21 of every 100" in words


def test_without_blanks_or_price_nothing_is_invented() -> None:
    words = words_of(job_card_pages(sheet_of(JobCard(), sheets=(), price=None, largest_face=None)))
    assert "nothing to weigh" in words
    assert "Cost" not in words
    assert "psi the" not in words


@pytest.mark.parametrize("count", [30, 500])
def test_many_panels_and_long_names_flow_on_and_nothing_runs_off(count: int) -> None:
    names = tuple(f"panel number {n} of the very long name {n}" * 2 for n in range(count))
    stages = tuple(Stage(f"stage {n} " * 8) for n in range(60))
    pages = job_card_pages(sheet_of(JobCard(stages=stages), panels=names, sheets=()))
    assert len(pages) > 4
    for page in pages:
        for placed in page.contents:
            if not placed.drawing.lines and not placed.drawing.texts:
                continue
            left, bottom, right, top = placed.drawing.moved(placed.x, placed.y).box
            assert min(left, bottom + 0.9) >= 9.9
            assert max(right, top - 87.0) <= page.width_mm - 9.0
    told = words_of(pages)
    assert f"sheet {len(pages)} of {len(pages)}" in told


def test_words_do_not_stand_on_each_other() -> None:
    for page in job_card_pages(sheet_of(worked())):
        boxes = [
            np.array(text.box)
            for placed in page.contents
            for text in placed.drawing.moved(placed.x, placed.y).texts
        ]
        for first, one in enumerate(boxes):
            for other in boxes[first + 1 :]:
                apart = np.concatenate([one[:2] - other[2:], other[:2] - one[2:]])
                assert apart.max() > -0.25


def test_small_print_is_no_smaller_than_a_shop_can_read() -> None:
    assert min(text.height_mm for text in texts_of(job_card_pages(sheet_of(worked())))) >= 2.5


def test_every_hazard_of_the_work_is_on_the_back_and_all_defer_to_local_codes() -> None:
    back = words_of(job_card_pages(sheet_of(worked()))[-1:])
    for caution in ALL_CAUTIONS:
        assert caution.heading.split()[0] in back
    for hazard in ("phosgene", "hydrogen", "ventilate", "full lock", "Styrene", "relief valve"):
        assert hazard in back
    assert "local codes" in back
    assert "licensed" in back
    assert "approves" in DEFER


def test_the_cautions_that_bite_stand_on_the_front_one_line_each() -> None:
    front = [text.text for text in texts_of(job_card_pages(sheet_of(worked()))[:1])]
    for line in LINES:
        assert line in front  # whole on one line, not broken


def test_a_leak_test_begins_low_and_says_what_a_pound_does() -> None:
    """1 psi on 10 x 20 in is 200 lbf (889.6 N); a quarter first. Source: [nist811]."""
    load = PSI_KPA * 1e-3 * (10 * 25.4) * (20 * 25.4)
    assert "200 lbf" in leak_words("left side", load)
    steps = pressure_steps()
    assert steps.index("0.25 psi") < steps.index("0.5 psi") < steps.index("1 psi (27.7 in water")
    assert "Water first" in next(c.words for c in ALL_CAUTIONS if c.heading == "Pressure test")


def test_the_file_read_back_is_upright_a4_with_its_words_and_the_same_every_time() -> None:
    """Read by pypdfium2, which did not write it; A4 is 210 x 297 mm (ISO 216), a point 1/72 in."""
    made = pdf_bytes(job_card_pages(sheet_of(worked())), "job card")
    assert made == pdf_bytes(job_card_pages(sheet_of(worked())), "job card")
    document = pypdfium2.PdfDocument(made)
    assert len(document) == 2
    for page in document:
        assert np.array(page.get_size()) * 25.4 / 72.0 == pytest.approx([210.0, 297.0], abs=1e-3)
    words = document[0].get_textpage().get_text_range().replace("\r\n", " ")
    for told in ("JOB CARD", "NOW: scan and set true", "crown: 1.31 mm (.052 in)", "Shop aid"):
        assert told in words


def test_every_stage_not_waiting_leaves_room_to_write_what_it_waits_for() -> None:
    pages = job_card_pages(sheet_of(worked()))
    waits = next(text for text in texts_of(pages) if text.text == "waiting for")
    rules = [
        np.ptp(line.points[:, 0])
        for placed in pages[0].contents
        for line in placed.drawing.lines
        if line.meaning is Meaning.GRID
        and line.points[:, 0].min() >= waits.place[0]
        and line.points[:, 0].max() == pytest.approx(62.0)
    ]
    stages = worked().stages
    assert len(rules) >= sum(stage.state != "waiting" for stage in stages)
    assert min(rules) >= 10.0
    assert words_of(pages).count("now at stage:") == len(PANELS)


def test_pieces_besides_the_panels_are_named_on_the_sheet_they_are_cut_from() -> None:
    net = BlankUse("tunnel net", 150e3, 500.0, 350.0)
    thin = sheet_use(sheet_metal("3003-H14"), 1.2, [net])
    disc = BlankUse("filler recess blank", 12e3, 124.0, 124.0)
    own = sheet_use(sheet_metal("3003-H14"), 1.6, [*USE.blanks, disc])
    words = words_of(job_card_pages(sheet_of(JobCard(), sheets=(own, thin))))
    assert "1.6 mm (.063 in): 5 panels, filler recess blank. Cut out" in words
    assert "1.2 mm (.047 in): tunnel net. Cut out" in words
    assert words.count("Cost of the rectangles") == 1  # the price is that of the tank's own sheet
