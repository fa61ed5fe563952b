"""Documentation that the program can print is printed by it; the rest is run or looked up."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from spawnwright.cli.commands import COMMANDS
from tests.test_house_rules import ROOT, name_of, tracked

PAGES = sorted(file for file in tracked() if file.suffix == ".md")
CONSOLE = re.compile(r"^```console\n(.*?)^```", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"(?<!!)\[[^\]]+\]\(([^)\s]+)\)")


def shown_commands() -> list[pytest.param]:
    """Each `$ ./run …` of a console block, with the output that stands below it."""
    found = []
    for page in PAGES:
        for block in CONSOLE.findall(page.read_text(encoding="utf-8")):
            for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
                command, _, output = part.partition("\n")
                found.append(pytest.param(command, output, id=f"{name_of(page)}: {command}"))
    return found


@pytest.mark.parametrize(("command", "output"), shown_commands())
def test_what_a_page_shows_at_work_is_what_the_program_prints(command, output):
    """To the letter; a line of dots stands for lines left out."""
    environment = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    done = subprocess.run(
        ["bash", "-c", command], cwd=ROOT, env=environment, capture_output=True, encoding="utf-8",
        stdin=subprocess.DEVNULL,
    )  # fmt: skip

    kept = [re.escape(part) for part in output.split("\n...\n")]
    assert re.fullmatch("\n(?:.*\n)*".join(kept), done.stdout), done.stdout


def test_the_first_screen_of_the_readme_shows_the_tool_at_work():
    """What it is for first, then the tool, then the two lines that start it."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")

    assert text.index("```console") < text.index("## Start")
    assert "./run" in text
    assert "./test" in text
    assert "![" not in text


@pytest.fixture(scope="module")
def printed(tmp_path_factory) -> Path:
    """The pages that the program prints, printed now."""
    folder = tmp_path_factory.mktemp("printed")
    subprocess.run(
        [sys.executable, str(ROOT / "tools" / "write_docs.py"), str(folder)],
        env=os.environ, check=True,
    )  # fmt: skip
    return folder


@pytest.mark.parametrize("name", ["README.md", "cli.md", "sources.md"])
def test_a_printed_page_is_current(printed, name):
    """If this fails: .venv/bin/python tools/write_docs.py."""
    now = (printed / name).read_text(encoding="utf-8")

    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == now


def test_every_command_has_a_place_in_the_documentation():
    """In the order of the job."""
    headings = re.findall(
        r"^## (\S+)$", (ROOT / "docs" / "cli.md").read_text(encoding="utf-8"), re.MULTILINE
    )

    assert headings == list(COMMANDS)


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_links_lead_somewhere(page):
    """Within the project; addresses elsewhere are not asked."""
    text = page.read_text(encoding="utf-8")
    broken = [
        target
        for target in LINK.findall(text)
        if not re.match(r"[a-z]+:|#", target) and not (page.parent / target.split("#")[0]).exists()
    ]

    assert not broken


def test_the_index_leads_to_every_page():
    """A page that nothing leads to is not read."""
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    listed = {(ROOT / "docs" / target.split("#")[0]).resolve() for target in LINK.findall(index)}
    pages = {page for page in PAGES if ROOT / "docs" in page.parents and page.name != "README.md"}

    assert not sorted(name_of(page) for page in pages - listed)


def test_the_glossary_is_in_order_and_says_each_word_once():
    """One word for one thing."""
    text = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
    words = re.findall(r"^\*\*(.+?)\*\*", text, re.MULTILINE)

    assert len(words) > 60
    assert words == sorted(set(words), key=str.casefold)


@pytest.mark.parametrize(
    "fragment", sorted((ROOT / "changelog.d").glob("*.md")), ids=lambda path: path.name
)
def test_a_change_is_told_in_whole_sentences(fragment):
    """For somebody who uses the program, not for who wrote it."""
    text = fragment.read_text(encoding="utf-8").strip()

    assert all(part.strip().endswith((".", "!", "?")) for part in text.split("\n\n"))
    assert "#" not in text.split("\n")[0]


DECISIONS = sorted((ROOT / "docs" / "decisions").glob("*.md"))


def test_decisions_have_numbers_of_their_own():
    """So that one can be referred to."""
    numbers = [path.name.split("-")[0] for path in DECISIONS]

    assert all(re.fullmatch(r"\d{4}", number) for number in numbers)
    assert len(set(numbers)) == len(numbers)
