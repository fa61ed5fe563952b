"""Labels on paper: read by an independent reader of codes, measured in the picture of the page."""

from __future__ import annotations

import subprocess
from functools import cache

import numpy as np
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import Unusable
from spawnwright.paper import typeface
from spawnwright.paper.labels import labels_pdf
from spawnwright.paper.labels_alignment import alignment_pdf
from spawnwright.paper.labels_text import NO_GLYPH, cut, printable, wide, wrapped
from spawnwright.records.book.codes import code_of
from spawnwright.records.label import PAPER_M, JarLabel, LabelSheet, qr_content
from spawnwright.store.label_sheets import label_sheets

ADDRESS = "http://spawn-shed.local:8377"
SHEETS = label_sheets()
LONG = (
    "Żółty łabędź №7, a name that goes on and on and on",
    "Donaudampfschifffahrtsgesellschaft",
    "",
)
each_sheet = pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)


def labels(count: int, address: str | None = ADDRESS) -> list[JarLabel]:
    """Labels with the longest texts and the largest QR codes, and with hardly any text."""
    made = []
    for number in range(count):
        code = code_of(number if number % 2 else 12_167 + number)
        name, batch = LONG[number % 3], LONG[(number + 1) % 3]
        made.append(
            JarLabel(code, qr_content(code, address), "half-gallon", "Wed 30 Sep 2026", name, batch,
                     is_control=number % 4 == 0, largest_qr_m=0.030)
        )  # fmt: skip
    return made


@cache
def full(key: str) -> bytes:
    """A full sheet."""
    return labels_pdf(labels(SHEETS[key].count), SHEETS[key])


@cache
def picture(pdf: bytes, dpi: int, page: int = 1) -> np.ndarray:
    """A page as shades of gray, 0 black to 255 white, as poppler draws it."""
    done = subprocess.run(
        ["pdftoppm", "-r", f"{dpi}", "-f", f"{page}", "-l", f"{page}", "-gray", "-"],
        input=pdf, capture_output=True, check=True,
    )  # fmt: skip
    kind, size, most, rest = done.stdout.split(b"\n", 3)
    assert (kind, most) == (b"P5", b"255")
    width, height = map(int, size.split())
    return np.frombuffer(rest, np.uint8).reshape(height, width)


def corner_mm(sheet: LabelSheet, number: int) -> tuple[float, float]:
    """Upper left corner of a label, worked out from the sheet anew."""
    down, across = (number - 1) // sheet.columns, (number - 1) % sheet.columns
    return (
        1000 * (sheet.left_m + across * (sheet.width_m + sheet.gap_x_m)),
        1000 * (sheet.top_m + down * (sheet.height_m + sheet.gap_y_m)),
    )


def crop(page: np.ndarray, dpi: int, sheet: LabelSheet, number: int, edge: float = 0.0):
    """The part of a picture that a label is, `edge` [mm] wider on all sides."""
    x, y = corner_mm(sheet, number)
    ends = (y - edge, y + 1000 * sheet.height_m + edge, x - edge, x + 1000 * sheet.width_m + edge)
    top, bottom, left, right = (max(0, round(each * dpi / 25.4)) for each in ends)
    return page[top:bottom, left:right]


@each_sheet
def test_the_grids_fill_their_sheets(sheet):
    """With equal margins on both sides, to 0.1 mm: the sums that were checked of each grid."""
    width, height = (1000 * each for each in PAPER_M[sheet.paper])
    right, bottom = corner_mm(sheet, sheet.count)
    right, bottom = right + 1000 * sheet.width_m, bottom + 1000 * sheet.height_m

    assert right + 1000 * sheet.left_m == pytest.approx(width, abs=0.101)
    assert bottom + 1000 * sheet.top_m == pytest.approx(height, abs=0.101)
    assert sheet.end_m == pytest.approx((right / 1000, bottom / 1000), abs=1e-12)
    assert sheet.corner_m(sheet.count) == pytest.approx(
        [each / 1000 for each in corner_mm(sheet, sheet.count)], abs=1e-12
    )


@each_sheet
@pytest.mark.parametrize("dpi", [100, 300])
def test_every_code_on_a_sheet_is_read_by_another_reader(sheet, dpi):
    """ZXing reads each label by itself, and it says what it was asked to say, at level M."""
    asked = labels(sheet.count)
    page = picture(full(sheet.key), dpi)

    read = [
        zxingcpp.read_barcodes(np.ascontiguousarray(crop(page, dpi, sheet, number)))
        for number in range(1, sheet.count + 1)
    ]
    assert [[each.text for each in found] for found in read] == [[each.content] for each in asked]
    assert {each.ec_level for found in read for each in found} == {"M"}


@each_sheet
def test_nothing_leaves_its_label(sheet):
    """Names, codes and marks as long as they come: outside of the labels, all is white."""
    page = picture(full(sheet.key), 300).copy()

    for number in range(1, sheet.count + 1):
        crop(page, 300, sheet, number, edge=-0.8)[:] = 255
    assert page.min() == 255


@each_sheet
def test_a_code_is_large_whole_and_has_its_quiet_zone(sheet):
    """The code is never cut; four modules of white lie round the QR code on all sides."""
    asked = labels(sheet.count)
    pdf = full(sheet.key)
    page = picture(pdf, 300)

    said = subprocess.run(
        ["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True
    )
    words = said.stdout.decode().split()
    assert {each.code for each in asked} <= set(words)
    assert words.count("CONTROL") == sum(each.is_control for each in asked)
    for number in (1, 2, 3):
        label = crop(page, 300, sheet, number)
        (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(label))
        corner, far = found.position.top_left, found.position.bottom_right
        modules = 33 if len(asked[number - 1].content) > 26 else 29
        quiet = int(4 * (far.x - corner.x) / modules) - 2
        ring = label[corner.y - quiet : far.y + quiet, corner.x - quiet : far.x + quiet].copy()
        assert ring.shape[0] == pytest.approx(ring.shape[1], abs=3)
        ring[quiet - 3 : 3 - quiet, quiet - 3 : 3 - quiet] = 255
        assert ring.min() > 160  # lighter: the edge of a module


def test_labels_that_are_gone_from_the_sheet_stay_empty():
    """Start at label 5 leaves four; what the first page has no room for goes on the second."""
    sheet = SHEETS["a4-3x8"]
    asked = labels(22)
    pdf = labels_pdf(asked, sheet, start_at=5)
    first, second = picture(pdf, 100), picture(pdf, 100, page=2)

    assert [crop(first, 100, sheet, n).min() for n in (1, 2, 3, 4)] == [255] * 4
    assert [crop(second, 100, sheet, n).min() == 255 for n in (1, 2, 3, 24)] == [False] * 2 + [
        True
    ] * 2
    (last,) = zxingcpp.read_barcodes(np.ascontiguousarray(crop(second, 100, sheet, 2)))
    assert last.text == asked[-1].content
    with pytest.raises(Unusable, match="labels 1 to 24; there is no label 25"):
        labels_pdf(asked, sheet, start_at=25)
    with pytest.raises(Unusable, match="no label 0"):
        labels_pdf(asked, sheet, start_at=0)


def dark_corner_mm(page: np.ndarray, dpi: int) -> tuple[float, float]:
    """The leftmost and the topmost ink of a page."""
    dark = page < 128
    return (dark.any(axis=0).argmax() * 25.4 / dpi, dark.any(axis=1).argmax() * 25.4 / dpi)


def test_an_offset_moves_everything_and_nothing_off_the_page():
    """Right and down by so many steps of 0.5 mm; alignment page and labels alike."""
    sheet = SHEETS["a4-3x7"]
    for make in (
        lambda *o: labels_pdf(labels(3), sheet, 1, *o),
        lambda *o: alignment_pdf(sheet, *o),
    ):
        left, top = dark_corner_mm(picture(make(), 300), 300)
        moved = dark_corner_mm(picture(make(0.0025, -0.0015), 300), 300)
        assert moved == pytest.approx((left + 2.5, top - 1.5), abs=0.1)
    with pytest.raises(Unusable, match=r"0\.3 mm is no multiple of 0\.5 mm"):
        labels_pdf(labels(1), sheet, 1, 0.0003)
    with pytest.raises(Unusable, match="would leave the page"):
        alignment_pdf(sheet, 0.0, -0.0155)


@each_sheet
def test_the_alignment_page_frames_each_label(sheet):
    """Each frame lies where the label is, to a third of a millimeter; rulers are 100 mm long."""
    pdf = alignment_pdf(sheet)
    page = picture(pdf, 150)

    for number in (1, sheet.columns, sheet.count):
        x, y = (each * 150 / 25.4 for each in corner_mm(sheet, number))
        wide_, high = sheet.width_m / 0.0254 * 150, sheet.height_m / 0.0254 * 150
        for at in (x, x + wide_):
            column = page[round(y + 4) : round(y + high - 4), round(at) - 2 : round(at) + 3]
            assert (column.min(axis=1) < 230).all()
        for at in (y, y + high):
            row = page[round(at) - 2 : round(at) + 3, round(x + 4) : round(x + wide_ - 4)]
            assert (row.min(axis=0) < 230).all()
    said = " ".join(
        subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
        .stdout.decode().split()
    )  # fmt: skip
    assert "Print at 100 %, no fit to page." in said
    assert "100 mm" in said


def test_the_rulers_of_the_alignment_page_are_as_long_as_they_say():
    """Measured in the picture, between the ends of the lines."""
    page = picture(alignment_pdf(SHEETS["letter-2x5"]), 300)
    one_mm = 300 / 25.4
    line = round(0.7 * 279.4 * one_mm)  # the ruler across lies at 30 % of the height
    dark = (page[line - 2 : line + 3] < 128).any(axis=0)
    runs = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    longest = max(runs[1::2] - runs[::2])

    assert longest / one_mm == pytest.approx(100, abs=0.4)


def test_a_sheet_prints_the_same_bytes_each_time():
    sheet = SHEETS["letter-3x10"]

    assert labels_pdf(labels(9), sheet) == labels_pdf(labels(9), sheet)
    assert alignment_pdf(sheet) == alignment_pdf(sheet)


def test_a_qr_code_is_no_larger_than_its_jar_lets_it_be():
    """18 mm for a jar of 60 mm, although the label has room for more; measured in the picture."""
    sheet = SHEETS["letter-2x5"]
    small = JarLabel("CT36", qr_content("CT36", ADDRESS), "half-pint", "", largest_qr_m=0.018)
    page = picture(labels_pdf([small], sheet), 300)
    (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(crop(page, 300, sheet, 1)))

    across = found.position.bottom_right.x - found.position.top_left.x
    middle = (found.position.bottom_right.x + found.position.top_left.x) / 2
    assert across * 25.4 / 300 == pytest.approx(18, abs=0.3)
    assert middle * 25.4 / 300 == pytest.approx(101.6 / 2, abs=0.3)


def test_a_name_too_long_for_the_label_is_refused():
    """Modules finer than a printer's dots would be a code that nobody can read."""
    long = f"http://{'-'.join(['very'] * 12)}.local:8377"

    with pytest.raises(Unusable, match="too fine to print; take larger labels or a shorter name"):
        labels_pdf(labels(1, f"{long}.{long[7:]}"), SHEETS["a4-5x13"])
    with pytest.raises(Unusable, match="no jar to print a label for"):
        labels_pdf([], SHEETS["a4-5x13"])


def test_a_code_alone_is_read_too():
    """Where no name is given."""
    sheet = SHEETS["a4-4x10"]
    page = picture(labels_pdf(labels(4, None), sheet), 100)

    for number, asked in enumerate(labels(4, None), 1):
        (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(crop(page, 100, sheet, number)))
        assert found.text == asked.code


SMALL = LabelSheet("own", "Letter", 1, 1, 0.030, 0.018, 0.0, 0.0)


def test_a_sheet_of_ones_own_is_printed_and_read():
    """The smallest label that is taken, in the corner of the page; and a page that is one label."""
    for sheet in (SMALL, LabelSheet("page", "A4", 1, 1, 0.2, 0.287, 0.005, 0.005)):
        page = picture(labels_pdf(labels(1), sheet), 300)
        (found,) = zxingcpp.read_barcodes(np.ascontiguousarray(crop(page, 300, sheet, 1)))
        assert found.text == labels(1)[0].content
        assert picture(alignment_pdf(sheet), 50).min() < 128


# Text


@pytest.fixture(scope="module", autouse=True)
def registered():
    typeface.register()


NAMES = st.text(
    st.one_of(st.characters(codec="utf-8"), st.sampled_from(" żółŁ№W…")), min_size=1, max_size=80
)


@given(NAMES, st.floats(4.0, 12.0), st.floats(20.0, 200.0), st.integers(1, 4))
def test_a_text_never_leaves_its_column(name, size, width, most):
    """Whatever it is; all of it is there unless an ellipsis says that it is not."""
    text = printable(name)
    lines = wrapped(text, typeface.REGULAR, size, width, most)

    assert len(lines) <= most
    assert all(wide(line, typeface.REGULAR, size) <= width + 1e-9 for line in lines)
    if "…" not in "".join(lines):
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_cut_is_as_long_as_it_can_be():
    text = "Pink oyster from the shed"
    width = wide("Pink oyster f…", typeface.BOLD, 8)

    assert cut(text, typeface.BOLD, 8, width + 0.01) == "Pink oyster f…"
    assert cut(text, typeface.BOLD, 8, width - 0.01) == "Pink oyster…"


def test_the_typeface_has_the_letters_of_names():
    """Letters of Europe's languages in Latin, Greek and Cyrillic, № and the ellipsis, bold too."""
    from reportlab.pdfbase import pdfmetrics

    wanted = "żłŻŁęąśćźńĄøåßÿőűčřšžğıİêñçãõ№…—–°×✓ΩαΣЖяїQWERTY0123456789"
    for font in (typeface.REGULAR, typeface.BOLD):
        known = pdfmetrics.getFont(font).face.charToGlyph
        assert not [sign for sign in wanted if ord(sign) not in known]
    assert printable(wanted) == wanted


def test_a_sign_that_the_typeface_lacks_is_shown_as_lacking():
    """Not as nothing: two names that differ in it alone would look the same."""
    assert printable("菌 1\n\t b") == f"{NO_GLYPH} 1 b"
    assert printable("z\u0307o\u0301\u0142ty") == "żółty"
