"""`labels` and `shelf-list` from the outside: what is written, what is said, what is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.cli.test_book_commands import EXAMPLE, answered, files_here, home, season
from tests.cli.test_shell import main

__all__ = ["home", "season"]


@pytest.fixture(autouse=True)
def in_europe(monkeypatch):
    """Where A4 is usual."""
    monkeypatch.setenv("LC_ALL", "de_DE.UTF-8")


def test_labels_of_all_active_jars(season, capsys):
    """In the order of filling; what was written stands in the JSON."""
    code, told = answered(
        capsys, "labels", "--all-active", "--host", "spawn.local", "--pdf", "a.pdf",
        "--start-at", "20",
    )  # fmt: skip

    assert (code, told["file"], told["pages"]) == (0, "a.pdf", 2)
    assert (told["sheet"]["name"], told["sheet"]["width_mm"]) == ("a4-3x7", 63.5)
    assert [(each["code"], each["page"], each["place"]) for each in told["labels"]] == [
        ("2222", 1, 20), ("5C56", 1, 21), ("CT36", 2, 1), ("RK46", 2, 2),
    ]  # fmt: skip
    assert told["labels"][2]["content"] == "http://spawn.local:8377/j/CT36"
    pages = [page.extract_text() for page in PdfReader("a.pdf").pages]
    assert "5C56" in pages[0]
    assert "CONTROL" in pages[0]
    assert re.search(r"RK46[\s\S]*blue 1", pages[1])
    assert "CONTROL" not in pages[1]


def test_labels_by_code_from_an_export_in_the_order_asked(home, capsys):
    """No book is made; a code may be typed small."""
    code, out, err = main(
        capsys, "labels", "rk-46", "CT36", "--file", str(EXAMPLE), "--pdf", "a.pdf", "--dates",
        "iso", "--sheet", "letter-2x5",
    )  # fmt: skip

    assert code == 0
    assert "Print at 100 %, no fit to page" in out
    assert err == "Written: a.pdf\n"
    text = PdfReader("a.pdf").pages[0].extract_text()
    assert text.index("RK46") < text.index("CT36")
    assert "2026-01-10" in text
    assert files_here() == ["a.pdf"]


def test_the_host_may_stand_in_the_kit(season, capsys):
    """Said once; what is said at the command wins."""

    def content(*more):
        told = answered(capsys, "labels", "CT36", "--pdf", "a.pdf", *more)[1]
        return told["labels"][0]["content"]

    assert content() == "CT36"
    Path("kit.toml").write_text('host = "shed.local:8400"\n', encoding="utf-8")
    assert content() == "http://shed.local:8400/j/CT36"
    assert content("--host", "spawn.local") == "http://spawn.local:8377/j/CT36"
    assert content("--code-alone") == "CT36"
    Path("kit.toml").write_text('host = "192.168.1.7"\n', encoding="utf-8")
    code, _, err = main(capsys, "labels", "CT36", "--pdf", "b.pdf")
    assert code == 2
    assert "kit.toml, line 1: 'host': '192.168.1.7' is an address that the router" in err


def test_the_alignment_page_needs_no_book(home, capsys):
    code, told = answered(
        capsys, "labels", "--alignment", "--sheet", "a4-5x13", "--offset-x", "-1.5 mm",
        "--pdf", "a.pdf",
    )  # fmt: skip

    assert (code, told["labels"], told["sheet"]["columns"]) == (0, [], 5)
    assert "no fit to page" in " ".join(PdfReader("a.pdf").pages[0].extract_text().split())


def test_own_measurements_change_the_sheet(home, capsys):
    sheet = answered(
        capsys, "labels", "--alignment", "--pdf", "a.pdf", "--columns", "2", "--width", "9 cm",
        "--gap-x", "0", "--top", "16 mm", "--rows", "6",
    )[1]["sheet"]  # fmt: skip

    assert (sheet["columns"], sheet["rows"], sheet["source"]) == (2, 6, "OWN")
    assert (sheet["width_mm"], sheet["gap_x_mm"], sheet["top_mm"]) == (90.0, 0.0, 16.0)


def test_the_sheets_are_listed(home, capsys, monkeypatch):
    """The usual one follows the country's paper."""
    assert len(answered(capsys, "labels", "--sheets")[1]["sheets"]) == 7
    monkeypatch.setenv("LC_ALL", "en_US.UTF-8")
    told = answered(capsys, "labels", "--alignment", "--pdf", "a.pdf")[1]
    assert told["sheet"]["name"] == "letter-3x10"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--all-active"], "There is no record book"),
        (["CT36", "--file", "none.db"], "There is no record book none.db"),
        (["--file", str(EXAMPLE)], "none was said"),
        (["CT36", "--all-active", "--file", str(EXAMPLE)], "in one way"),
        (["CT36", "--batch", "March", "--file", str(EXAMPLE)], "in one way"),
        (["CT37", "--file", str(EXAMPLE)], "one sign is wrong"),
        (["RT62", "--file", str(EXAMPLE)], "RT62"),
        (["--batch", "March", "--file", str(EXAMPLE)], "There is no batch called"),
        (["CT36", "--start-at", "22", "--file", str(EXAMPLE)], "no label 22"),
        (["CT36", "--sheet", "a4-9x9", "--file", str(EXAMPLE)], "no label sheet called"),
        (["CT36", "--offset-x", "0.3 mm", "--file", str(EXAMPLE)], "no multiple"),
        (["CT36", "--offset-y", "3", "--file", str(EXAMPLE)], "--offset-y"),
        (["CT36", "--offset-y", "-3 cm", "--file", str(EXAMPLE)], "leave the page"),
        (["CT36", "--host", "192.168.1.2", "--file", str(EXAMPLE)], "router hands out"),
        (["CT36", "--host", "a", "--code-alone", "--file", str(EXAMPLE)], "exclude each other"),
        (["CT36", "--columns", "4", "--file", str(EXAMPLE)], "measure again"),
        (["CT36", "--width", "60", "--file", str(EXAMPLE)], "--width"),
        (["CT36", "--alignment"], "without jars"),
        (["CT36", "--file", str(EXAMPLE), "--pdf", "."], "is a folder"),
    ],
)
def test_labels_that_cannot_be_printed(home, capsys, arguments, said):
    """Exit code 2, one sentence, nothing is written."""
    code, out, err = main(capsys, "labels", "--pdf", "a.pdf", *arguments)

    assert (code, out) == (2, "")
    assert said in err
    assert len(err.strip().splitlines()) == 1
    assert len(err) < 600
    assert files_here() == []


def test_labels_need_a_place_to_go(season, capsys):
    code, _, err = main(capsys, "labels", "CT36")

    assert code == 2
    assert "--pdf is missing" in err
    assert "record-book.db" in {each.name for each in Path().iterdir()}


def test_the_shelf_list(season, capsys):
    """What was written, by place and age; the sign in words."""
    code, told = answered(capsys, "shelf-list", "--pdf", "s.pdf")

    assert (code, told["file"], told["paper"], told["pages"]) == (0, "s.pdf", "A4", 1)
    assert told["jars"] == ["5C56", "2222", "CT36", "RK46"]
    text = PdfReader("s.pdf").pages[0].extract_text()
    assert "green: keep it shut" in text
    assert "Sat 17 Jan, 30 %" in text
    assert (
        answered(capsys, "shelf-list", "--pdf", "s.pdf", "--paper", "Letter")[1]["paper"]
        == "Letter"
    )


def test_the_list_of_an_empty_shelf_and_of_no_book(home, capsys):
    """An empty book gives a page that says so; no book gives a sentence and no book."""
    code, _, err = main(capsys, "shelf-list", "--pdf", "s.pdf")
    assert (code, files_here()) == (2, [])
    assert "There is no record book" in err

    assert main(capsys, "import", str(EXAMPLE), "--yes")[0] == 0
    code, _, err = main(capsys, "shelf-list", "--pdf", "s.pdf", "--batch", "March")
    assert code == 2
    assert "There is no batch called 'March'" in err
    assert "s.pdf" not in files_here()


@pytest.mark.parametrize("command", [["labels", "--all-active"], ["shelf-list"]])
def test_the_book_and_the_export_are_never_written_over(season, capsys, command):
    """Paper goes elsewhere."""
    Path("copy.json").write_bytes(EXAMPLE.read_bytes())
    for asked in ([], ["--file", "copy.json"]):
        target = asked[-1] if asked else "record-book.db"
        before = Path(target).read_bytes()
        code, _, err = main(capsys, *command, *asked, "--pdf", target)
        assert code == 2
        assert "is the file that the answer is made from" in err
        assert Path(target).read_bytes() == before
