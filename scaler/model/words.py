"""Other words for ours: what makers write over a column, on a tab, or for a kind, a shape, a base.

A word here is read as ours without a question, so it must mean nothing else on that sheet. Case, spaces, signs and
spellings of the United States (mold, labor, color) need no word of their own.
"""

from __future__ import annotations

from collections.abc import Mapping

# --- words in a cell ---

KINDS: Mapping[str, str] = {
    **dict.fromkeys(("oils", "fat", "fats", "butter", "wax", "base oil", "carrier oil", "fatty acid"), "oil"),
    **dict.fromkeys(("lye", "hydroxide", "caustic", "alkalis", "caustic soda", "caustic potash"), "alkali"),
    **dict.fromkeys(("acids",), "acid"),
    **dict.fromkeys(("liquids", "water", "milk", "fluid"), "liquid"),
    **dict.fromkeys(("additives", "other", "clay", "salt", "sugar", "exfoliant", "botanical"), "additive"),
    **dict.fromkeys(
        ("fragrances", "scent", "essential oil", "fragrance oil", "perfume", "parfum", "aroma", "eo", "fo"),
        "fragrance",
    ),
    **dict.fromkeys(("colours", "color", "colors", "pigment", "colourant", "colorant", "mica", "dye"), "colour"),
    **dict.fromkeys(("package", "packing", "label", "labels", "wrapper", "wrap", "box", "packaging material"), "packaging"),
}  # fmt: skip
BASES: Mapping[str, str] = {
    **dict.fromkeys(("sodium hydroxide", "caustic soda"), "NaOH"),
    **dict.fromkeys(("potassium hydroxide", "caustic potash"), "KOH"),
}
SHAPES: Mapping[str, str] = {
    **dict.fromkeys(("loaf", "rectangle", "rectangular", "slab", "block", "cuboid", "square", "log"), "box"),
    **dict.fromkeys(("tapered", "tapered loaf", "sloped", "slope sided", "trapezoid"), "taper"),
    **dict.fromkeys(("round", "tube", "pipe", "column", "cylindrical"), "cylinder"),
    **dict.fromkeys(("half round", "trough", "half tube", "half pipe", "semicircle"), "half cylinder"),
    **dict.fromkeys(("cavity", "tray", "individual", "cavity mould", "cavity tray"), "cavities"),
    **dict.fromkeys(("water fill", "by water", "other", "volume"), "measured"),
}
YES_NO: Mapping[str, str] = {
    **dict.fromkeys(("y", "true", "1", "yep", "\u2713", "\u2714"), "yes"),
    **dict.fromkeys(("n", "false", "0", "nope", "\u2717", "\u2718"), "no"),
}

# --- words over a column ---

_RECIPE = "Recipe name, Name of recipe, Soap, Formula"
_INGREDIENT = "Item, Material, Raw material, Ingredients, Ingredient name, Name of ingredient"
_MOULD = "Mould name, Name of mould"
_BARS = "Number of bars, No of bars, How many bars"

HEADERS: Mapping[str, Mapping[str, str]] = {
    "Ingredient": {
        "ingredient": f"{_INGREDIENT}, Name, Product",
        "kind": "Type, Category, Sort",
        "inci": "INCI name, Name for the label",
        "sap": "SAP value, Saponification value, Saponification number, SAP number, SAP no, SAP KOH, KOH SAP, SAP mg KOH, "
        "Acid value, SV, KOH value",
        "sap_low": "Lowest SAP, Low SAP, SAP min, Min SAP, SAP minimum, SAP from, SAP value low",
        "sap_high": "Highest SAP, High SAP, SAP max, Max SAP, SAP maximum, SAP to, SAP value high",
        "density": "Specific gravity, Relative density, SG",
        "base": "Alkali base, Hydroxide",
        "purity": "Assay, Alkali purity, Strength, Concentration",
        "purity_low": "Lowest purity, Low purity, Purity min, Min purity, Purity from, Least purity",
        "purity_high": "Highest purity, High purity, Purity max, Max purity, Purity to",
        "water": "Water content, Moisture",
        "fat": "Fat content, Milk fat",
        "limit": "Max use, Maximum use, Max usage, Maximum usage, Usage limit, Use limit, Max use level, Maximum",
        "division": "Division, Scale step, Scale resolution, Resolution, Readability",
        "division_unit": "Scale division unit, Scale unit, Unit of scale division",
        "opened": "Date opened, Opened on, Open date, Opening date",
        "stock": "On hand, In stock, Stock on hand, Quantity in stock, Amount in stock, Have",
        "stock_unit": "Unit of stock, Stock units",
        "source": "Sources, Reference, References",
    },
    "Price": {
        "ingredient": f"{_INGREDIENT}, Name, Product",
        "pack": "Pack size, Size, Quantity, Qty, Amount, Contents, Size of pack",
        "pack_unit": "Unit, Units, Unit of pack, Pack size unit, Unit of measure, Pack units",
        "price": "Cost, Pack price, Price per pack, Price of pack, Cost per pack, Price paid",
        "delivery": "Shipping, Postage, Freight, Carriage, Delivery cost, Shipping cost, Delivery charge",
        "supplier": "Vendor, Seller, Shop, Bought from, Supplier name",
        "date": "Price date, Date of price, Date bought",
    },
    "Mould": {
        "mould": f"{_MOULD}, Name",
        "shape": "Form, Mould shape, Mould type",
        "unit": "Units, Length unit, Unit of length, Size unit, Unit of sizes",
        "length": "Inside length, Inner length, Internal length, Bottom length, Base length",
        "width": "Inside width, Inner width, Internal width, Bottom width, Base width",
        "depth": "Height, Inside depth, Inside height, Inner depth, Inner height, Internal depth, Internal height",
        "top_length": "Length at top, Upper length, Inside top length",
        "top_width": "Width at top, Upper width, Inside top width",
        "diameter": "Inside diameter, Inner diameter, Internal diameter, Dia",
        "cavities": "Number of cavities, No of cavities, Cavity count",
        "capacity": "Volume, Cavity volume, Mould volume, Cavity capacity, Mould capacity, Water fill",
        "capacity_unit": "Volume unit, Unit of capacity, Unit of volume, Capacity units",
        "liner": "Lining, Liner thickness, Lining thickness",
        "fill": "Filled, Fill level, Fill share, Filling, Fill to",
        "bar_cut": "Cut, Bar thickness, Slice, Slice thickness, Cut thickness, Thickness of bar",
        "trim": "Trimming, Trimmed, End trim, Trim off",
        "bars": f"{_BARS}, Bars per mould, Bars per fill",
        "owned": "How many, How many moulds, Moulds owned, Number owned, Number of moulds, Have",
    },
    "Recipe": {
        "recipe": f"{_RECIPE}, Name",
        "superfat": "Lye discount, SF, Superfatting",
        "lye_concentration": "Lye strength, Lye conc, Concentration of lye, Concentration",
        "liquid_to_alkali": "Water to lye, Liquid to lye, Water to alkali, Water lye ratio, Water to lye ratio, "
        "Liquid to lye ratio, Liquid to alkali ratio, Liquid alkali ratio, Liquid lye ratio",
        "liquid_of_oils": "Water of oils, Water as of oils, Liquid as of oils, Water as percent of oils, Water percent of oils",
        "alkali": "Lye, First alkali, Alkali name, First lye",
        "second_alkali": "Second lye, Alkali 2, Lye 2, 2nd alkali, 2nd lye",
        "koh_share": "KOH, Potash share, Share of KOH, KOH part",
        "cure_days": "Days of cure, Days to cure, Curing days, Cure time in days",
        "cure_loss": "Weight loss, Loss in cure, Cure weight loss, Drying loss, Loss in the cure",
        "labour_minutes": "Labour min, Labour mins, Minutes, Minutes of labour, Work minutes, Hands on minutes, "
        "Minutes per batch, Labour minutes per batch",
        "labour_minutes_per_bar": "Minutes per bar, Labour per bar min, Labour min per bar, Labour mins per bar, Work minutes per bar",
        "notes": "Note, Comment, Comments, Remarks, Remark",
        "usual_mould": "My mould, Mould usually used, Standard mould",
        "cut_minutes": "Cutting minutes, Minutes to cut, Minutes of cutting, Cut min, Cutting time in minutes",
        "wrap_minutes_per_bar": "Wrapping minutes per bar, Minutes to wrap a bar, Wrap min per bar, Wrapping min per bar",
    },
    "RecipeLine": {
        "recipe": _RECIPE,
        "ingredient": _INGREDIENT,
        "share": "Percent, Share of oils, Of oils, Oil share, Share of the oils",
        "amount": "Weight, Quantity, Qty, Amt",
        "unit": "Units, Amount unit, Unit of amount, Unit of measure",
        "stage": "When, Phase, Step, Added at, Stage of making",
        "in_lye": "In the lye, In lye pot, In the lye pot, With the lye, With lye",
        "portion": "Part of batter, Part of the batter, Part of pot",
        "portion_share": "Share of portion, Share of batter, Portion of batter",
    },
    "Batch": {
        "batch": "Batch name, Batch no, Batch number, Name, Number, Lot",
        "recipe": _RECIPE,
        "mould": _MOULD,
        "moulds_filled": "Filled, Moulds, Number of moulds, No of moulds, How many moulds, Moulds used",
        "make_date": "Date, Making date, Make on, Day, Planned for, Date to make",
        "state": "Status, How it went",
        "bars_got": "Bars good, Good bars, Bars fit to sell, Actual bars",
        "done_on": "Date made, Made, Actual date",
    },
    "SettingLine": {
        "setting": "Settings, Name, Name of setting",
        "value": "Values, Amount",
        "unit": "Units, Unit of value",
        "meaning": "Notes, Note, Help, Comment, Description, What it is for",
    },
    "Demand": {
        "recipe": _RECIPE,
        "bars": f"{_BARS}, Bars wanted, Wanted, Quantity, Qty",
        "needed_by": "Needed, Date needed, Due, Due date, Wanted by, Market date",
        "mould": _MOULD,
        "price": "Price asked, Asked price, Price per bar, Selling price, Retail price",
        "day": "Market, Event, Market day, Name of market",
    },
    "MarketDay": {
        "day": "Market, Event, Market day, Name of market",
        "date": "On, Market date, Date of market, When",
        "stall_fee": "Fee, Stall, Pitch fee, Market fee, Stall fee per day",
        "days_ahead": "Ahead, Days before, Ready days ahead, Days early",
        "opens": "Opening, Opening time, Open, Opens at, Hours",
    },
    "OnHand": {
        "recipe": _RECIPE,
        "bars": f"{_BARS}, Bars on hand, On hand, Quantity, Qty",
        "ready_date": "Ready, Ready on, Ready by, Cured on, Date ready, Cured by",
    },
}
"""Other words for a header, by the record of its sheet and the field of its column."""

SETTINGS: Mapping[str, str] = {
    "currency": "Currency sign, Money",
    "display_units": "Display unit, Units, Units shown, Show units",
    "labour_rate": "Hourly rate, Hourly wage, Wage, Labour per hour, Labour cost per hour, Pay per hour, Labour rate per hour",
    "overhead": "Overhead, Overheads, Overheads per batch, Overhead cost per batch",
    "batter_loss": "Batter lost, Loss of batter, Bowl loss, Waste",
    "reject_share": "Rejects, Reject rate, Rejected bars, Rejected",
    "target_margin": "Margin, Margin wanted, Profit margin, Margin target",
    "sales_tax": "VAT, GST, Tax, Tax rate, Sales tax rate",
    "card_fee": "Card fees, Card payment fee, Payment fee",
    "price_step": "Round price to, Round prices to, Price rounding, Rounding",
    "price_shown": "Shown price, Prices shown",
    "pot_size": "Pot, Pot volume, Batter pot, Pot capacity",
    "jug_size": "Lye jug, Jug size, Lye jug volume, Jug",
    "worked_out_on": "Date, Today, Worked out",
    "workshop_division": "Scale, Scale step, Scale resolution, Division",
    "stall_fee": "Stall fee per day, Stall fee per market day, Stall, Market fee, Pitch fee",
    "room_temperature": "Room temp, Temperature, Room",
    "unmould_after": "Unmould, Time in mould, Unmoulding time, Hours in mould",
    "first_make_day": "First day, First making day, Start date, Start on",
    "hours_per_day": "Hours a day, Work hours per day, Hours of work per day, Working hours",
    "days_off": "Day off, Free days, Weekdays off",
    "shelf_bars": "Shelf, Shelf space, Shelf capacity, Bars on shelf",
    "sell_through": "Sell through rate, Share sold",
    "wholesale_share": "Wholesale, Wholesale price",
    "leftover_value": "Leftovers, Value of leftovers, Leftover",
    "price_age": "Age of prices, Oldest price, Price too old",
    "stock_counted": "Stock count, Stock taken on, Date of stock count, Stocktake",
    "spare_days": "Spare, Days spare, Days in hand, Days to spare",
    "keep_plan": "Keep the plan, Keep plan share",
    "keep_sizes": "Keep the sizes, Keep bar sizes, One bar size, Same size",
    "least_bar": "Least bar, Lightest bar, Smallest bar weight, Minimum bar weight",
}
"""Other words for a setting, by its field."""

TABS: Mapping[str, str] = {
    "ingredients": "Ingredient, Ingredient list, Materials, Raw materials",
    "prices": "Price, Price list, Packs",
    "moulds": "Mould",
    "recipes": "Recipe",
    "lines": "Recipe line, Recipe items, Recipe ingredients",
    "batches": "Batch",
    "costs": "Cost, Settings",
    "market": "Markets",
    "market_days": "Market day, Market dates, Events",
    "on_hand": "Stock on hand, Bars on hand",
}
"""Other words for a sheet, by its key."""


def split(text: str) -> tuple[str, ...]:
    """Return the words of a list written with commas.

    >>> split("Item, Raw material")
    ('Item', 'Raw material')
    """
    return tuple(word for word in text.split(", ") if word)
