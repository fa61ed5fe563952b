"""The shelf list as another reader of PDF finds it, and as it lies on the page."""

from __future__ import annotations

import subprocess
from datetime import date
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from spawnwright.errors import Unusable
from spawnwright.paper.shelf_list import page_count, rows_on_page, shelf_list_pdf
from spawnwright.records.book.codes import code_of
from spawnwright.records.shelf_list import ShelfListLine

DAY = date(2026, 2, 1)
LONG = "Żółty łabędź №7, a name that goes on and on and on, Donaudampfschifffahrtsgesellschaft"
HEADS = ["jar", "days", "last look", "strain", "batch", "where", "now"]


def lines(count: int, text: str = "Blue 3") -> list[ShelfListLine]:
    look, sign, marks = "Mon 12 Jan, 30 %", "⚠ blue-green: keep it shut", ("IN DOUBT", "control")
    return [
        ShelfListLine(code_of(number), 1000 + number, look, sign, text, text, text, marks)
        for number in range(count)
    ]


def texts(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_jar_is_on_the_list_once_and_each_page_has_its_heads(paper):
    """Many pages; no jar falls between two."""
    fit = rows_on_page(paper)
    asked = lines(2 * fit + 3)
    pages = texts(shelf_list_pdf(asked, DAY, paper))

    assert len(pages) == page_count(len(asked), paper) == 3
    for number, page in enumerate(pages, 1):
        assert f"page {number} of 3" in page
        assert "Sun 1 Feb 2026" in page
        assert all(head in page.splitlines() for head in HEADS)
        assert "is not smelled at" in page
    for number, line in enumerate(asked):
        assert [line.code in page.split() for page in pages].index(True) == number // fit
        assert sum(page.split().count(line.code) for page in pages) == 1
        assert str(line.age_days) in pages[number // fit].split()


def test_a_full_page_and_one_more_jar():
    """The edge between one page and two."""
    assert page_count(rows_on_page("A4"), "A4") == 1
    assert page_count(rows_on_page("A4") + 1, "A4") == 2
    assert len(texts(shelf_list_pdf(lines(rows_on_page("A4")), DAY))) == 1


def test_an_empty_shelf_says_so():
    (page,) = texts(shelf_list_pdf([], DAY, "Letter"))

    assert "No jar is on the shelf" in page
    assert "page 1 of 1" in page


def test_what_a_line_says_and_what_is_cut():
    """Names are cut with an ellipsis; cautions never are."""
    (page,) = texts(shelf_list_pdf(lines(2, LONG), DAY, of="the batch March"))

    assert "2 jars of the batch March" in page
    assert page.count("⚠ blue-green: keep it shut") == 2
    assert page.count("IN DOUBT, control") == 2
    assert page.count("Żółty łabędź") == 6
    assert page.count("…") == 6


def test_nothing_runs_off_the_page_or_into_the_next_column():
    """The margins stay white, and so does a strip before each column of words."""
    pdf = shelf_list_pdf(lines(rows_on_page("Letter"), LONG), DAY, "Letter")
    done = subprocess.run(
        ["pdftoppm", "-r", "100", "-gray", "-"], input=pdf, capture_output=True, check=True
    )
    _, size, _, rest = done.stdout.split(b"\n", 3)
    width, height = map(int, size.split())
    page = np.frombuffer(rest, np.uint8).reshape(height, width)
    edge = int(0.4 * 100)

    for strip in (page[:, :edge], page[:, -edge:], page[:edge], page[-edge:]):
        assert strip.min() > 200
    body = page[130:1000]
    rules = (body < 200).mean(axis=1) > 0.5
    words = body[~(rules | np.roll(rules, 1) | np.roll(rules, -1))]
    blank = (words > 200).all(axis=0)
    runs = np.flatnonzero(np.diff(np.concatenate([[0], blank.astype(int), [0]])))
    assert sum(end - start >= 4 for start, end in zip(runs[::2], runs[1::2], strict=True)) >= 6


def test_the_same_bytes_each_time_and_no_other_paper():
    assert shelf_list_pdf(lines(50), DAY) == shelf_list_pdf(lines(50), DAY)
    with pytest.raises(Unusable, match="A4 or Letter"):
        shelf_list_pdf([], DAY, "A5")
