"""Boards bound in one file: the contents are true of the file as another library reads it back."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from pypdf.generic import Destination

from app.exports import A4, LETTER, Output, Plate, booklets, files_of_plates, sheaves_of_plate
from app.exports.output import paper_named
from tests.app.exports.sample_plates import strip

A0 = paper_named("a0")


def boards(count: int = 3, *, proved: bool = True) -> tuple[Plate, ...]:
    lengths = (380.0, 120.0, 700.0)
    return tuple(
        replace(strip(proved=proved, long_mm=lengths[k % 3]), name=f"board {k + 1:02d}")
        for k in range(count)
    )


def bound(plates: tuple[Plate, ...], output: Output) -> dict[str, PdfReader]:
    files = files_of_plates(plates, output, booklet="boards")
    return {
        name: PdfReader(io.BytesIO(content))
        for name, content in files.items()
        if re.fullmatch(r"boards_.*\.pdf", name)
    }


def test_every_paper_has_one_file_with_all_pages_of_every_board() -> None:
    plates, output = boards(), Output(papers=(A4, LETTER))
    for paper, (name, read) in zip(output.papers, bound(plates, output).items(), strict=True):
        assert name == f"boards_{paper.key}.pdf"
        own = [
            sheaf
            for plate in plates
            for sheaf in sheaves_of_plate(plate, output)
            if sheaf.name.endswith(f"_{paper.key}.pdf")
        ]
        assert len(read.pages) == 1 + sum(len(sheaf.pages) for sheaf in own)
        for page in read.pages:
            sides = sorted((float(page.mediabox.width), float(page.mediabox.height)))
            assert sides == pytest.approx(
                [side / 25.4 * 72.0 for side in sorted(paper.size)], abs=1e-3
            )


@pytest.mark.parametrize("count", [3, 60])
def test_the_contents_name_the_pages_each_board_is_on_and_the_tiles_to_join(count: int) -> None:
    (read,) = bound(boards(count), Output(papers=(A4,))).values()
    texts = [page.extract_text() for page in read.pages]
    fronts = [at for at, text in enumerate(texts) if "Contents of the whole file" in text]
    assert fronts == list(range(len(fronts)))
    assert (len(fronts) > 1) == (count == 60)
    told = "\n".join(texts[at] for at in fronts)
    rows = re.findall(r"(board \d\d)\n(\d+) - (\d+)\n(none: one tile|(\d+) tiles)", told)
    assert [row[0] for row in rows] == [f"board {k + 1:02d}" for k in range(count)]
    expected = len(fronts) + 1
    for name, first, last, tiles, several in rows:
        assert int(first) == expected
        expected = int(last) + 1
        own = texts[int(first) - 1 : int(last)]
        assert all(name.upper() in text for text in own)
        assert "KEY PLAN" in own[0]
        joined = sum("TILE " in text for text in own)
        assert joined == (1 if tiles == "none: one tile" else int(several))
    assert expected == len(read.pages) + 1


def test_pages_are_numbered_through_and_viewers_list_the_boards() -> None:
    plates = boards()
    (read,) = bound(plates, Output(papers=(A4,))).values()
    count = len(read.pages)
    for at, page in enumerate(read.pages, start=1):
        assert f"boards, A4, page {at} of {count}" in page.extract_text()
    listed = [each for each in read.outline if isinstance(each, Destination)]
    assert [each.title for each in listed] == ["contents", *(plate.name for plate in plates)]
    for each in listed[1:]:
        lies = read.get_destination_page_number(each)
        assert lies is not None
        assert (each.title or "").upper() in read.pages[lies].extract_text()


def test_a_board_that_may_not_be_cut_is_told_in_the_contents() -> None:
    (read,) = bound(boards(proved=False), Output(papers=(A4,))).values()
    first = " ".join(read.pages[0].extract_text().split())
    assert first.count("NO CUT LINE: SIZE NOT TAPED.") == 3
    (read,) = bound(boards(), Output(papers=(A4,))).values()
    assert "NO CUT LINE" not in read.pages[0].extract_text()


def test_every_bound_page_is_the_page_of_the_boards_own_file_and_its_number() -> None:
    plates, output = boards(), Output(papers=(A4, A0))
    pages = [sheaf for plate in plates for sheaf in sheaves_of_plate(plate, output)]
    for paper, booklet in zip(
        output.papers, booklets("boards", plates, pages, output), strict=True
    ):
        own = [
            page
            for sheaf in pages
            if sheaf.name.endswith(f"_{paper.key}.pdf")
            for page in sheaf.pages
        ]
        assert len(booklet.pages) == len(own) + 1
        for page, of_board in zip(booklet.pages[1:], own, strict=True):
            assert page.contents[:-1] == of_board.contents


def test_nothing_is_bound_where_there_are_no_plates_or_no_papers() -> None:
    assert files_of_plates((), Output(), booklet="boards") == {}
    assert bound(boards(), Output(papers=())) == {}


def test_pages_composed_before_are_taken_and_bound_alike() -> None:
    plates, output = boards(2), Output(papers=(A4,))
    pages = [sheaf for plate in plates for sheaf in sheaves_of_plate(plate, output)]
    kept = files_of_plates(plates, output, booklet="boards", composed=pages)
    assert kept == files_of_plates(plates, output, booklet="boards")
