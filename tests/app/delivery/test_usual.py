"""Settings of papers and printers become an output; what cannot be used counts as not set."""

from dataclasses import replace

from app.delivery import usual_fractions, usual_output
from app.exports import Correction, Output, paper_named
from app.settings import Printer, Settings


def test_settings_never_touched_give_the_usual_papers() -> None:
    assert usual_output(Settings()) == Output()


def test_papers_roll_and_the_printer_used_are_taken() -> None:
    kept = replace(Settings(), papers=("a3", "500x700mm"), roll_mm=914.4)
    kept = kept.with_printer(Printer("den", 0.99)).with_printer(Printer("shop", 1.01, 1.002))
    found = usual_output(kept)
    assert found.papers == (paper_named("A3"), paper_named("500x700mm"))
    assert (found.roll_mm, found.correction) == (914.4, Correction(1.01, 1.002))
    assert usual_output(replace(kept, printer="gone")).correction == Correction()


def test_papers_that_cannot_be_printed_on_are_passed_over() -> None:
    kept = replace(Settings(), papers=("A4", "10x10mm"), roll_mm=50.0)
    assert usual_output(kept).papers == (paper_named("A4"),)
    assert usual_output(kept).roll_mm is None
    assert usual_output(replace(kept, papers=("napkin",))).papers == Output().papers


def test_fractions_are_those_kept() -> None:
    found = usual_fractions(replace(Settings(), fit_fraction=64))
    assert (found.cutting, found.fit, found.small) == (16, 64, 64)
