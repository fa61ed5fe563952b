"""Quantities as people write them.

Conversion factors are exact by definition (international pound, inch, US gallon of 231 cubic
inches, standard gravity; NIST SP 811 lists them all), so agreement is to rounding of floats.
"""

from __future__ import annotations

import sys
from fractions import Fraction
from math import isfinite

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from spawnwright import units
from spawnwright.errors import NotAQuantity
from spawnwright.units import KINDS, parse, parse_plain, parse_share

PSI_PA = 6894.757293168361


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("15 psi", "gauge pressure", 15 * PSI_PA),
        ("15 psig", "gauge pressure", 15 * PSI_PA),
        ("15 lb weight", "gauge pressure", 15 * PSI_PA),
        ("15-pound weight", "gauge pressure", 15 * PSI_PA),
        ("15 lbs.", "gauge pressure", 15 * PSI_PA),
        ("15 lbf/in²", "gauge pressure", 15 * PSI_PA),
        ("1 bar", "gauge pressure", 100_000),
        ("80 kPa", "gauge pressure", 80_000),
        ("1 kgf/cm²", "gauge pressure", 98_066.5),
        ("0 psi", "gauge pressure", 0),
        ("84 kPa", "absolute pressure", 84_000),
        ("840 hPa", "absolute pressure", 84_000),
        ("760 mm Hg", "absolute pressure", 101_325),
        ("4900 ft", "elevation", 4900 * 0.3048),
        ("1500 m", "elevation", 1500),
        ("1 500 m", "elevation", 1500),
        ("1\u202f500 m", "elevation", 1500),
        ("-400 m", "elevation", -400),
        ("500 m a.s.l.", "elevation", 500),
        ("3 cm", "length", 0.03),
        ("95 mm", "length", 0.095),
        ("3 3/8 in", "length", 3.375 * 0.0254),
        ("3-3/8 in", "length", 3.375 * 0.0254),
        ("3⅜ in", "length", 3.375 * 0.0254),
        ("5'3\"", "length", 63 * 0.0254),
        ("1 qt", "volume", 57.75 * 0.0254**3),
        ("500 mL", "volume", 500e-6),
        ("500 ml", "volume", 500e-6),
        ("2 cups", "volume", 28.875 * 0.0254**3),
        ("8 fl. oz.", "volume", 14.4375 * 0.0254**3),
        ("500 cm³", "volume", 500e-6),
        ("20 C", "temperature", 20),
        ("68 F", "temperature", 20),
        ("21 °C", "temperature", 21),
        ("21°C", "temperature", 21),
        ("21 ℃", "temperature", 21),
        ("-5 °C", "temperature", -5),
        ("−5 °C", "temperature", -5),
        ("70 degrees Fahrenheit", "temperature", 190 / 9),
        ("293.15 K", "temperature", 20),
        ("18 F", "temperature difference", 10),
        ("10 C", "temperature difference", 10),
        ("10 K", "temperature difference", 10),
        ("90 min", "duration", 5400),
        ("1 h 30 min", "duration", 5400),
        ("1h30min", "duration", 5400),
        ("1 h, 30 min", "duration", 5400),
        ("1 hour and 30 minutes", "duration", 5400),
        ("1,5 h", "duration", 5400),
        ("1½ h", "duration", 5400),
        ("36 h", "days", 1.5),
        ("2 kg", "mass", 2),
        ("1 lb 4 oz", "mass", 1.25 * 0.45359237),
        ("1 lb. 4 oz.", "mass", 1.25 * 0.45359237),
        ("480 g", "mass", 0.48),
        ("1.500,5 g", "mass", 1.5005),
        ("1,500.5 g", "mass", 1.5005),
        ("0,500 kg", "mass", 0.5),
        ("5 mm/day", "speed", 5),
        ("0.2 mm/h", "speed", 4.8),
        ("5 mm per day", "speed", 5),
        ("2.2 kW", "power", 2200),
        ("9000 BTU/h", "power", 9000 * 1055.05585262 / 3600),
    ],
)
def test_what_people_write_is_understood(text, kind, expected):
    """Every spelling that the commands promise, and those met in kitchens and on maps."""
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12, abs=1e-12)


def test_any_other_unit_is_looked_up():
    """Rare units cost the import of pint, and work: a furlong is 660 international feet."""
    assert parse("1 yd", "length") == pytest.approx(0.9144, rel=1e-12)
    assert parse("10 newton/cm^2", "gauge pressure") == pytest.approx(1e5, rel=1e-12)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("text", ["15", "1.5", "-3", "1e5", "½"])
def test_a_bare_number_is_refused_with_units_that_fit(kind, text):
    """Nobody guesses whether 15 is psi or kilopascals."""
    with pytest.raises(NotAQuantity, match=r"has no unit; .* is written like") as refusal:
        parse(text, kind)

    assert KINDS[kind].examples in str(refusal.value)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("15 psi", "length", "'15 psi' is a gauge pressure; a length is needed"),
        ("15 psi", "temperature", "is a gauge pressure; a temperature is needed"),
        ("1 qt", "mass", "is a volume; a mass is needed"),
        ("8 oz", "volume", "is a mass; a volume is needed"),
        ("90 m", "duration", "is a length; a time is needed"),
        ("20 C", "length", "is a temperature; a length is needed"),
        ("84 kPa gauge", "absolute pressure", "is a gauge pressure; an air pressure is needed"),
        ("15 psia", "gauge pressure", "is an air pressure; a gauge pressure is needed"),
        ("5 kph", "length", "is not a length"),
        ("1 furlong", "mass", "is not a mass"),
        ("1,500 m", "elevation", "could mean 1500 or 1.500"),
        ("12,500 g", "mass", "could mean 12500 or 12.500"),
        ("1.5.2 bar", "gauge pressure", "cannot be read as a number"),
        ("1.5,5 m", "elevation", "cannot be read as a number"),
        ("1,2,3 bar", "gauge pressure", "cannot be read as a number"),
        ("-3 psi", "gauge pressure", "is negative; a gauge pressure cannot be"),
        ("-3 cm", "length", "is negative"),
        ("-300 C", "temperature", "below absolute zero"),
        ("-1 K", "temperature", "below absolute zero"),
        ("1/0 in", "length", "divides by zero"),
        ("1e400 m", "length", "too large"),
        ("9" * 61 + " m", "length", "too long to be a length"),
        ("1/" + "9" * 5000 + " m", "length", "too long to be a length"),
        ("15 psi 3 bar", "gauge pressure", "is not a gauge pressure"),
        ("20 C 30 F", "temperature", "is not a temperature"),
        ("1 h -30 min", "duration", "is not a time"),
        ("30 min 1 h", "duration", "is not a time"),
        ("1 h 1 h", "duration", "is not a time"),
        ("1'500 m", "elevation", "is not an elevation"),
        ("1 lb 4", "mass", "has no unit"),
        ("psi", "gauge pressure", "is not a gauge pressure"),
        ("", "mass", "Nothing was given"),
        ("  ", "mass", "Nothing was given"),
        ("a while", "duration", "is not a time"),
        ("0x10 m", "length", "is not a length"),
        ("15 kgg", "mass", "did you mean kg"),
    ],
)
def test_what_cannot_be_used_is_refused_with_the_reason(text, kind, says):
    """The sentence names the value and what would do; a grower reads it, not a stack trace."""
    with pytest.raises(NotAQuantity) as refusal:
        parse(text, kind)

    assert says in str(refusal.value)
    assert len(str(refusal.value)) < 600


@pytest.mark.parametrize(
    "number", ["nan", "inf", "-inf", "infinity", "1_5", "١٥", "१५", "１５", "五"]
)
@pytest.mark.parametrize("read", [
    lambda number: parse(f"{number} kg", "mass"),
    lambda number: parse_share(f"{number}%"),
    lambda number: parse_plain(number, "a number"),
], ids=["quantity", "share", "plain"])  # fmt: skip
def test_what_float_would_take_but_a_person_did_not_mean_is_refused(number, read):
    """`float()` reads all of these; none of them is what stands on a scale."""
    with pytest.raises(NotAQuantity):
        read(number)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("70%", 0.7), ("70 %", 0.7), ("70 percent", 0.7), ("70,5%", 0.705), ("2/3", 2 / 3),
        ("2 / 3", 2 / 3), ("¾", 0.75), ("0", 0), ("0%", 0), ("100%", 1),
    ],
)  # fmt: skip
def test_shares_are_written_with_a_percent_sign_or_as_a_fraction(text, expected):
    """Nothing is the one share that needs no sign: it is the same either way."""
    assert parse_share(text) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize("text", ["99.9%", "0.7%", "55%", "99.99%", "2.3%"])
def test_a_percentage_is_the_number_that_a_limit_in_the_program_is(text):
    """99.9 / 100 is 0.9990000000000001 in a computer, beyond a limit of 0.999."""
    assert parse_share(text) == float(f"{text.rstrip('%')}e-2")


@pytest.mark.parametrize("text", ["0.7", "70", "1", "101%", "-1%", "3/2", "70%%", "70% 3", "%", ""])
def test_other_shares_are_refused(text):
    """0.7 could be a share or a percentage; it is asked for, not guessed."""
    with pytest.raises(NotAQuantity, match=r"70%|between 0% and 100%"):
        parse_share(text)


def test_a_plain_number_may_carry_its_own_unit_and_no_other():
    """`--diffusivity` is in m²/s whether or not that is written behind it."""
    for text in ("1.6e-7", "1,6e-7", "1.6e−7", "1.6e-7 m²/s", "1.6e-7 m2/s", "1.6e-7 m^2/s"):
        assert parse_plain(text, "a diffusivity", "m²/s") == 1.6e-7

    for text in ("1.6e-7 mm²/s", "fast", "1e999", ""):
        with pytest.raises(NotAQuantity, match="a diffusivity"):
            parse_plain(text, "a diffusivity", "m²/s")


def test_no_time_at_all_may_go_without_a_unit_only_where_said():
    """`--soak 0` means no soak."""
    assert parse("0", "duration", zero_needs_no_unit=True) == 0
    with pytest.raises(NotAQuantity):
        parse("0", "duration")
    with pytest.raises(NotAQuantity):
        parse("5", "duration", zero_needs_no_unit=True)


def test_common_units_do_not_load_the_unit_library():
    """It takes longer to load than most answers take to compute."""
    sys.modules.pop("pint", None)

    for kind in KINDS.values():
        for spelling in kind.spellings:
            parse(f"2 {spelling}", next(name for name, each in KINDS.items() if each is kind))

    assert "pint" not in sys.modules


@given(
    kind=st.sampled_from([name for name, kind in KINDS.items() if kind.spellings]),
    value=st.floats(1e-6, 1e6),
    data=st.data(),
)
def test_writing_a_number_in_any_unit_and_reading_it_gives_it_back(kind, value, data):
    """Round trip through every spelling, with a point and with a comma."""
    spelling = data.draw(st.sampled_from(sorted(KINDS[kind].spellings)))
    size = KINDS[kind].spellings[spelling]
    written = f"{value / size!r} {spelling}"

    assert parse(written, kind) == pytest.approx(value, rel=1e-14)
    if "e" not in written.split()[0] and len(written.split()[0].split(".")[1]) > 3:
        assert parse(written.replace(".", ",", 1), kind) == parse(written, kind)


@given(st.floats(-273, 1e4))
def test_fahrenheit_goes_there_and_back(temperature_c):
    """What the program prints in °F is what it would read."""
    assert parse(f"{units.fahrenheit(temperature_c)!r} F", "temperature") == pytest.approx(
        temperature_c, rel=1e-12, abs=1e-11
    )


@given(hours=st.integers(0, 99), minutes=st.integers(0, 59))
def test_compounds_add_up(hours, minutes):
    """Hours and minutes, in every spacing."""
    for text in (f"{hours} h {minutes} min", f"{hours}h{minutes}min", f"{hours} hr, {minutes} min"):
        assert parse(text, "duration") == hours * 3600 + minutes * 60


@given(whole=st.integers(0, 20), top=st.integers(1, 15), bottom=st.integers(1, 16))
def test_inches_in_fractions(whole, top, bottom):
    """Rulers in inches are read in halves to sixteenths."""
    exact = Fraction(whole) + Fraction(top, bottom)

    assert parse(f"{whole} {top}/{bottom} in", "length") == pytest.approx(float(exact) * 0.0254)


@given(st.integers(1000, 10**9))
def test_grouped_digits_are_read_where_they_can_mean_one_thing(number):
    """Spaces always; commas or points once a second one, or a decimal, settles it."""
    spaced = f"{number:,}".replace(",", " ")

    assert parse(f"{spaced} g", "mass") == pytest.approx(number / 1000)
    assert parse(f"{number:,}.5 g", "mass") == pytest.approx((number + 0.5) / 1000)
    if number >= 10**6:
        assert parse(f"{number:,} g", "mass") == pytest.approx(number / 1000)


_PIECES = """
psi lb C F ° m mm cm ft ' " h min and & , . - + / * ^ 2 3 1/2 ½ 15 1,500 1.5 e nan inf if lambda
kelvin degC day d % $ ( ) ** per square half oz fl dB octave pH Δ µ m² ³ in e5 1e400 N Bq count NAN
"""
_pieces = st.lists(st.sampled_from([*_PIECES.split(), "\0", "\u202e"]), max_size=5)


@given(
    st.one_of(
        st.text(max_size=12),
        _pieces.map(" ".join),
        _pieces.map("".join),
    ),
    st.sampled_from(sorted(KINDS)),
)
@example("0A dB", "mass")  # the unit library asserts
@example("0NAN", "mass")  # it reads this as a scaling factor
@example("10 newton/cm^2", "gauge pressure")
def test_nonsense_is_refused_and_nothing_else_happens(text, kind):
    """Whatever is typed, there is a finite number or one refusal of bounded length."""
    for read in (
        lambda: parse(text, kind),
        lambda: parse_share(text),
        lambda: parse_plain(text, "a number", "m²/s"),
    ):
        outcome, refused = 0.0, None
        try:
            outcome = read()
        except NotAQuantity as refusal:
            refused = str(refusal)

        assert isfinite(outcome)
        assert refused is None or len(refused) < 600


@pytest.mark.parametrize(
    ("seconds", "written"),
    [
        (0, "0 min"), (45 * 60, "45 min"), (3599, "1 h"), (5400, "1 h 30 min"), (86400, "24 h"),
        (172800, "2 days"), (9.5 * 86400, "9.5 days"), (30.2 * 86400, "30 days"),
    ],
)  # fmt: skip
def test_times_are_said_as_a_person_would(seconds, written):
    """Minutes, then hours and minutes, then days."""
    assert units.written_duration(seconds) == written


@pytest.mark.parametrize(
    ("kilograms", "written"),
    [
        (0.4804, "480 g"),
        (0.9996, "1.00 kg"),
        (2.345, "2.35 kg"),
        (120.4, "120 kg"),
        (-0.05, "-50 g"),
    ],
)
def test_masses_are_said_in_grams_or_kilograms(kilograms, written):
    """As a kitchen scale shows them; negative when drying."""
    assert units.written_mass(kilograms) == written


def test_pressures_and_heights_in_other_units():
    """The other direction, for people who think in psi and feet."""
    assert units.psi(103_421.3593975254) == pytest.approx(15, rel=1e-14)
    assert units.feet(1493.52) == pytest.approx(4900, rel=1e-14)
