"""Cards where Display units is oz: pounds and ounces, fluid ounces, inches and °F, each beside the metric figure."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.utils import get_column_letter
from partner_edits import Edit, differences
from workshops import made, naoh, oil, part, shop, table

from scaler.cli import main
from scaler.engine import scale
from scaler.model.problems import say
from scaler.model.records import Mould, Workshop
from scaler.model.settings import setting_declared
from scaler.read.files import stored_values
from scaler.report import summary
from scaler.rules.imperial import ounce_parts, with_grams
from scaler.write.example import example
from scaler.write.finished import finished
from scaler.write.layout import FIRST_ROW

GRAMS = 28.349523125
"""International avoirdupois ounce, exactly [g]: 7,000 grains are 16 ounces, a grain is 64.79891 mg (definition)."""
TRAY = Mould(mould="box", shape="box", unit="cm", length=30.0, width=8.0, depth=6.0, bar_cut=2.54, trim=0.5)


def workshop(units: str, grams: float | None = None, mould: Mould = TRAY) -> Workshop:
    """Return a workshop of one oil, its scale to 0.01 oz."""
    batch: dict[str, Any] = {"oil_weight": grams, "mould": None} if grams else {}
    return shop(
        [oil("fat"), naoh()], [part("fat", 1.0)], mould=mould, batch=batch,
        settings={"display_units": units, "workshop_division": 0.01}, setting_units={"workshop_division": "oz"},
    )  # fmt: skip


def card(shelf: Workshop) -> dict[str, tuple[str, str]]:
    """Return what stands on the card by the place of its line: its name and its weight."""
    run = scale(shelf)
    assert run.problems == ()
    lines = zip(table(run, "batch_lines", "name_words"), table(run, "batch_lines", "weight_words"), strict=True)
    return {name.split(" · ")[0]: (name, weight) for name, weight in lines if name}


@pytest.mark.parametrize(
    ("ounces", "weight"),
    [(15.99, "15.99 oz"), (16.0, "1 lb 0 oz"), (16.01, "1 lb 0.01 oz"), (52.25, "3 lb 4.25 oz"), (159.99, "9 lb 15.99 oz")],
)  # fmt: skip
def test_pounds_from_a_pound_on(ounces: float, weight: str) -> None:
    """16 ounces are a pound; what is lighter stays in ounces; the grams stand beside."""
    name, shown = card(workshop("oz", ounces * GRAMS))["fat"]
    assert shown == weight
    assert float(name.split(" · ")[1].removesuffix(" g")) == pytest.approx(ounces * GRAMS, abs=0.005)


def test_never_sixteen_ounces_beside_pounds() -> None:
    """46,720 g are 102 lb 15.9995 oz: shown as 103 lb, not as 102 lb 16 oz."""
    assert math.floor(46_720 / GRAMS / 16) == 102
    shelf = workshop("oz", 46_720.0)
    lines = tuple(
        replace(line, unit="g", value=1.0) if "division" in line.setting.lower() else line for line in shelf.costs
    )
    assert card(replace(shelf, costs=lines))["fat"][1] == "103 lb 0 oz"


def test_grams_alone_elsewhere() -> None:
    """A card in grams shows no ounce, inch, fluid ounce or °F."""
    run = scale(workshop("g"))
    words = [str(table(run, "batches", name)[0]) for name in ("size_words", "vessel_words", "bar_words")]
    assert not any(unit in f" {text} " for text in words for unit in (" oz", " in ", "°F", " lb "))
    name, weight = card(workshop("g"))["fat"]
    assert name == "fat"
    assert weight.endswith(" g")


def test_vessels_heat_and_cut() -> None:
    """A US fluid ounce is 29.5735295625 mL, an inch 2.54 cm, 0 °C 32 °F and 100 °C 212 °F (NIST SP 811, from memory)."""
    run = scale(workshop("oz"))
    jug, pot, hottest = (table(run, "batches", name)[0] for name in ("jug_vessel_ml", "pot_vessel_ml", "hottest"))
    words = table(run, "batches", "vessel_words")[0]
    assert f"Jug of {math.ceil(jug / 29.5735295625)} fl oz, {math.ceil(jug / 100) / 10:g} L" in words
    assert f"pot of {math.ceil(pot / 29.5735295625)} fl oz, {math.ceil(pot / 100) / 10:g} L" in words
    assert f"{32 + (212 - 32) * hottest / 100:.0f} °F, {hottest:.0f} °C" in words
    assert "cut every 1 in (2.5 cm)" in table(run, "batches", "size_words")[0]
    inches = replace(TRAY, unit="in", length=12.0, width=3.0, depth=2.5, bar_cut=1.05, trim=0.25)
    assert table(scale(workshop("oz", mould=inches)), "batches", "size_words")[0].endswith(
        "2.5 in deep · cut every 1.05 in, offcut 0.45 in"  # 12 inches less 11 bars
    )
    bar = made(workshop("oz"))
    assert bar.bar_fresh_g
    assert (
        f"weighs about {bar.bar_fresh_g / GRAMS:.2f} oz, {bar.bar_fresh_g:.0f} g"
        in table(run, "batches", "bar_words")[0]
    )


def test_live_in_the_workbook(tmp_path: Path) -> None:
    """Display units typed over in the workbook is followed by every cell, either way."""
    row = FIRST_ROW + list(setting_declared()).index("display_units")
    for before, after in (("g", "oz"), ("oz", "g")):
        content = finished(scale(workshop(before)))
        assert differences(content, Edit("Costs", {f"B{row}": after}, after), tmp_path) == []


def test_alkali_is_never_rounded_up_to_ounces() -> None:
    """Ounces of alkali, weighed in grams on a scale of 0.1 g, are never more than the grams beside them."""
    for grams in range(300, 340):
        shelf = workshop("oz", float(grams))
        lines = tuple(
            replace(line, unit="g", value=0.1) if "division" in line.setting.lower() else line for line in shelf.costs
        )
        name, shown = card(replace(shelf, costs=lines))["soda"]
        pounds, ounces = re.fullmatch(r"(?:(\d+) lb )?([\d.]+) oz", shown).groups()  # type: ignore[union-attr]
        weighed = float(name.split(" · ")[1].removesuffix(" g"))
        assert (16 * int(pounds or 0) + float(ounces)) * GRAMS <= weighed + 1e-9


def test_nothing_on_the_card_is_cut_off(tmp_path: Path) -> None:
    """A weight too long for its cell shrinks instead of losing its pounds, and a date has the room it needs."""
    path = tmp_path / "us.xlsx"
    shelf = workshop("oz", 46_000.0)
    batches = tuple(replace(item, make_date=date(2026, 12, 30)) for item in shelf.batches)
    path.write_bytes(finished(scale(replace(shelf, batches=batches))))
    sheet = openpyxl.load_workbook(path, data_only=True)["Cards"]
    weights = [cell for (cell,) in sheet["D1:D40"] if str(cell.value or "").endswith(" oz")]
    assert any(cell.value.startswith("101 lb") for cell in weights)
    assert all(cell.alignment.shrinkToFit for cell in weights)
    dated = [cell for row in sheet["A1:G18"] for cell in row if getattr(cell, "is_date", False) and cell.value]
    assert dated
    for cell in dated:
        merged = [held for held in sheet.merged_cells.ranges if cell.coordinate in held]
        columns = range(merged[0].min_col, merged[0].max_col + 1) if merged else [cell.column]
        width = sum(sheet.column_dimensions[get_column_letter(column)].width for column in columns)
        larger = (cell.font.sz or 11) / 11
        assert width >= len(f"{cell.value:%a} {cell.value.day} {cell.value:%b %Y}") * larger


def column_of(content: bytes, tab: str, head: str) -> Any:
    """Return what stands in the first row of a column of a tab."""
    cells = stored_values(content)[tab]
    at = next(cell for cell, value in cells.items() if value == head)
    letters, row = re.fullmatch(r"([A-Z]+)([0-9]+)", at).groups()  # type: ignore[union-attr]
    return cells[f"{letters}{int(row) + 1}"]


def ounces(words: str) -> float:
    """Return pounds and ounces in words as ounces."""
    pounds, rest = re.fullmatch(r"(?:(\d+) lb )?([\d.]+) oz", words).groups()  # type: ignore[union-attr]
    return 16 * int(pounds or 0) + float(rest)


def test_other_tabs_in_us_units() -> None:
    """Safety notes and Superfat say pounds and ounces, fluid ounces and °F; in grams they are plain numbers."""
    run = scale(workshop("oz"))
    (batch,), content = run.batches, finished(run)
    words, grams = column_of(content, "Safety notes", "Liquid").split(", ")
    assert ounces(words) == pytest.approx(batch.liquid_g / GRAMS, abs=0.006)
    assert grams == f"{batch.liquid_g:.1f} g"
    assert column_of(content, "Overview", "Oils g") == pytest.approx(
        batch.oils_g, rel=1e-9
    )  # Overview is in grams always
    weighed = sum(item.weigh_g for item in batch.alkalis)
    assert (
        weighed / GRAMS - 0.01
        <= ounces(column_of(content, "Safety notes", "Alkali").split(", ")[0])
        <= weighed / GRAMS + 1e-9
    )
    jug = table(run, "batches", "jug_vessel_ml")[0]
    least = f"{math.ceil(jug / 29.5735295625)} fl oz, {math.ceil(jug / 100) / 10:.1f} L or more"
    assert column_of(content, "Safety notes", "Jug") == least
    hot = batch.lye_hottest
    for head, celsius in (
        ("Lye at its hottest", hot.room),
        ("with cold liquid", hot.cold),
        ("half of it ice", hot.ice),
    ):
        assert column_of(content, "Superfat", head) == f"{32 + 1.8 * celsius:.0f} °F, {celsius:.0f} °C"
    metric = finished(scale(workshop("g")))
    assert column_of(metric, "Overview", "Oils g") == pytest.approx(batch.oils_g, rel=1e-9)
    assert column_of(metric, "Superfat", "half of it ice °C") == pytest.approx(hot.ice, rel=1e-9)


def test_batch_without_bars_in_us_units() -> None:
    """A weight of oils without bars is written too; Overview has it in grams."""
    assert column_of(finished(scale(workshop("oz", 500.0))), "Overview", "Oils g") == pytest.approx(500.0, rel=1e-9)


@pytest.mark.parametrize(("units", "paper"), [("us", "1"), ("metric", "9")])
def test_paper_of_a_fresh_workbook(units: str, paper: str) -> None:
    """Every sheet of a fresh US workbook prints on Letter (paper 1), of a metric one on A4 (paper 9)."""
    book = openpyxl.load_workbook(io.BytesIO(example(units)))
    assert {str(sheet.page_setup.paperSize) for sheet in book} == {paper}


def test_terminal_says_pounds_with_grams_beside() -> None:
    """1,000 g of oils are 2 lb 3.27 oz on the terminal, the grams beside them; in grams there is no ounce."""
    assert "oils 2 lb 3.27 oz (1,000.0 g)" in "\n".join(summary(scale(workshop("oz", 1000.0))))
    metric = "\n".join(summary(scale(workshop("g", 1000.0))))
    assert "oils 1,000.0 g" in metric
    assert " oz" not in metric


def test_terminal_never_rounds_pounds_of_alkali_up() -> None:
    """Over a pound neither ounces nor grams are more than the alkali to weigh, and no line is wider than 80."""
    run = scale(workshop("oz", 20_000.0))
    weigh_g = run.batches[0].alkalis[0].weigh_g
    lines = list(summary(run))
    found = re.search(r"weigh (\d+ lb [\d.]+ oz) \(([\d,.]+) g\)", "\n".join(lines))
    assert found
    assert 0 <= weigh_g / GRAMS - ounces(found[1]) + 1e-9 < 0.001
    assert 0 <= weigh_g - float(found[2].replace(",", "")) + 1e-9 < 0.01
    assert max(map(len, lines)) <= 80


def warmed(value: float | None, unit: str) -> Any:
    """Return a run in a room as warm as a setting says."""
    shelf = workshop("oz")
    lines = tuple(
        replace(line, value=value, unit=unit) if line.setting == "Room temperature" else line for line in shelf.costs
    )
    return scale(replace(shelf, costs=lines))


def test_room_temperature_in_fahrenheit() -> None:
    """77 °F are 25 °C, exactly (NIST SP 811, from memory); limits are held in °C; a blank value takes 20 °C in any unit."""
    assert warmed(77.0, "°F").batches[0].lye_hottest == warmed(25.0, "°C").batches[0].lye_hottest
    assert warmed(None, "°F").batches[0].lye_hottest == warmed(20.0, "°C").batches[0].lye_hottest
    assert [problem.code for problem in warmed(77.0, "°C").problems] == ["setting_wrong"]
    assert [problem.code for problem in warmed(25.0, "°F").problems] == ["setting_wrong"]
    assert [warning.text for _, warning in warmed(100.0, "°F").workshop.doubts] == [
        "Room temperature is 100. Is its unit, °C or °F, right?"
    ]


def test_fahrenheit_is_live(tmp_path: Path) -> None:
    """A temperature and its unit typed over in the workbook are what scaler makes of them."""
    row = FIRST_ROW + list(setting_declared()).index("room_temperature")
    content = finished(scale(workshop("oz")))
    for value, unit in ((77.0, "fahrenheit"), (25.0, "°F"), (20.0, "g")):
        edit = Edit("Costs", {f"B{row}": value, f"C{row}": unit}, f"{value} {unit}")
        assert differences(content, edit, tmp_path) == []


def test_us_template_asks_for_us_units() -> None:
    """A fresh US workbook has Pot size in gal, Lye jug size in qt, Room temperature in °F, Least bar weight in oz."""
    sheet = openpyxl.load_workbook(io.BytesIO(example("us")))["Costs"]
    asked = {row[0].value: (row[1].value, row[2].value) for row in sheet.iter_rows(min_row=FIRST_ROW, max_col=3)}
    assert asked["Room temperature"] == (68, "°F")
    assert [asked[name][1] for name in ("Pot size", "Lye jug size", "Least bar weight", "Scale division")] == [
        "gal", "qt", "oz", "oz",
    ]  # fmt: skip


def test_warnings_in_us_units() -> None:
    """A warning says fluid ounces beside litres and °F beside °C where ounces are shown."""
    shelf = workshop("oz")
    lines = tuple(replace(line, value=1.6, unit="L") if line.setting == "Pot size" else line for line in shelf.costs)
    recipes = tuple(replace(recipe, lye_concentration=0.36) for recipe in shelf.recipes)
    said = " ".join(item.text for item in made(replace(shelf, costs=lines, recipes=recipes)).warnings)
    assert re.search(r"gets to about [0-9]+ °F, [0-9]+ °C in an open jug", said)
    assert re.search(r"Use a pot of [0-9]+ fl oz, [0-9.]+ L or more", said)


@pytest.mark.parametrize("grams", [120_000.0, 0.25])
def test_batch_too_large_or_too_small_in_us_units(grams: float) -> None:
    """A batch that no pot holds, or that the scale cannot weigh, is named in pounds and ounces with the grams beside."""
    run = scale(workshop("oz", grams))
    said = [say(problem) for problem in run.problems] or [item.text for item in run.batches[0].warnings]
    (words,) = (re.search(r"The batch has (.+?), [0-9.]+ g of oils", text) for text in said if "The batch has" in text)
    assert words
    assert ounces(words[1]) == pytest.approx(grams / GRAMS, abs=0.0051)
    metric = scale(workshop("g", grams))
    said = [say(problem) for problem in metric.problems] or [item.text for item in metric.batches[0].warnings]
    assert any(f"The batch has {round(grams + 1e-9, 1):.10g} g of oils" in text for text in said)


# --- the words of weights ---


@pytest.mark.parametrize("grams", [907.1, 907.15, 907.18, 453.5, 453.59, 1360.75])
def test_other_tabs_never_say_sixteen_ounces(grams: float) -> None:
    """Just under a pound more, two digits of ounces round up to the pound, not to 16 oz beside it."""
    said = str(with_grams(grams, ounce_parts(grams, GRAMS, 100.0), 1600.0, 100.0, 1))
    rest = re.fullmatch(r"(?:[0-9]+ lb )?([0-9.]+) oz, [0-9.]+ g", said)
    assert rest, said
    assert float(rest[1]) < 16
    assert ounces(said.split(", ", maxsplit=1)[0]) == pytest.approx(grams / GRAMS, abs=0.0051)


def test_alkali_of_every_tab_is_never_rounded_up() -> None:
    """Safety notes, Alkali and card say the same ounces of alkali, from a scale of 0.1 g, and never more than its grams."""
    higher = 0
    for grams in range(300, 312):
        shelf = workshop("oz", float(grams))
        lines = tuple(
            replace(line, unit="g", value=0.1) if "division" in line.setting.lower() else line for line in shelf.costs
        )
        run = scale(replace(shelf, costs=lines))
        weighed = run.batches[0].alkalis[0].weigh_g
        said = table(run, "batches", "alkali_words")[0]
        on_card = next(words for words in table(run, "batch_lines", "on_card_words") if words)
        assert said == on_card
        assert weighed - 0.001 * GRAMS <= ounces(said.split(", ")[0]) * GRAMS <= weighed + 1e-9
        higher += round(weighed / GRAMS, 2) * GRAMS > weighed
    assert higher  # two digits, half up, would have been more
    for run in (scale(workshop("oz", float(grams))) for grams in range(300, 306)):  # a scale in ounces: the grams too
        said = table(run, "batches", "alkali_words")[0]
        assert said == next(words for words in table(run, "batch_lines", "on_card_words") if words)
        assert float(said.split(", ")[1].removesuffix(" g")) <= run.batches[0].alkalis[0].weigh_g


@pytest.mark.parametrize(
    ("mould", "words", "side"),
    [
        ({"length": 25.0, "depth": 7.0, "fill": 0.9, "bar_cut": 2.4}, ", 6.3 cm deep · cut every 2.4 cm, offcut 1 cm", "║" + "██│" * 10 + " ║"),
        ({"bar_cut": None, "bars": 6.0}, ", 6 cm deep", "║" + "████│" * 6 + "║"),
        ({"bar_cut": None, "bars": 30.0}, ", 6 cm deep", ""),
    ],
)  # fmt: skip
def test_mould_from_the_side(mould: dict[str, Any], words: str, side: str) -> None:
    """A log of 25 cm gives ten bars of 2.4 cm and leaves 1 cm; nine tenths of 7 cm are 6.3 cm. Thirty bars have no room."""
    run = scale(workshop("g", mould=replace(TRAY, trim=None, **mould)))
    assert str(table(run, "batches", "size_words")[0]).endswith(words)
    assert table(run, "batches", "mould_side")[0] == side


def test_oils_in_the_pot_in_pounds() -> None:
    """The running total is in pounds and ounces from a pound on, beside a scale that shows them; in grams a number."""
    shelf = shop(
        [oil("first"), oil("second"), naoh()], [part("first", 0.5), part("second", 0.5)],
        mould=TRAY, batch={"oil_weight": 800.0, "mould": None}, settings={"display_units": "oz"},
    )  # fmt: skip
    run = scale(shelf)
    assert [words for words in table(run, "batch_lines", "in_pot_words") if words] == ["14.11 oz", "1 lb 12.22 oz"]
    cells = stored_values(finished(run))["Cards"]
    assert [cells[f"E{row}"] for row in range(20, 45) if str(cells.get(f"E{row}", "")).endswith(" oz")] == [
        "14.11 oz", "1 lb 12.22 oz",
    ]  # fmt: skip
    assert "in the pot" in cells.values()
    metric = stored_values(finished(scale(workshop("g", 500.0))))["Cards"]
    assert "in the pot g" in metric.values()
    weighed = [metric[f"E{row}"] for row in range(20, 45) if metric.get(f"E{row}") not in (None, "")]
    assert weighed == [pytest.approx(500.0, abs=0.5 * 0.01 * GRAMS)]  # its scale is to 0.01 oz


# --- the option ---


def test_units_of_the_command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`--units us` of batch and check shows ounces whatever Display units says, `--units metric` grams; nothing else changes."""
    monkeypatch.chdir(tmp_path)
    Path("g.xlsx").write_bytes(example("metric"))
    Path("oz.xlsx").write_bytes(example("us"))

    def said(line: str) -> str:
        result = CliRunner().invoke(main, line.split())
        assert result.exit_code == 0, result.output
        return result.output

    assert "oz" not in said("batch g.xlsx -o plain.xlsx")
    assert re.search(r"oils [0-9]+ lb [0-9.]+ oz \([0-9,.]+ g\)", said("batch g.xlsx --units us -o us.xlsx"))
    assert " oz" not in said("batch oz.xlsx --units metric -o metric.xlsx")
    papers = [openpyxl.load_workbook(name)["Cards"].page_setup.paperSize for name in ("us.xlsx", "plain.xlsx")]
    assert [str(paper) for paper in papers] == ["1", "9"]  # Letter, A4
    assert " lb " in said("batch us.xlsx -o again.xlsx")  # Display units is oz on its Costs
    said("verify us.xlsx")  # sound, or its exit status were 1
    grams, in_ounces = (
        json.loads(said(f"batch g.xlsx --json --units {units}"))["batches"] for units in ("metric", "us")
    )
    assert [batch | {"warnings": []} for batch in grams] == [batch | {"warnings": []} for batch in in_ounces]


def test_warnings_of_check_in_us_units(tmp_path: Path) -> None:
    """`check --units us` says °F of hot lye."""
    book = openpyxl.load_workbook(io.BytesIO(example("metric")))
    sheet = book["Recipes"]
    at = next(row for row in range(1, 9) if str(sheet.cell(row, 3).value).startswith("Lye concentration"))
    sheet.cell(at + 1, 3).value = 0.38
    path = tmp_path / "hot.xlsx"
    book.save(path)
    for units, there in (("us", True), ("metric", False)):
        result = CliRunner().invoke(main, ["check", str(path), "--units", units])
        assert result.exit_code == 0, result.output
        assert ("°F" in result.output) == there
        assert "°C" in result.output
