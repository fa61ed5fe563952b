"""Sheets of labels: the shipped ones, the grower's own, and what is no sheet."""

from __future__ import annotations

import pytest

from spawnwright.errors import BadFile, UnknownName, Unusable
from spawnwright.records.label import LabelSheet, pages_address, qr_content
from spawnwright.sources import bibliography
from spawnwright.store.label_sheets import changed_sheet, label_sheets, sheet_named

WHOLE = """
[mine]
paper = "A4"
columns = 2
rows = 4
width = "90 mm"
height = "6 cm"
left = "1 cm"
top = "20 mm"
"""


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    return tmp_path


def test_the_shipped_sheets():
    """Seven grids; each says where its numbers are from."""
    found = label_sheets()

    assert [(each.paper, each.columns, each.rows) for each in found.values()] == [
        ("A4", 3, 7), ("A4", 3, 8), ("A4", 2, 7), ("A4", 4, 10), ("A4", 5, 13),
        ("Letter", 3, 10), ("Letter", 2, 5),
    ]  # fmt: skip
    assert {each.source for each in found.values()} <= set(bibliography())
    assert all(each.where for each in found.values())
    assert found["a4-3x7"].corner_m(5) == pytest.approx((0.0072 + 0.066, 0.01515 + 0.0381))


def test_an_own_sheet_and_one_like_another(own_folder):
    """In the folder of the grower's own files, or in a file that is named."""
    (own_folder / "label_sheets.toml").write_text(
        f'{WHOLE}\n[a4-3x7]\nlike = "a4-3x7"\ntop = "16 mm"\n', encoding="utf-8"
    )
    (own_folder / "one.toml").write_text(WHOLE, encoding="utf-8")

    mine = sheet_named("MINE")
    assert (mine.count, mine.height_m, mine.gap_x_m, mine.source) == (8, 0.06, 0.0, "OWN")
    assert sheet_named("A4 3x7").top_m == 0.016
    assert sheet_named("a4-3x7").left_m == pytest.approx(0.0072)
    assert sheet_named(str(own_folder / "one.toml")) == mine


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"90 mm"', '"90"', "line 6: 'width'.*has no unit"),
        ("columns = 2", "columns = 2.5", "line 4.*whole number"),
        ("columns = 2", "collumns = 2", "did you mean 'columns'"),
        ("rows = 4", "rows = 5", "end at 320 mm, but the height of A4 is 297 mm"),
        ("rows = 4", "rows = 0", "0 rows of labels cannot be"),
        ('"90 mm"', '"20 mm"', "too small for a QR code"),
        ('"A4"', '"A5"', "line 3.*can be 'A4' or 'Letter'"),
        ('left = "1 cm"', "", "lacks left"),
        ('"1 cm"', '"-1 cm"', "negative"),
        ("[mine]", "[mine", "not valid TOML"),
        ("[mine]", "mine = 3\n[other]", "outside a \\[table\\]"),
        ('left = "1 cm"', 'like = "a4-3x9"', "Did you mean a4-3x8"),
        ("[mine]", '[other]\nlike = "a4-3x7"\n[mine]', "holds 2 sheets"),
    ],
)
def test_what_is_no_sheet_is_said_with_its_line(own_folder, old, new, said):
    (own_folder / "one.toml").write_text(WHOLE.replace(old, new), encoding="utf-8")

    with pytest.raises(BadFile, match=said):
        sheet_named(str(own_folder / "one.toml"))


def test_an_unknown_sheet_offers_the_nearest():
    with pytest.raises(UnknownName, match=r"Did you mean a4-3x.*--sheets"):
        sheet_named("a4-3x9")
    with pytest.raises(BadFile, match="cannot be read"):
        sheet_named("nowhere.toml")


def test_own_measurements_replace_what_a_sheet_says():
    sheet = sheet_named("a4-3x7")

    assert changed_sheet(sheet, {}) is sheet
    changed = changed_sheet(sheet, {"top": 0.016, "rows": 6})
    assert (changed.top_m, changed.rows, changed.left_m) == (0.016, 6, sheet.left_m)
    assert (changed.source, changed.where) == ("OWN", "a4-3x7, with top, rows as asked")
    with pytest.raises(Unusable, match="measure again"):
        changed_sheet(sheet, {"top": 0.031})
    with pytest.raises(Unusable, match="must not be below zero"):
        LabelSheet("x", "A4", 1, 1, 0.05, 0.05, -0.01, 0.0)


@pytest.mark.parametrize(
    ("said", "address"),
    [
        ("spawn.local", "http://spawn.local:8377"),
        ("Spawn.LOCAL:8400", "http://spawn.local:8400"),
        ("https://spawn-shed.home.arpa/", "https://spawn-shed.home.arpa:8377"),
        (" laptop ", "http://laptop:8377"),
        ("3cats.local", "http://3cats.local:8377"),
    ],
)
def test_a_name_becomes_an_address(said, address):
    assert pages_address(said) == address
    assert qr_content("CT36", address) == f"{address}/j/CT36"
    assert qr_content("CT36", None) == "CT36"


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("192.168.1.20", "the router hands out"),
        ("http://10.0.0.5:8377", "the router hands out"),
        ("fe80::1", "the router hands out"),
        ("[2001:db8::1]:8377", "the router hands out"),
        ("1234", "the router hands out"),
        ("localhost", "a phone's name for itself"),
        ("spawn.localhost:8377", "a phone's name for itself"),
        ("spawn.local/j", "more than a name"),
        ("ada:secret@spawn.local", "more than a name"),
        ("spawn.local?token=7", "more than a name"),
        ("spawn shed", "more than a name"),
        ("", "no name of a machine"),
        ("ftp://spawn.local", "no name of a machine"),
        ("spawn_shed", "no name of a machine"),
        ("-spawn.local", "no name of a machine"),
        ("spawn..local", "no name of a machine"),
        ("żółw.local", "no name of a machine"),
        ("spawn.local:", "The port"),
        ("spawn.local:http", "The port"),
        ("spawn.local:0", "The port"),
    ],
)
def test_what_must_not_be_printed_on_a_label_is_refused(said, why):
    """An address that dies with its lease, a secret, or what no phone could open."""
    with pytest.raises(Unusable, match=why):
        pages_address(said)
