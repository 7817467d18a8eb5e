"""How a page says that its size is proved: every tape, and how it lay."""

from dataclasses import replace

from app.exports import ProofTape
from app.exports.words import LAID_WORDS, proof_words, short_proof_words, trim_words
from geometry.datum import TAPE_KINDS
from tests.app.exports.sample_sheets import job_facts, panel_sheet

TAPES = (
    ProofTape(560.0, 559.4),
    ProofTape(912.0, 911.2, "girth"),
    ProofTape(430.0, 430.3, "over"),
    ProofTape(300.0, 300.0, "along"),
)


def test_every_kind_of_tape_has_its_word() -> None:
    assert set(LAID_WORDS) == set(TAPE_KINDS)


def test_the_proof_names_how_every_tape_lay() -> None:
    told = proof_words(job_facts(tapes=TAPES))
    assert told.startswith("SIZE PROVED by 4 tapes: taped 560 mm (22 1/16 in), scan 559.4; ")
    assert "taped 912 mm (35 7/8 in) girth, scan 911.2" in told
    assert "taped 300 mm (11 13/16 in) along, scan 300" in told
    assert short_proof_words(job_facts(tapes=TAPES)) == (
        "SIZE PROVED by 4 tapes: 560 mm, 912 mm girth, 430 mm over, 300 mm along"
    )


def test_one_tape_is_not_said_as_many() -> None:
    assert "by 1 tape:" in short_proof_words(job_facts(tapes=TAPES[:1]))


def test_in_inches_a_tape_is_told_to_a_32nd_and_what_is_left_over() -> None:
    """560 mm is 22.0472 in: 22 1/16 less .015; 559.4 mm is 22.0236: 22 1/32 less .008."""
    told = job_facts(tapes=TAPES[:1], show="in")
    assert short_proof_words(told) == "SIZE PROVED by 1 tape: 22 1/16 in less .015"
    assert proof_words(told) == (
        "SIZE PROVED by 1 tape: taped 22 1/16 in less .015 (560 mm), scan 22 1/32 in less .008"
    )


def test_widths_that_read_the_same_are_told_once() -> None:
    """13 and 13.1 mm are both 1/2 in; in millimetres they are two."""
    sheet = panel_sheet()
    pattern = sheet.pattern
    cuts = tuple(
        replace(cut, cut_mm=13.0 + 0.1 * (at > 0))
        for at, cut in enumerate(pattern.allowance_of_edge)
    )
    assert len(cuts) > 1
    wide = replace(sheet, pattern=replace(pattern, allowance_of_edge=cuts))
    assert trim_words(replace(wide, job=replace(sheet.job, show="in"))) == "1/2 in (13.1 mm)"
    metric = replace(wide, job=replace(sheet.job, show="mm"))
    assert trim_words(metric) == "13 to 13.1 mm (1/2 in)"
