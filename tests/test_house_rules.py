"""House rules that a machine can hold, so that no reviewer has to.

No rule here has a list of exemptions: one that needs them is the wrong rule.
"""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from spawnwright.sources import READ, bibliography

ROOT = Path(__file__).parents[1]
SRC = ROOT / "src" / "spawnwright"
MODULES = sorted(SRC.rglob("*.py"))
MODELS = sorted((SRC / "model").rglob("*.py"))
TEXT = {".py", ".md", ".toml", ".csv", ".sh", ".txt", ".html", ".css", ".js", ".cfg", ".ini", ""}


def name_of(path: Path) -> str:
    """A file as the reader of a failure knows it."""
    return path.relative_to(ROOT).as_posix()


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def tracked() -> list[Path]:
    """The files that a clone would hold, as far as they are text."""
    listed = subprocess.run(
        ["git", "-C", str(ROOT), "ls-files", "-z"], capture_output=True, text=True
    )
    if listed.returncode:  # an archive without its history
        skip = {".venv", ".git", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"}
        files = [file for file in ROOT.rglob("*") if not skip & set(file.parts)]
    else:
        files = [ROOT / name for name in listed.stdout.split("\0") if name]
    return [file for file in files if file.suffix in TEXT and file.is_file()]


# Rooms


ALLOWED = {
    "errors": set(),
    "units": {"errors"},
    "sources": {"errors"},
    "records": {"errors", "units", "sources"},
    "model": {"errors", "units", "sources", "records"},
    "store": {"errors", "units", "sources", "records"},
    "paper": {"errors", "units", "records"},
    "actions": {"errors", "units", "sources", "records", "model", "store", "paper"},
    "web": {"errors", "units", "records", "actions"},
    "cli": {"errors", "units", "records", "actions", "web"},
}
"""Which rooms a room may know, besides itself; `model` and `store` do not know each other."""


def within(room: str) -> set[str]:
    """The rooms that lie further in, at any distance: their types may be named in annotations."""
    return ALLOWED[room].union(*(within(inner) for inner in ALLOWED[room]))


def rooms_imported(node: ast.AST, for_types: bool = False) -> Iterator[tuple[str, str, bool]]:
    """The rooms below a node: the room, the import as written, and whether it is for types only."""
    names = []
    if isinstance(node, ast.Import):
        names = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom) and node.module == "spawnwright":
        names = [f"spawnwright.{alias.name}" for alias in node.names]
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports name the whole path"
        names = [node.module or ""]
    for name in names:
        if name.startswith("spawnwright.") and not name.startswith("spawnwright.__"):
            yield name.split(".")[1], name, for_types
    for_types = for_types or (
        isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    )
    for child in ast.iter_child_nodes(node):
        yield from rooms_imported(child, for_types)


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_point_one_way(path):
    """Shells → actions → model, store, paper → records → sources, units, errors."""
    room = path.relative_to(SRC).parts[0].removesuffix(".py")
    if room.startswith("__"):
        return

    strangers = [
        written
        for imported, written, for_types in rooms_imported(tree(path))
        if imported != room and imported not in (within(room) if for_types else ALLOWED[room])
    ]

    assert not strangers


OUTSIDE = {
    "asyncio", "click", "ctypes", "http", "io", "logging", "multiprocessing", "os", "pathlib",
    "platformdirs", "random", "requests", "rich", "secrets", "shutil", "socket", "sqlalchemy",
    "sqlite3", "subprocess", "sys", "tempfile", "threading", "time", "tomllib", "urllib", "uuid",
}  # fmt: skip
REACHING = {"open", "input", "print", "exec", "eval"}
CLOCK = {"now", "today", "utcnow", "localtime", "monotonic"}


@pytest.mark.parametrize("path", MODELS, ids=name_of)
def test_the_model_never_reaches_outside(path):
    """No store, files, clock or dice: what a model needs is handed to it."""
    reached = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            reached += [each.name for each in node.names if each.name.split(".")[0] in OUTSIDE]
        elif isinstance(node, ast.ImportFrom):
            reached += [node.module] if (node.module or "").split(".")[0] in OUTSIDE else []
        elif isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            last = called.split(".")[-1]
            seeded = last in ("default_rng", "Generator", "SeedSequence", "PCG64") and node.args
            reached += [called] if called in REACHING or last in CLOCK else []
            reached += (
                [called] if re.match(r"(np|numpy)\.random\.\w+$", called) and not seeded else []
            )

    assert not reached


# Sizes


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_module_is_under_400_lines(path):
    """One thing a file."""
    assert len(path.read_text(encoding="utf-8").splitlines()) < 400


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_function_fits_a_screen(path):
    """50 lines, decorators, signature and docstring not counted."""
    long = {}
    for function in functions(path):
        body = function.body[1:] if ast.get_docstring(function) else function.body
        if body:
            lines = (body[-1].end_lineno or 0) - body[0].lineno + 1
            if lines > 50:
                long[function.name] = lines

    assert not long


# Units


NUMERIC = re.compile(r"\b(float|Floats|Number|Values|ArrayLike)\b")
NOT_NUMERIC = re.compile(r"\b(Callable|Mapping|dict|Input|Band)\b")
UNIT = r"\[[^\[\]]*\S[^\[\]]*\]"
SUFFIX = re.compile(
    r"_(c|k|pa|kpa|m|mm|m2|m3|ml|l|kg|g|s|min|h|d|days|w|j|biot|db|"
    r"(mm|m|m2|kg|j|w|per)_(s|day|d|k|kg|m3|mk|m2k|m3k|mm|m2))$"
)


def public_functions(path: Path) -> Iterator[ast.FunctionDef]:
    for node in tree(path).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            decorators = {ast.unparse(each) for each in node.decorator_list}
            if not decorators & {"overload", "typing.overload"}:
                yield node


def numeric_parameters(function: ast.FunctionDef) -> Iterator[str]:
    given = function.args
    for each in [*given.posonlyargs, *given.args, *given.kwonlyargs]:
        annotation = ast.unparse(each.annotation) if each.annotation else ""
        if NUMERIC.search(annotation) and not NOT_NUMERIC.search(annotation):
            yield each.arg


def entry_of(name: str, documented: str) -> str:
    """What a docstring's section says of a parameter: indented lines under `name, other : type`."""
    found = re.search(
        rf"^(?:[\w, ]+, )?{name}(?:, [\w, ]+)? : .+\n((?:(?: {{4}}.*)?\n)+)",
        documented,
        re.MULTILINE,
    )
    return found[1] if found else ""


MODEL_FUNCTIONS = [
    pytest.param(function, id=f"{path.stem}.{function.name}")
    for path in MODELS
    for function in public_functions(path)
]


@pytest.mark.parametrize("function", MODEL_FUNCTIONS)
def test_every_number_that_goes_into_a_model_says_its_unit(function):
    """`elevation_m : float` is followed by words and `[m].`; a bare ratio says `[-].`.

    A function short enough to need no list of parameters says the unit in the parameter's name.
    """
    documented = f"{ast.get_docstring(function) or ''}\n"
    if "Parameters\n----------" in documented:
        unsaid = [
            name
            for name in numeric_parameters(function)
            if not re.search(rf"{UNIT}[.;,]?", entry_of(name, documented))
        ]
    else:
        unsaid = [
            name
            for name in numeric_parameters(function)
            if not SUFFIX.search(name) and not re.search(UNIT, documented)
        ]

    assert not unsaid


@pytest.mark.parametrize("function", MODEL_FUNCTIONS)
def test_every_number_that_comes_out_of_a_model_says_its_unit(function):
    """In brackets in the docstring, or as the suffix of the function's name."""
    returned = ast.unparse(function.returns) if function.returns else ""
    if not NUMERIC.search(returned) or NOT_NUMERIC.search(returned):
        return

    documented = ast.get_docstring(function) or ""
    described = documented.split("Returns\n-------")[-1].split("\n\n")[0]
    summary = documented.split("Parameters\n----------")[0]
    assert SUFFIX.search(function.name) or re.search(UNIT, described) or re.search(UNIT, summary)


@pytest.mark.parametrize("path", MODELS, ids=name_of)
def test_every_public_function_of_a_model_has_a_docstring(path):
    """It is the product."""
    assert not [each.name for each in public_functions(path) if not ast.get_docstring(each)]


# Sources


def citing_text() -> str:
    """Everything in which a source can be used: code, catalogs, published tables, model pages."""
    places = [
        *MODULES,
        *(file for file in (SRC / "data").rglob("*") if file.suffix in (".toml", ".csv")),
        *(ROOT / "tests").rglob("*.py"),
        *(ROOT / "tests" / "published").glob("*.csv"),
        *(ROOT / "docs" / "models").glob("*.md"),
    ]
    return "\n".join(place.read_text(encoding="utf-8") for place in places)


def test_every_work_in_the_bibliography_is_used():
    """A work that nothing rests on is clutter, or a number that lost its source."""
    used = set(re.findall(r"\w+", citing_text()))

    assert not sorted(set(bibliography()) - used)


def test_every_work_that_is_cited_is_in_the_bibliography():
    """Of numbers their constructor makes sure; here it is `[IAPWS1997]_` and heads of tables."""
    text = citing_text()
    cited = set(re.findall(r"\[([A-Z][A-Za-z]+\d{2,4}[a-z]?)\](?!\()", text))
    cited |= set(re.findall(r"^# source: (\w+)", text, re.MULTILINE))

    assert not sorted(cited - set(bibliography()))


def test_every_work_can_be_found_by_a_stranger():
    """A title, and an author or a place of publication."""
    for key, work in bibliography().items():
        assert work.title, key
        assert work.author or work.published or key in ("COMMON", "JUDGMENT", "OWN"), key


PUBLISHED = sorted((ROOT / "tests" / "published").glob("*.csv"))
SHIPPED_TABLES = sorted((SRC / "data").glob("*.csv"))  # the demo's folder is no table


@pytest.mark.parametrize("path", [*PUBLISHED, *SHIPPED_TABLES], ids=name_of)
def test_every_table_says_where_it_is_from(path):
    """Head lines: source, where in it, how it was read."""
    heads = dict(
        line.removeprefix("# ").split(": ", 1)
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.startswith("# ") and ": " in line
    )

    assert heads.get("source") in bibliography()
    assert heads.get("where", "").strip()
    assert heads.get("read", "").split(",")[0].split(";")[0] in READ


# Words


NOT_OURS = re.compile(
    r"/wor[k]/|/far[m]/|/tmp/brie[f]|\.librar[y]\b|pyp[i]\.org|pythonhoste[d]|registry\.np[m]js|"
    r"deb\.debia[n]\.org|seed documen[t]|transcrip[t]s?\b|held-?ou[t]\b|\bshare[d]/|"
    r"\bfact[s]/\w+\.md|\bsub-?agent[s]?\b|language mode[l]|\bLL[M]s?\b|"
    r"\bissue #?[0-9]+\b",
    re.IGNORECASE,
)
_ISE = "sterilis|colonis|organis|recognis|minimis|maximis|optimis|summaris|analys"
_OUR = "colou|favou|behaviou|neighbou|vapou|odou|flavou|labou|honou"
BRITISH = re.compile(
    rf"\b(?:\w*(?:{_ISE})(?:e|ed|es|er|ers|ing|ation|able)\b|\w*(?:{_OUR})r\w*|"
    r"moul[d]\w*|fibr[e]s?\b|cent[r]e[sd]?\b|gre[y]\b|judgemen[t]|licenc[e]|catalogu[e]|sulphat[e]|"
    r"aluminiu[m]|agein[g]|ploug[h])",
    re.IGNORECASE,
)


def test_no_file_speaks_of_how_or_where_it_was_made():
    """No paths of one machine, no package hosts, nothing but the thing itself."""
    found = [
        f"{name_of(file)}:{number}: {match[0]}"
        for file in tracked()
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if (match := NOT_OURS.search(line))
    ]

    assert not found


def test_words_are_spelled_as_in_american_english():
    """One spelling, in code, page and paper; titles and names that people type keep their own."""
    titles = {SRC / "sources" / "bibliography", ROOT / "tests" / "published"}
    found = [
        f"{name_of(file)}:{number}: {match[0]}"
        for file in tracked()
        if not titles & set(file.parents) and file.name != "sources.md"
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if not line.startswith("names = ") and (match := BRITISH.search(line))
    ]

    assert not found


def test_no_unfinished_place_is_left():
    """A note to oneself is not a thing that works."""
    mark = re.compile(r"\b(TOD[O]|FIXM[E]|XX[X])\b")
    found = [
        f"{name_of(file)}:{number}"
        for file in tracked()
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if mark.search(line)
    ]

    assert not found
