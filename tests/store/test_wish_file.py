"""A wish file is read whole, or refused in one sentence that names the line and what would do."""

import re
from datetime import UTC, date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from spawnwright.actions.planning.example import example_wish
from spawnwright.errors import BadFile, Contradiction, Unusable
from spawnwright.store.wish_file import parse_wish, read_wish
from spawnwright.units import PSI_PA

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 25, 18)
LEAST = """\
[wish]
species = "blue oyster"
jars = 6
ready_by = 2027-01-15

[kit]
jar = "quart"
jars_free = 8
canner = "one-layer"

[place]
elevation = "450 m"
time_zone = "Europe/Warsaw"
"""


def read(text: str = LEAST, now: datetime = NOW):
    return parse_wish(text, "wish.toml", now, Path())


def changed(old: str, new: str) -> str:
    assert LEAST.count(old) == 1
    return LEAST.replace(old, new)


def test_the_least_wish_is_enough_and_says_which_defaults_it_took():
    wish = read()

    assert (wish.goal.species.key, wish.goal.jars, wish.goal.chance) == ("blue-oyster", 6, 0.8)
    assert (wish.grain.grain.key, wish.kit.lids_free, wish.kit.cooling) == (
        "rye", 8, "overnight shut",
    )  # fmt: skip
    assert wish.kit.gauge_pa == pytest.approx(15 * PSI_PA)
    assert wish.culture.dose_m3 == pytest.approx(2e-3 * wish.kit.jar.nominal_volume_m3)
    assert wish.culture.volume_m3 == float("inf")
    assert {'grain.kind = "rye"', "kit.lids_free = 8", 'wish.chance = "80%"'} <= {*wish.defaults}
    assert not [each for each in wish.defaults if "jars_free" in each or "time_zone" in each]


def test_every_line_of_the_example_that_is_no_remark_is_its_own_default():
    """docs/wish.md promises it: leaving such a line out changes nothing but the defaults named."""
    text = example_wish() + "\n[place.x]\n"
    text = example_wish().replace("# time_zone", "time_zone")
    whole = read(text)
    needed = (
        "species",
        "jars ",
        "ready_by",
        "jar ",
        "jars_free",
        "canner",
        "elevation",
        "time_zone",
    )
    for line in text.splitlines():
        key = line.split("=")[0]
        if "=" not in line or line.startswith(("#", *needed, "days", "from", "until")):
            continue
        left_out = read(text.replace(line, ""))
        kept = [each for each in left_out.defaults if each not in whole.defaults]
        if key.strip() != "lids_free":  # as many as jars
            assert _same(left_out, whole), line
        assert len(kept) == 1, line
        assert key.strip() in kept[0]


def _same(one, other) -> bool:
    return all(
        getattr(one, name) == getattr(other, name)
        for name in ("goal", "grain", "kit", "place", "free", "culture", "under_way", "losses")
    )


def test_the_example_stands_in_the_documentation_as_it_is_printed():
    page = (ROOT / "docs" / "wish.md").read_text(encoding="utf-8")
    block = re.search(r"```toml\n(.*?)\n```", page, re.DOTALL)

    assert block is not None
    assert block[1] == example_wish()


def test_dates_are_ends_or_beginnings_of_days_in_the_wishs_time_zone():
    wish = read(changed("ready_by = 2027-01-15", "ready_by = 2027-07-15\nstart = 2026-12-01"))
    warsaw = ZoneInfo("Europe/Warsaw")

    assert wish.goal.ready_by == datetime(2027, 7, 15, 23, 59, tzinfo=warsaw)
    assert wish.goal.start == datetime(2026, 12, 1, tzinfo=warsaw)
    assert wish.now == datetime(2026, 11, 25, 18, tzinfo=warsaw)


def test_an_instant_with_an_offset_is_that_instant():
    text = changed("ready_by = 2027-01-15", 'ready_by = "2027-01-15T12:00:00-07:00"')
    wish = read(text, datetime(2026, 11, 25, 17, tzinfo=UTC))

    assert wish.goal.ready_by == datetime(2027, 1, 15, 19, tzinfo=UTC)
    assert wish.now.utcoffset() is not None
    assert wish.now == datetime(2026, 11, 25, 17, tzinfo=UTC)


def test_free_hours_by_weekday_and_by_date():
    free = """
[[free]]
days = ["mon", "Friday"]
from = 17:30:00
until = "22:30"

[[free]]
on = 2026-12-24
from = "9:00"
until = 01:00:00

[[free]]
from = "10:00"
until = "11:00"
"""
    first, second, third = read(LEAST + free).free

    assert (first.weekdays, first.start, first.until) == ((0, 4), time(17, 30), time(22, 30))
    assert (second.weekdays, second.on, second.start) == ((), date(2026, 12, 24), time(9))
    assert third.weekdays == (0, 1, 2, 3, 4, 5, 6)


@pytest.mark.parametrize(
    ("fill", "share", "grams"),
    [('"2/3"', 2 / 3, None), ('"5.5 cm below the rim"', 0.706, None), ('"480 g"', None, 480)],
)
def test_a_fill_may_be_said_in_three_ways(fill, share, grams):
    kit = read(changed("jars_free = 8", f"jars_free = 8\nfill = {fill}")).kit

    if grams is None:
        assert kit.fill == pytest.approx(share, abs=0.001)
        assert kit.fill_kg is None
    else:
        assert kit.fill_kg == pytest.approx(grams / 1000)


def test_a_canner_may_stand_in_the_wish_as_a_table():
    table = """
[kit.canner]
mass = "6.5 kg"
inner_diameter = "32 cm"
inside_height = "28 cm"
rack_height = "15 mm"
water = "3 L"
rated_gauge = "12 psi"
"""
    kit = read(changed('canner = "one-layer"\n', table)).kit

    assert kit.canner.inner_diameter_m == pytest.approx(0.32)
    assert kit.gauge_pa == pytest.approx(12 * PSI_PA), "no more than the rating"


def test_files_of_the_growers_own_lie_beside_the_wish(tmp_path):
    (tmp_path / "my-jar.toml").write_text(
        '[shelf-jar]\nbrim_water = "980 g"\nstring_round = "30.1 cm"\ninside_height = "16.2 cm"\n',
        encoding="utf-8",
    )
    wish = tmp_path / "wish.toml"
    wish.write_text(changed('jar = "quart"', 'jar = "my-jar.toml"'), encoding="utf-8-sig")

    assert read_wish(wish, NOW).kit.jar.key == "shelf-jar"


UNDER_WAY = "\n[under_way]\n"
BAD = [
    # old, new, line, what the sentence says
    ("jars = 6", 'jars = 6\nfresh_mushrooms = "5 kg"', 3, "not both"),
    ("jars = 6\n", "", 1, "either jars or fresh_mushrooms"),
    ("ready_by = 2027-01-15\n", "", 1, "ready_by or start is missing"),
    ("ready_by = 2027-01-15", "ready_by = 2026-11-24", 4, "is past"),
    ("ready_by = 2027-01-15", "ready_by = 2026-11-25T17:59:00", 4, "is past"),
    ("ready_by = 2027-01-15", 'ready_by = "soon"', 4, "is no date; write 2027-01-15"),
    ("ready_by = 2027-01-15", "ready_by = 15", 4, "is no date"),
    ("ready_by = 2027-01-15", "ready_by = 2031-01-15", 4, "2031-01-15 is more than two years"),
    ("ready_by = 2027-01-15", "ready_by = 9999-12-31", 4, "no date to plan for"),
    ("ready_by = 2027-01-15", "ready_by = 2027-01-15\nstart = 2027-01-20", 5, "before ready_by"),
    ('species = "blue oyster"', 'species = "blue oister"', 2, "Did you mean blue-oyster"),
    ('species = "blue oyster"\n', "", 1, "lacks 'species'"),
    ('species = "blue oyster"', "species = 7", 2, "is no name"),
    ("jars = 6", "jars = 0", 3, "between 1 and 1000"),
    ("jars = 6", "jars = 6.5", 3, "no whole number"),
    ("jars = 6", 'jars = "six"', 3, "no whole number"),
    ("jars = 6", "jars = true", 3, "no whole number"),
    ("jars = 6", "jras = 6", 3, "did you mean 'jars'"),
    ("jars = 6", "jars = 6\nchance = 90", 4, "percent sign"),
    ("jars = 6", 'jars = 6\nchance = "100%"', 4, "must lie between"),
    ("jars = 6", 'fresh_mushrooms = "5 psi"', 3, "a mass is needed"),
    ("jars = 6", 'fresh_mushrooms = 5', 3, "has no unit"),
    ('jar = "quart"', 'jar = "bucket"', 7, "no jar called"),
    ('jar = "quart"', 'jar = "nowhere.toml"', 7, "there is no file nowhere.toml"),
    ('canner = "one-layer"', 'canner = "one-layer"\ngauge = "20 psi"', 10, "at most 15 psi"),
    ('canner = "one-layer"', 'canner = "one-layer"\ngauge = "2 psi"', 10, "too little"),
    ('canner = "one-layer"', 'canner = "one-layer"\nfill = "120%"', 10, "between 0% and 100%"),
    ('canner = "one-layer"', 'canner = "one-layer"\nfill = 0.7', 10, "percent sign"),
    ('canner = "one-layer"', 'canner = "one-layer"\nfill = "17 cm below the rim"', 10, "0%"),
    ('canner = "one-layer"', 'canner = "one-layer"\ntrays = 0', 10, "between 1 and 100"),
    ('canner = "one-layer"', 'canner = "one-layer"\npot = "12 kg"', 10, "a volume is needed"),
    ('canner = "one-layer"', 'canner = "one-layer"\nburner = "2 MW"', 10, "300 W|200 W|50000 W"),
    ('canner = "one-layer"', 'canner = "one-layer"\ncooling = "quick"', 10, "opened warm"),
    ('canner = "one-layer"', 'canner = "one-layer"\nstill_place = "yes"', 10, "true nor false"),
    ('canner = "one-layer"\n', "", 6, "lacks 'canner'"),
    ('elevation = "450 m"', 'elevation = "450"', 12, "has no unit"),
    ('elevation = "450 m"', 'elevation = "15 psi"', 12, "an elevation is needed"),
    ('elevation = "450 m"', 'elevation = "9000 m"', 12, "between -430 m and 6000 m"),
    ('elevation = "450 m"\n', "", 11, "lacks 'elevation'"),
    ("Europe/Warsaw", "Europe/Warsaws", 13, "did you mean Europe/Warsaw"),
    ("[place]", "[plaze]", 11, "did you mean 'place'"),
    ("[kit]", "[kit", 6, "not valid TOML: .*line 6"),
    ("[kit]", "kit = 3\n[kitt]", 7, "unknown key 'kitt'"),
    ("[kit]", '[grain]\nsoak = "30 h"\n\n[kit]', 7, "between 12 h and 24 h"),
    ("[kit]", '[grain]\nmoisture = "60%"\n\n[kit]', 7, "5% and 25%"),
    ("[kit]", '[grain]\nkind = "rice-a"\n\n[kit]', 7, "no grain called"),
    ("[kit]", '[culture]\ntested = 2026-12-24\n\n[kit]', 7, "yet to come"),
    ("[kit]", '[culture]\nmade = 2026-11-20\ntested = 2026-11-19\n\n[kit]', 8,
     "before it was made"),
    ("[kit]", '[losses]\nrun = "5"\n\n[kit]', 7, "percent sign"),
    ("[kit]", '[under_way]\nsoaking = "1.8 kg"\n\n[kit]', 7, "go together"),
    ("[kit]", "[under_way]\nsterile_since = 2026-11-24T08:00:00\n\n[kit]", 7, "go together"),
    ("[kit]", '[under_way]\ndrained = "2 kg"\ndrained_since = 2026-11-26T08:00:00\n\n[kit]', 8,
     "yet to come"),
    ("[kit]", "[free]\nfrom = 09:00:00\n\n[kit]", 6, "two brackets"),
    ("[kit]", "[[free]]\nuntil = 09:00:00\n\n[kit]", 6, "lacks 'from'"),
    ("[kit]", '[[free]]\nfrom = "9"\nuntil = "10:00"\n\n[kit]', 7, "no time of day"),
    ("[kit]", '[[free]]\nfrom = "09:00"\nuntil = "25:00"\n\n[kit]', 8, "no time of day"),
    ("[kit]", '[[free]]\ndays = ["mon", "xyz"]\nfrom = "09:00"\nuntil = "10:00"\n\n[kit]', 7,
     "'xyz' is no day"),
    ("[kit]", '[[free]]\ndays = []\nfrom = "09:00"\nuntil = "10:00"\n\n[kit]', 7, "is empty"),
    ("[kit]", '[[free]]\ndays = ["mon"]\non = 2026-12-24\nfrom = "09:00"\nuntil = "10:00"\n\n[kit]',
     8, "not both"),
    ("[kit]", '[[free]]\nfrom = "09:00"\nuntil = "09:00"\n\n[kit]', 8, "the same time"),
    ("[kit]", '[[free]]\nfrom = "09:00"\nuntil = "10:00"\n\n[[free]]\nfrom = "09:00"\nuntill = 3\n'
     '\n[kit]', 12, "did you mean 'until'"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "said"), BAD, ids=lambda each: str(each)[:40])
def test_a_bad_line_is_named_with_what_would_do(old, new, line, said):
    with pytest.raises(Unusable) as refused:
        read(changed(old, new))

    sentence = str(refused.value)
    assert re.search(said, sentence), sentence
    assert re.search(rf"\bline {line}\b", sentence) or "two brackets" in sentence, sentence
    assert len(sentence) < 600


def test_a_file_that_is_none_is_refused(tmp_path):
    (tmp_path / "latin.toml").write_bytes(LEAST.replace("blue", "bläu").encode("latin-1"))
    (tmp_path / "huge.toml").write_bytes(b"#" * 1_000_001)

    for path, said in (
        (tmp_path, "is a folder"),
        (tmp_path / "none.toml", "--example"),
        (tmp_path / "latin.toml", "UTF-8"),
        (tmp_path / "huge.toml", "larger than 1 MB"),
    ):
        with pytest.raises(BadFile, match=said):
            read_wish(path, NOW)


def test_errors_are_of_the_tree_that_shells_catch():
    with pytest.raises(Contradiction):
        read(changed("jars = 6", 'jars = 6\nfresh_mushrooms = "5 kg"'))
