"""Writes the pages that follow from the rest: cli.md, sources.md and the index of docs/, and
what the README's console blocks show.

    .venv/bin/python tools/write_docs.py [FOLDER]

With a FOLDER, only the pages of docs/, into it: so a test compares (tests/test_documentation.py).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

import click  # noqa: E402

from spawnwright.actions.sources import SourcePage, source_pages  # noqa: E402
from spawnwright.cli import spawnwright  # noqa: E402
from spawnwright.cli.commands import COMMANDS  # noqa: E402
from spawnwright.cli.sources import written  # noqa: E402

WRITTEN_BY = "<!-- Written by tools/write_docs.py from the project itself; do not edit. -->"

CLI_HEAD = """\
# The commands

What holds for all of them:

- `--help` shows the options and an example; `--json`, anywhere after the command, prints one JSON
  object whose keys end in their unit, with numbers unrounded. Standard output carries the answer
  alone; warnings, progress and errors go to standard error.
- A **band** is `low`, `likely`, `high`: of all outcomes that the uncertain inputs allow, 5 % lie
  below `low`, half below `likely`, 95 % below `high`. `--explain`, where there is one, lists
  those inputs and their sources.
- **Quantities** are written with their unit: "15 psi", "15 lb weight", "1 bar", "80 kPa",
  "1500 m", "4900 ft", "1 qt" (US), "500 mL", "20 C", "21 °C", "68 F", "90 min", "1 h 30 min",
  "2 kg", "1 lb 4 oz". A bare number is refused where a unit is needed. Decimal point and decimal
  comma are understood; "1,500" could be either and is refused. Shares have a percent sign ("70%")
  or are fractions ("2/3").
- **Exit codes**: 0, there is an answer, however unwelcome; 1, a wish that cannot be met, or a
  check that found a problem (the object is still printed); 2, input that cannot be used, said in
  one sentence, with nothing changed or written; 70, a bug in the program, with its trace.
- `NO_COLOR` and a dumb terminal give plain text. Your own grains, jars, canners and species are
  TOML files, see [catalogs.md](catalogs.md); `SPAWNWRIGHT_HOME` names their folder.
"""

SOURCES_HEAD = """\
# Where the numbers are from

Every physical and biological number in the program names its source, or it could not be entered.
Weak sources stand first, since these are the numbers to replace: our own estimates, common
practice of the trade, works quoted from memory or second hand. Your own measurements, in files
of your own ([catalogs.md](catalogs.md)), win over all of them.

`./run sources WORD` shows the same for one work, one grain or one part of the program.
"""

INDEX = """\
# Documentation

## To use it

{pages}

## To trust it

- [Where the numbers are from](sources.md), weak sources first.
- One page a model: the question, the equation, its range and source, how it was checked, what it
  ignores.

{models}

## Decisions

What was chosen, against what, and why. A decision is not edited; a later one supersedes it.

{decisions}

## To work on it

[CONTRIBUTING.md](../CONTRIBUTING.md)
"""

HEADINGS = {
    "JUDGMENT": "Our own estimates, where nothing was published",
    "COMMON": "Common practice of the trade, no source",
    "from memory": "Works quoted from memory",
    "second hand": "Works quoted second hand",
    "abstract": "Works of which the abstract was read",
    "itself": "Works that were read themselves",
}


def cli_page() -> str:
    """The help of every command, as the program prints it."""
    parts = [WRITTEN_BY, "", CLI_HEAD]
    root = click.Context(spawnwright, info_name="./run", **spawnwright.context_settings)
    for name in COMMANDS:
        command = spawnwright.get_command(root, name)
        assert command is not None
        context = click.Context(command, parent=root, info_name=name, terminal_width=90)
        parts += [f"## {name}", "", "```text", command.get_help(context).rstrip(), "```", ""]
    return "\n".join(parts)


def sources_page() -> str:
    """Every work with the numbers that rest on it."""
    parts = [WRITTEN_BY, "", SOURCES_HEAD]
    heading = ""
    for page in source_pages():
        work = page.work
        group = HEADINGS.get(work.key) or HEADINGS[work.read]
        if group != heading:
            heading = group
            parts += [f"## {heading}", ""]
        if work.key not in HEADINGS:
            parts += [f"### {work.key}", "", _citation(page), ""]
        if page.numbers:
            parts += ["| number | where | used in |", "| --- | --- | --- |"]
            parts += [
                f"| {written(number)} | {_cell(number.where)} | {_cell(number.used_in)} |"
                for number in page.numbers
            ]
            parts.append("")
        if page.cited_in:
            parts += [f"Cited in {', '.join(page.cited_in)}.", ""]
    return "\n".join(parts)


def index_page() -> str:
    """The way to every page, each under the heading that it gives itself."""
    docs = ROOT / "docs"
    pages = [page for page in sorted(docs.glob("*.md")) if page.name not in MADE_LAST]
    lists = {
        "pages": _listed([*pages, docs / "cli.md"]),
        "models": _listed(sorted(docs.glob("models/*.md"))),
        "decisions": _listed(sorted(docs.glob("decisions/*.md"))),
    }
    return f"{WRITTEN_BY}\n\n{INDEX.format(**lists)}"


def _listed(pages: list[Path]) -> str:
    docs = ROOT / "docs"
    return "\n".join(f"- [{_heading(page)}]({page.relative_to(docs)})" for page in pages)


def _heading(page: Path) -> str:
    if page.name == "cli.md":
        return CLI_HEAD.partition("\n")[0].removeprefix("# ")
    return page.read_text(encoding="utf-8").partition("\n")[0].removeprefix("# ").strip()


def refreshed(text: str) -> str:
    """A page with its console blocks run anew; of each output as many first lines as it showed."""
    return re.sub(
        r"(?<=^```console\n)(.*?)(?=^```)", _run_block, text, flags=re.MULTILINE | re.DOTALL
    )


def _run_block(block: re.Match[str]) -> str:
    parts = []
    for part in re.split(r"^\$ ", block[0], flags=re.MULTILINE)[1:]:
        command, _, shown = part.partition("\n")
        environment = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
        output = subprocess.run(
            command, shell=True, cwd=ROOT, env=environment, capture_output=True, encoding="utf-8"
        ).stdout
        if "\n...\n" in shown:
            count = shown.count("\n", 0, shown.index("\n...\n")) + 1
            output = "\n".join([*output.split("\n")[:count], "...", ""])
        parts.append(f"$ {command}\n{output}")
    return "".join(parts)


def _citation(page: SourcePage) -> str:
    work = page.work
    by = f"{work.author} ({work.year})".replace(" ()", "") if work.author else work.year
    return ". ".join(each for each in (by, work.title, work.published, work.address) if each) + "."


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


MADE_LAST = ("README.md", "cli.md", "sources.md")
PAGES = {"README.md": index_page, "cli.md": cli_page, "sources.md": sources_page}


def main(folder: Path) -> None:
    """Write the pages, as somebody without catalogs of their own would see them."""
    with tempfile.TemporaryDirectory() as nobody:
        os.environ["SPAWNWRIGHT_HOME"] = nobody
        for name, page in PAGES.items():
            (folder / name).write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        main(ROOT / "docs")
        readme = ROOT / "README.md"
        readme.write_text(refreshed(readme.read_text(encoding="utf-8")), encoding="utf-8")
