"""Paper: sign-up sheets, table cards, certificates and agreements as PDF.

The way through: public view → plain content (`sheet`, `cards`, `lists`, `agreement`) → `press.Printer`, which
hands the content as JSON to the theme's Typst template and returns the PDF's bytes.
"""

from sitegen.paper.agreement import agreement
from sitegen.paper.cards import cards, certificate
from sitegen.paper.lists import Insured, Parcel, inventory, packing_list, packing_slip, price_list
from sitegen.paper.press import Printer
from sitegen.paper.sheet import SheetForm, sheet, sheet_rows

__all__ = [
    "Insured", "Parcel", "Printer", "SheetForm", "agreement", "cards",
    "certificate", "inventory", "packing_list", "packing_slip", "price_list", "sheet",
    "sheet_rows",
]  # fmt: skip
