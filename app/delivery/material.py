"""What sheet a job takes, in kilograms and in the maker's money, for the JSON results."""

from collections.abc import Sequence

from app.delivery.findings import Json
from app.exports import PanelSheet
from app.job import JobState, Metals, Price, metal_or_none
from geometry.metal import STOCK_SHEETS, SheetUse, blank_use, sheet_use


def panel_material_json(sheet: PanelSheet, metals: Metals, price: Price | None) -> Json:
    """Return what one blank weighs and its rectangle costs; null where that is not known.

    The blank is cut out along its cut line, or along its net line where it has none.
    """
    pattern, job = sheet.pattern, sheet.job
    use = blank_use(sheet.panel, pattern.net if pattern.trim is None else pattern.trim)
    metal = metal_or_none(job.alloy, metals)
    used = None if metal is None else sheet_use(metal, job.thickness_mm, [use])
    return {
        "weight_kg": None if used is None else used.blank_kg,
        "rectangle": [use.width_mm, use.height_mm],
        "cost": None if used is None or price is None else used.cost(price.amount, price.per),
    }


def sheets_json(sheets: Sequence[SheetUse], state: JobState) -> Json | None:
    """Return what is cut from the tank's own sheet, and of every other by itself.

    null where the weight of the tank's own metal is not known. The maker's price is that of the
    tank's own sheet: what another costs is not known.
    """
    own = (state.metal.alloy, state.metal.thickness_mm)
    of_tank = [use for use in sheets if (use.metal.name, use.thickness_mm) == own]
    others = [use for use in sheets if use not in of_tank]
    if not of_tank:
        return None
    told = [_sheet_json(use, None) for use in others]
    return {**_sheet_json(of_tank[0], state.price), "other_sheets": told}


def _sheet_json(used: SheetUse, price: Price | None) -> Json:
    return {
        "metal": used.metal.name,
        "thickness": used.thickness_mm,
        "weight_kg": used.blank_kg,
        "rectangle_kg": used.rectangle_kg,
        "pieces": [
            {
                "name": piece.name,
                "weight_kg": used.kg(piece.blank_mm2),
                "rectangle": [piece.width_mm, piece.height_mm],
            }
            for piece in used.blanks
        ],
        "sheets": {stock.name: used.share_of(stock) for stock in STOCK_SHEETS},
        "cost": None if price is None else used.cost(price.amount, price.per),
        "currency": None if price is None else price.currency or None,
    }
