"""Paper, printers, allowances, revisions and the board, as they are asked for by command."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import jsonschema
import pypdfium2
import pytest

from app.command_line import run
from app.command_line.paper_arguments import allowance, measured, price
from app.exports import BadPaperError, checked_lengths, roll_paper
from app.job import save_job, with_name, with_print, with_trim
from app.settings import Printer, Settings
from geometry.metal import METALS
from tests.app.job.small_tank import decided
from tests.app.test_command_line_layout import TAPES, TOP, asked, scan, seams

__all__ = ["scan"]
"""The fixture, shared."""

TODAY = date(2026, 11, 26)


def layout(scan: Path, capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """Return the summary of the small dome, laid out."""
    assert run(asked(scan, seams(), *TAPES, "--json", *words)) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def schema(name: str) -> dict[str, Any]:
    """Return a JSON schema that ships."""
    found: dict[str, Any] = json.loads((TOP / f"app/schemas/{name}.schema.json").read_text())
    return found


def test_papers_files_and_edges_come_out_as_asked(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = layout(
        scan, capsys, "--paper", "A3", "--paper", "500x700mm", "--roll", "24in", "--dxf", "r12",
        "--outline", "splines", "--no-turn", "--forming", "freehand", "--grain", "along",
        "--model", "Brackwater 225", "--price", "8EUR/kg", "--allowance", "left side:A=hem 8mm",
        "--allowance", "right side:ridge|left side=none",
    )  # fmt: skip
    jsonschema.validate(found, schema("summary"))
    out = scan.with_name("out")
    names = {path.name for path in out.iterdir()}
    assert {"left side_a3.pdf", "left side_500x700mm.pdf"} <= names
    assert "left side_a4.pdf" not in names
    left, right = found["panels"]
    of_left = {edge["edge"]: edge["allowance"] for edge in left["edges"]}
    assert (of_left["A"]["kind"], of_left["A"]["width"]) == ("hem", 8.0)
    assert {a["width"] for letter, a in of_left.items() if letter != "A"} == {25.4}
    (none,) = (e["allowance"] for e in right["edges"] if e["key"] == "ridge|left side")
    assert (none["kind"], none["cut"]) == ("none", 0.0)
    assert left["outline"]["kind"] == "splines"
    assert found["sheet"]["cost"] == pytest.approx(8.0 * found["sheet"]["rectangle_kg"])
    assert ezdxf.filemanagement.readfile(out / "left side.dxf").dxfversion == "AC1009"
    page = pypdfium2.PdfDocument(out / "left side.pdf")[0]
    assert max(page.get_size()) / 72.0 * 25.4 == pytest.approx(609.6, abs=0.1)


def test_the_revision_goes_up_only_where_paper_differs(
    scan: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.command_line.paper.dated", lambda: date(2025, 11, 26))
    first = layout(scan, capsys)
    assert first["revision"] == {"number": 1, "dated": "2025-11-26", "replaces": None}
    out = scan.with_name("out")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    monkeypatch.setattr("app.command_line.paper.dated", lambda: date(2025, 11, 28))
    again = layout(scan, capsys, "--replace")
    assert again["revision"] == first["revision"]
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    wider = layout(scan, capsys, "--replace", "--allowance", "left side:F1=trim 20mm")
    assert wider["revision"] == {"number": 2, "dated": "2025-11-28", "replaces": 1}
    assert [each["revision"] for each in wider["prints"]] == [1, 2]
    text = pypdfium2.PdfDocument(out / "right side.pdf")[0].get_textpage().get_text_bounded()
    assert "replaces rev 1" in " ".join(text.split())


WRONG = {
    "paper unknown": (("--paper", "A4,napkin"), "napkin"),
    "paper too small": (("--paper", "50x50mm"), "at least 206 x 270"),
    "roll without unit": (("--roll", "24"), "roll"),
    "roll narrow": (("--roll", "100mm"), "at least 206"),
    "bars": (("--printer-measured", "189"), "two bars"),
    "bars without unit": (("--printer-measured", "189x270"), "unit"),
    "printer unknown": (("--printer", "den"), 'No printer called "den"'),
    "printer scales": (("--printer-measured", "150x270mm"), "150"),
    "dxf": (("--dxf", "R9"), "R9"),
    "allowance": (("--allowance", "left side=hem 8mm"), "write it as"),
    "allowance kind": (("--allowance", "left side:A=bead 8mm"), "bead"),
    "allowance width": (("--allowance", "left side:A=hem"), "needs its width"),
    "allowance bare": (("--allowance", "left side:A=hem 8"), "needs its width with its unit"),
    "gauge for a width": (("--allowance", "left side:A=hem 16 gauge"), "gauge"),
    "angle of a hem": (("--allowance", "left side:A=hem 8mm 90deg"), "only a flange"),
    "edge twice": (
        ("--allowance", "left side:A=hem 8mm", "--allowance", "left side:A=none"),
        "said twice",
    ),
    "panel": (("--allowance", "lid:A=hem 8mm"), 'no panel "lid"'),
    "edge": (("--allowance", "left side:Q=hem 8mm"), "no edge Q"),
    "free edge": (("--allowance", "left side:F9=hem 8mm"), "no edge F9"),
    "wider than the blank": (("--allowance", "left side:A=lap 400mm"), "400"),
    "flange folded too far": (("--allowance", "left side:A=flange 9mm 170deg"), "angle"),
    "flange turned round": (("--allowance", "left side:A=flange 10mm 400deg"), "5 to 150 degrees"),
    "flange not folded": (("--allowance", "left side:A=flange 10mm 0deg"), "5 to 150 degrees"),
    "hem too wide": (("--allowance", "left side:A=hem 400mm"), "at most 50 mm"),
    "hem too narrow": (("--allowance", "left side:A=hem 0.01mm"), "at least 1 mm"),
    "width below nothing": (("--allowance", "left side:A=hem -5mm"), "above nothing"),
    "gauge": (("--metal", "16 gauge"), "gauge"),
    "gauge sign": (("--metal", "#16"), "gauge"),
    "price": (("--price", "cheap"), "no price"),
    "model": (("--model", " "), "printable"),
    "forming": (("--forming", "cold"), "cold"),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_use_is_exit_code_2_and_a_sentence(
    scan: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    words, told = WRONG[name]
    assert run(asked(scan, seams(), *TAPES, *words)) == 2
    caught = capsys.readouterr()
    assert told in caught.err
    assert "Traceback" not in caught.err
    assert not scan.with_name("out").exists()


def test_a_flange_of_ones_own_metal_is_laid_out_over_its_own_bend_radius(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A metal that bends like 5052-H32 has its flange cut to the same width; 4 thicknesses: less.

    Square bends with both legs to the outside: what is saved grows with the radius, (2 - pi/2) r
    and a share of the sheet.
    """
    known = METALS["5052-H32"].bend_radius_at(1.6)
    assert known is not None

    def cut(*words: str) -> float:
        flange = ("--allowance", "left side:A=flange 10mm", "--replace", "--metal", "1.6mm")
        left = layout(scan, capsys, *words, *flange)["panels"][0]
        found = [e["allowance"]["cut"] for e in left["edges"] if e["edge"] == "A"]
        return float(found[0])

    facts = scan.with_name("own.json")

    def own(**more: float) -> tuple[str, str]:
        metal = {"alloy": "5754", "density": 2.67, **more}
        facts.write_text(json.dumps({"metals": [metal]}))
        return "--metal-facts", str(facts)

    like = cut("--alloy", "5052-H32")
    assert cut(*own(bend_radius=known.value / 1.6)) == pytest.approx(like, abs=1e-9)
    assert cut(*own(bend_radius=4.0)) < like - 0.5
    assert cut(*own()) > like


def test_what_the_bars_measure_puts_drawn_lengths_right(
    scan: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """190 x 270 mm are drawn on A4: measured 189.05 x 271.35, all is drawn 1/0.995, 1/1.005."""
    from app.command_line.arguments import parsed
    from app.command_line.paper import output_asked

    def correction(*words: str) -> tuple[float, float]:
        found = output_asked(parsed(asked(scan, seams(), *words))).correction
        return found.x, found.y

    right = pytest.approx((1 / 0.995, 1 / 1.005))
    assert correction("--printer-measured", "189.05x271.35mm") == right
    assert correction("--printer-measured", "99.5x100.5mm") == right
    assert correction("--paper", "A3", "--printer-measured", "189.05x271.35mm on A4") == right
    level, upright = checked_lengths(roll_paper(609.6))
    bars = f"{level * 0.995:.6f}x{upright * 1.005:.6f}mm on roll"
    assert correction("--roll", "24in", "--printer-measured", bars) == right
    with pytest.raises(BadPaperError):
        correction("--printer-measured", bars)
    kept = Settings().with_printer(Printer("shop", 1.01, 0.99))
    monkeypatch.setattr("app.command_line.paper.load_settings", lambda: kept)
    assert correction() == (1.01, 0.99)
    assert correction("--printer", "shop") == (1.01, 0.99)
    on_top = correction("--printer", "shop", "--printer-measured", "190x270mm")
    assert on_top == pytest.approx((1.01, 0.99))


def test_allowances_bars_and_prices_are_read_as_a_shop_writes_them() -> None:
    assert allowance("a:b:F1=joggle 1/2in notched")[:] == (
        "a:b", "F1", "joggle", 12.7, 90.0, "notched",
    )  # fmt: skip
    assert allowance("side:A=flange 10mm 45\u00b0").angle_deg == 45.0
    assert measured("7.48x10.63in")[:2] == pytest.approx((189.992, 270.002))
    assert price("\u20ac 7,20 / kg")[:] == (7.2, "kg", "\u20ac")


def test_the_board_lists_jobs_and_tells_a_broken_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = with_print(with_trim(with_print(decided(), TODAY), 20.0), TODAY)
    save_job(replace(printed, model="225"), tmp_path / "b.lowcrown")
    save_job(with_name(decided(), "fresh"), tmp_path / "c.lowcrown")
    (tmp_path / "a.lowcrown").write_text("no zip")
    assert run(["board", str(tmp_path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("board"))
    broken, tank, fresh = found["jobs"]
    assert "is not a job file" in broken["trouble"]
    assert (tank["latest"]["revision"], tank["next_step"]) == (2, "take the order")
    assert [each["revision"] for each in tank["superseded"]] == [1]
    assert (fresh["latest"], fresh["trouble"]) == (None, None)
    assert run(["board", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "rev 1 is superseded: throw it away" in told
    assert "not printed" in told
    assert run(["board", str(tmp_path / "gone")]) == 1
    assert "Traceback" not in capsys.readouterr().err


def test_a_roll_too_narrow_is_told_as_on_paper(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The dome ten times as large: panels about 680 x 360 mm, a roll of 300 mm."""
    tapes = [words.replace("31.06mm", "310.6mm") for words in TAPES]
    words = ("--unit", "cm", "--roll", "300mm", "--paper", "A0", "--show", "mm")
    assert run(asked(scan, seams() | {"unit": "cm"}, *tapes, *words)) == 0
    told = capsys.readouterr().out
    pages = pypdfium2.PdfDocument(scan.with_name("out") / "left side.pdf")
    assert len(pages) > 1
    assert "left side: does not fit a roll of 300 mm" in told
    assert "comes in strips to be joined" in told
