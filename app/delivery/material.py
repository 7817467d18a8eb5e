"""What sheet a job takes, in kilograms and in the maker's money, for the JSON results."""

from app.delivery.findings import Json
from app.exports import PanelSheet
from app.job import Metals, Price, metal_or_none
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


def sheet_json(used: SheetUse | None, price: Price | None) -> Json | None:
    """Return what all blanks take; null of a metal whose weight is not known."""
    if used is None:
        return None
    return {
        "metal": used.metal.name,
        "thickness": used.thickness_mm,
        "weight_kg": used.blank_kg,
        "rectangle_kg": used.rectangle_kg,
        "sheets": {stock.name: used.share_of(stock) for stock in STOCK_SHEETS},
        "cost": None if price is None else used.cost(price.amount, price.per),
        "currency": None if price is None else price.currency or None,
    }
