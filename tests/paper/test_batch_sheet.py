"""The batch sheet: one page, nothing cut, legible, every step on it."""

import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader

from spawnwright.errors import Unusable
from spawnwright.paper.batch_sheet import batch_sheet_pdf, usual_paper
from spawnwright.paper.dates import clock, day
from spawnwright.paper.sheet_content import content_of
from spawnwright.records.plan import Binding
from tests.paper.example_plan import plan_and_wish

LEAST_SIZE = 7.0


def read(pdf: bytes):
    """The only page, its words in order, and each piece of text with size and place."""
    (page,) = PdfReader(BytesIO(pdf)).pages
    pieces = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            scale = (tm[0] ** 2 + tm[1] ** 2) ** 0.5 or 1
            x = tm[4] * cm[0] + cm[4]
            y = tm[5] * cm[3] + cm[5]
            pieces.append((text.strip(), size * scale, x, y, font))

    text = page.extract_text(visitor_text=visit)
    return page, " ".join(text.split()), pieces


def plain(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("runs", [1, 2, 3, 4, 7, 14])
def test_one_page_whatever_the_plan(runs, paper):
    """From one run to fourteen; the type stays legible, and nothing leaves the page."""
    page, _, pieces = read(batch_sheet_pdf(*plan_and_wish(runs), paper))

    width, height = page.mediabox.width, page.mediabox.height
    assert (round(width), round(height)) == {"A4": (595, 842), "Letter": (612, 792)}[paper]
    assert min(size for _, size, *_ in pieces) >= LEAST_SIZE - 1e-6
    assert all(20 <= x <= width - 20 and 15 <= y <= height - 20 for _, _, x, y, _ in pieces)


@pytest.mark.parametrize("runs", [1, 2])
def test_every_step_is_on_it(runs):
    """What to do, its cautions, its day and hour: no word of the plan is left out."""
    plan, wish = plan_and_wish(runs)
    dated = read(batch_sheet_pdf(plan, wish))[1]
    printed = plain(dated)

    for step in plan.steps:
        if step.kind == "look":
            assert day(step.at) in dated, step.key
            continue
        if step.at != step.until:
            assert clock(step.at) in printed, step.key
        in_full = step.title + (" " + step.detail if runs == 1 else "")
        for word in re.findall(r"[\w.:]+", in_full):
            assert plain(word.rstrip(".:")) in printed, (step.key, word)
        if runs == 1:
            assert all(plain(each) in printed for each in step.cautions), step.key


def test_many_runs_have_a_line_each():
    """Where columns are too many, each run has a line of times, and no step loses its time."""
    plan, wish = plan_and_wish(9)

    printed = read(batch_sheet_pdf(plan, wish))[1]
    content = content_of(plan, wish, in_full=False)
    assert content.lines is not None
    assert [name for name, _ in content.lines.rows] == [f"run {letter}" for letter in "ABCDEFGHI"]
    assert all(cell is not None for _, cells in content.lines.rows for cell in cells)
    for step in plan.steps:
        if step.soak or step.run:
            assert f"{step.at.day} Mar" in printed
            assert clock(step.at) in printed


def test_numbers_of_the_batch_are_those_of_the_plan():
    """The frame at the top repeats the plan, and invents nothing."""
    plan, wish = plan_and_wish()

    printed = read(batch_sheet_pdf(plan, wish))[1]
    for figure in (
        "13 + 1 control", f"{plan.dry_grain_kg:.2f} kg", f"{plan.water_l:.1f} L",
        "2 runs, 90 min", "26 mL", "86%", "15 psi (103 kPa)", "Pleurotus ostreatus",
        "11 good jars wanted by Sun 25 Apr 2027", "Mon 5 Apr",
    ):  # fmt: skip
        assert figure in printed, figure


def test_names_with_any_letters_show():
    """Polish letters, signs and Latin names: an embedded typeface has them, not a built-in one."""
    plan, wish = plan_and_wish(1)
    said = "Zażółć gęślą jaźń ŁÓDŹ: 1½ × 20 °C, −5…+3, ≥ 2 µm, „świeże”, Ωмэ"
    steps = (replace(plan.steps[0], detail=said), *plan.steps[1:])

    page, printed, pieces = read(batch_sheet_pdf(replace(plan, steps=steps), wish))
    assert plain(said) in plain(printed)
    fonts = {str(font["/BaseFont"]) for *_, font in pieces if font}
    assert fonts
    assert all("DejaVuSansCondensed" in font for font in fonts)
    assert all(
        "/FontFile2" in each.get_object()["/FontDescriptor"]
        for each in page["/Resources"]["/Font"].values()
        if "DejaVu" in each.get_object()["/BaseFont"]
    )


def test_signs_of_markup_are_printed_as_they_are():
    """A detail is text; "<" in it must neither vanish nor break the page."""
    plan, wish = plan_and_wish(1)
    steps = (replace(plan.steps[0], title="A & B <b>", detail="w < 48% & > 45%"), *plan.steps[1:])

    printed = read(batch_sheet_pdf(replace(plan, steps=steps), wish))[1]
    assert "A & B <b>" in printed
    assert "w < 48% & > 45%" in printed


@pytest.mark.parametrize("runs", [1, 2, 4, 7])
def test_wordy_steps_are_said_in_short(runs):
    """Where the plan's own words do not fit, the bench's do: numbers and cautions at each step."""
    plan, wish = plan_and_wish(runs)
    steps = tuple(replace(step, detail="Long words. " * 60) for step in plan.steps)

    _, printed, pieces = read(batch_sheet_pdf(replace(plan, steps=steps), wish))
    assert "Long words." not in printed
    assert "Short: plan and calendar say more." in printed
    for said in (
        "2.00 kg of dry grain", "15 min from the return to a simmer", "10 g gypsum",
        "460 g a jar, 11 cm deep", "10 min from the steady jet", "90 min from the moment 15 psi",
        "2 mL a jar", "start the 90 min again", "Alcohol dry and closed before any flame",
        "Stay with it from now to zero pressure", "No chipped or cracked jar",
    ):  # fmt: skip
        assert said in printed, said
    assert all(step.title in printed for step in plan.steps if step.kind == "hold")
    assert min(size for _, size, *_ in pieces) >= LEAST_SIZE - 1e-6


def test_the_latest_beginning_is_said_with_its_day():
    """A week's grace says its date; no grace at all says nothing."""
    plan, wish = plan_and_wish(1)
    late = {"soak-1": timedelta(days=7), "load-1": timedelta(hours=3), "rinse-1": timedelta(0)}
    steps = tuple(
        replace(step, latest=step.at + late[step.key] if step.key in late else None)
        for step in plan.steps
    )

    printed = read(batch_sheet_pdf(replace(plan, steps=steps), wish))[1]
    assert re.findall(r"latest (?:\w{3} \d+ \w{3} )?\d\d:\d\d", printed) == [
        "latest Mon 22 Mar 18:00", "latest 16:40",
    ]  # fmt: skip


def test_sittings_that_say_the_same_share_a_row():
    """Lids made on two evenings: one row, both evenings with their hours."""
    plan, wish = plan_and_wish(1)
    lids = next(step for step in plan.steps if step.kind == "make_lids")
    again = replace(lids, key="make_lids-2", at=lids.at + timedelta(days=1),
                    until=lids.until + timedelta(days=1))  # fmt: skip

    printed = read(batch_sheet_pdf(replace(plan, steps=(*plan.steps, again)), wish))[1]
    assert printed.count("Make 7 lids") == 1
    assert "Sat 13 Mar 19:00–20:00, Sun 14 Mar 19:00–20:00" in printed


def test_more_than_a_page_takes_is_refused():
    """Never a second page, never type too small to read: one sentence instead."""
    with pytest.raises(Unusable, match="more than one legible page takes"):
        batch_sheet_pdf(*plan_and_wish(60))


def test_the_sheet_is_the_same_each_time():
    """No clock and no random number gets into the file."""
    plan, wish = plan_and_wish()

    assert batch_sheet_pdf(plan, wish) == batch_sheet_pdf(plan, wish)


def test_no_sheet_without_a_plan():
    """Nothing is printed for a wish that cannot be met."""
    plan, wish = plan_and_wish()

    with pytest.raises(Unusable, match="cannot be met"):
        batch_sheet_pdf(replace(plan, feasible=False, binding=(Binding("a", "b"),)), wish)


@pytest.mark.parametrize(
    ("environment", "paper"),
    [
        ({"LANG": "en_US.UTF-8"}, "Letter"),
        ({"LANG": "en_US.UTF-8", "LC_PAPER": "pl_PL.UTF-8"}, "A4"),
        ({"LC_ALL": "es_MX@euro", "LANG": "de_DE"}, "Letter"),
        ({"LANG": "C"}, "A4"),
        ({}, "A4"),
    ],
)
def test_paper_is_what_the_printer_has(environment, paper):
    """POSIX: LC_ALL goes before LC_PAPER, LC_PAPER before LANG."""
    assert usual_paper(environment) == paper
