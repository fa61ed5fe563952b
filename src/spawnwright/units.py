"""Quantities as people write them, turned into SI numbers, and back.

The only place that knows psi, °F, feet, quarts and pounds. Temperatures are returned in °C,
temperature differences in K, everything else in the unit that `KINDS` names. Spellings in the
tables below cost nothing; any other unit is looked up with pint, which is loaded only then.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from itertools import pairwise
from math import isfinite
from typing import Any

from spawnwright.errors import NotAQuantity

POUND_KG = 0.45359237  # exact, by definition of the international pound
INCH_M = 0.0254  # exact
US_GALLON_M3 = 231 * INCH_M**3  # exact
PSI_PA = POUND_KG * 9.80665 / INCH_M**2  # exact
BTU_J = 1055.05585262  # international table
ABSOLUTE_ZERO_C = -273.15  # exact

_MASS = {
    "kg kgs kilo kilos kilogram kilograms": 1.0, "g gr gram grams": 1e-3, "mg": 1e-6,
    "lb lbs pound pounds #": POUND_KG, "oz ounce ounces": POUND_KG / 16, "t tonne tonnes": 1e3,
}  # fmt: skip
_LENGTH = {
    "m meter meters metre metres": 1.0, "cm cms centimeter centimeters": 1e-2, "mm": 1e-3,
    "km": 1e3, "ft foot feet '": 0.3048, 'in inch inches " \'\'': INCH_M, "mi mile miles": 1609.344,
}  # fmt: skip
_VOLUME = {
    "l liter liters litre litres dm3": 1e-3, "ml mls milliliter milliliters cc cm3": 1e-6,
    "dl": 1e-4, "cl": 1e-5, "m3": 1.0, "gal gallon gallons": US_GALLON_M3,
    "halfgallon half-gallon": US_GALLON_M3 / 2, "qt qts quart quarts": US_GALLON_M3 / 4,
    "pt pint pints": US_GALLON_M3 / 8, "cup cups": US_GALLON_M3 / 16,
    "floz fluidounce fluidounces": US_GALLON_M3 / 128,
    "tbsp tablespoon tablespoons": US_GALLON_M3 / 256, "tsp teaspoon teaspoons": US_GALLON_M3 / 768,
}  # fmt: skip
_DURATION = {
    "s sec secs second seconds": 1.0, "min mins minute minutes": 60.0,
    "h hr hrs hour hours": 3600.0, "d day days": 86400.0, "wk week weeks": 604800.0,
}  # fmt: skip
_PRESSURE = {
    "psi lb/in2 lbs/in2 lbf/in2 poundspersquareinch": PSI_PA, "bar bars": 1e5, "kpa": 1e3,
    "pa": 1.0, "hpa mbar millibar": 1e2, "mpa n/mm2": 1e6, "at kg/cm2 kgf/cm2 kp/cm2": 98066.5,
    "atm": 101325.0, "mmhg torr": 101325 / 760, "inhg": 25.4 * 101325 / 760,
}  # fmt: skip
_GAUGE = {
    "psig psigauge lb lbs pound pounds # lbweight lbsweight poundweight #weight": PSI_PA,
    "barg bargauge": 1e5, "kpag kpagauge": 1e3,
}  # fmt: skip
_ABSOLUTE = {"psia": PSI_PA, "bara": 1e5, "kpaa kpaabs": 1e3}
_SPEED = {
    "mm/day mm/d": 1.0, "cm/day cm/d": 10.0, "mm/h mm/hour": 24.0, "mm/week mm/wk": 1 / 7,
    "cm/week cm/wk": 10 / 7, "in/day in/d": 25.4, "um/h": 0.024,
}  # fmt: skip
_POWER = {"w watt watts": 1.0, "kw": 1e3, "btu/h btu/hr btuh btu btus": BTU_J / 3600}
_SCALES = {  # with or without "°" or "degrees" before them
    "c": "C", "celsius": "C", "centigrade": "C", "f": "F", "fahrenheit": "F", "k": "K",
    "kelvin": "K", "kelvins": "K",
}  # fmt: skip


def _table(*groups: dict[str, float]) -> dict[str, float]:
    return {
        name: size for group in groups for names, size in group.items() for name in names.split()
    }


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: what to call it, its unit, examples, spellings, pint's dimension."""

    article: str
    unit: str
    examples: str
    spellings: dict[str, float]
    pint_unit: str = ""
    may_be_negative: bool = False
    may_be_compound: bool = False


_ELEVATION = {"masl": 1.0, "ftasl": 0.3048}  # "above sea level", as maps write it

KINDS = {
    "mass": Kind(
        "a mass", "kg", '"2 kg", "480 g" or "1 lb 4 oz"', _table(_MASS), "kg",
        may_be_compound=True,
    ),
    "length": Kind(
        "a length", "m", '"3 cm", "95 mm" or "4 in"', _table(_LENGTH), "m", may_be_compound=True
    ),
    "elevation": Kind(
        "an elevation", "m", '"1500 m" or "4900 ft"', _table(_LENGTH, _ELEVATION), "m",
        may_be_negative=True, may_be_compound=True,
    ),
    "volume": Kind(
        "a volume", "m³", '"500 mL", "1 L" or "1 qt"', _table(_VOLUME), "m^3",
        may_be_compound=True,
    ),
    "duration": Kind(
        "a time", "s", '"90 min", "18 h" or "1 h 30 min"', _table(_DURATION), "s",
        may_be_compound=True,
    ),
    "days": Kind(
        "a time", "d", '"10 days", "3 weeks" or "36 h"',
        {name: seconds / 86400 for name, seconds in _table(_DURATION).items()}, "day",
        may_be_compound=True,
    ),
    "gauge pressure": Kind(
        "a gauge pressure", "Pa", '"15 psi", "1 bar", "80 kPa" or "15 lb weight"',
        _table(_PRESSURE, _GAUGE), "Pa",
    ),
    "absolute pressure": Kind(
        "an air pressure", "Pa", '"84 kPa", "840 hPa" or "25 inHg"', _table(_PRESSURE, _ABSOLUTE),
        "Pa",
    ),
    "speed": Kind("a growth rate", "mm/day", '"5 mm/day" or "0.2 mm/h"', _table(_SPEED), "mm/day"),
    "power": Kind("a power", "W", '"1500 W", "2.2 kW" or "9000 BTU/h"', _table(_POWER), "W"),
    "temperature": Kind(
        "a temperature", "°C", '"20 C", "21 °C" or "68 F"', {}, may_be_negative=True
    ),
    "temperature difference": Kind(
        "a temperature difference", "K", '"10 C" or "18 F"', {}, may_be_negative=True
    ),
}  # fmt: skip

_VULGAR = {
    "½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3,
    "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8,
}  # fmt: skip
_NUMBER = re.compile(
    rf"""\s*(?P<sign>[-+−]?)\s*
    (?:(?P<whole>\d+)?\s*(?P<vulgar>[{"".join(_VULGAR)}])
     |(?:(?P<mixed>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?![\d.,])
     |(?P<digits>\d{{1,3}}(?:[\u00a0\u2009\u202f ]\d{{3}})+(?:[.,]\d+)?(?!\d)
        |\d+(?:[.,]\d+)*(?:[eE][-+−]?\d+)?|[.,]\d+(?:[eE][-+−]?\d+)?))""",
    re.VERBOSE | re.ASCII,
)
# Up to the next number, but with the exponent of "cm3" or "m^-2" and the dot of "lb.".
_UNIT = re.compile(
    rf"""(?:[^\d.,+−{"".join(_VULGAR)}-]
        |(?<=[^\W\d_])[23](?=\s*(?:$|[/*]))|(?<=\^)-?\d(?!\w)
        |(?<=[^\W\d_])\.(?!\d)|,(?=\s)|-(?=[^\W\d_]))*""",
    re.VERBOSE,
)
_LONGEST = 60  # characters; what is longer is no quantity, and would make an endless message


def parse(text: str, kind: str, *, zero_needs_no_unit: bool = False) -> float:
    """Turn a quantity as written into a number in the unit that `KINDS` gives for its kind.

    A compound such as "1 h 30 min" or "1 lb 4 oz" is added up; its units go from large to small.
    Decimal point and decimal comma are understood; "1,500" could be either and is refused.
    """
    wanted, written = KINDS[kind], _trimmed(text, KINDS[kind].article)
    if zero_needs_no_unit and re.fullmatch(r"0+([.,]0+)?", written):
        return 0.0
    parts = _parts(written, wanted)
    sizes = [_in_unit(number, unit, written, wanted) for number, unit in parts]
    if len(parts) > 1:
        _check_compound(parts, written, wanted)
    total = sum(sizes)
    if not isfinite(total):
        raise NotAQuantity(f"{written!r} is too large to be {wanted.article}.")
    if total < 0 and not wanted.may_be_negative:
        raise NotAQuantity(f"{written!r} is negative; {wanted.article} cannot be.")
    if kind == "temperature" and total < ABSOLUTE_ZERO_C:
        raise NotAQuantity(f"{written!r} is below absolute zero.")
    return total


def parse_share(text: str, what: str = "a share") -> float:
    """Turn "70%" or "2/3" into a fraction from 0 to 1 [-]; 0 needs no percent sign."""
    written = _trimmed(text, what)
    match = _NUMBER.match(written)
    if match is None:
        raise NotAQuantity(f'{written!r} is not {what}; write it like "70%" or "2/3".')
    number, rest = _number(match, written), written[match.end() :].strip().lower()
    if rest in ("%", "percent", "per cent"):
        # Not 0.9990000000000001 for 99.9 %, which would lie beyond a limit of 99.9 %.
        number = float(f"{number / 100:.15g}")
    elif rest or (number and not (match["top"] or match["vulgar"])):
        raise NotAQuantity(
            f'{written!r} is not {what}; write it with a percent sign, like "70%", or as "2/3".'
        )
    if not 0 <= number <= 1:
        raise NotAQuantity(f"{written!r} is not {what}; it must lie between 0% and 100%.")
    return number


def parse_plain(text: str, what: str, unit: str = "") -> float:
    """Turn a bare number into a float; `unit`, if given, may be written behind it."""
    written = _trimmed(text, what)
    match = _NUMBER.match(written)
    rest = _spelling(written[match.end() :]) if match else ""
    if match is None or (rest and rest != _spelling(unit)):
        raise NotAQuantity(
            f"{written!r} is not {what}; write a plain number{' in ' + unit if unit else ''}."
        )
    number = _number(match, written)
    if not isfinite(number):
        raise NotAQuantity(f"{written!r} is too large to be {what}.")
    return number


def _trimmed(text: str, what: str) -> str:
    written = text.strip()
    if len(written) > _LONGEST:
        raise NotAQuantity(f"{written[:20] + ' ...'!r} is too long to be {what}.")
    return written


def _parts(written: str, wanted: Kind) -> list[tuple[float, str]]:
    parts: list[tuple[float, str]] = []
    place = 0
    while place < len(written):
        match = _NUMBER.match(written, place)
        if match is None:
            raise NotAQuantity(
                f"{written!r} is not {wanted.article}; write it like {wanted.examples}."
            )
        unit = _UNIT.match(written, match.end())
        end = unit.end() if unit else match.end()
        parts.append((_number(match, written), written[match.end() : end]))
        place = end
    if not parts:
        raise NotAQuantity(
            f"Nothing was given; {wanted.article} is written like {wanted.examples}."
        )
    return parts


def _check_compound(parts: list[tuple[float, str]], written: str, wanted: Kind) -> None:
    """Refuse what is no compound: "15 psi 3 bar", "1 h -30 min", "30 min 1 h", "1'500 m"."""
    units = [_in_unit(1.0, unit, written, wanted) for _, unit in parts]
    falls = all(larger > smaller for larger, smaller in pairwise(units))
    if not (wanted.may_be_compound and falls) or any(number < 0 for number, _ in parts):
        raise NotAQuantity(f"{written!r} is not {wanted.article}; write it like {wanted.examples}.")


def _number(match: re.Match[str], written: str) -> float:
    sign = -1.0 if match["sign"] in ("-", "−") else 1.0
    if match["vulgar"]:
        return sign * (float(match["whole"] or 0) + _VULGAR[match["vulgar"]])
    if match["top"]:
        if float(match["bottom"]) == 0:
            raise NotAQuantity(f"{written!r} divides by zero.")
        return sign * (float(match["mixed"] or 0) + float(match["top"]) / float(match["bottom"]))
    return sign * _decimal(re.sub(r"[\u00a0\u2009\u202f ]", "", match["digits"]), written)


def _decimal(digits: str, written: str) -> float:
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        raise NotAQuantity(
            f"{written!r} could mean {digits.replace(',', '')} or {digits.replace(',', '.')}; "
            "write it without the comma, or with a decimal point."
        )
    if re.fullmatch(r"\d*[.,]?\d+([eE].+)?", digits):
        return float(digits.replace(",", ".").replace("−", "-"))
    if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+(\.\d+)?", digits):
        return float(digits.replace(",", ""))
    if re.fullmatch(r"[1-9]\d{0,2}(\.\d{3})+(,\d+)?", digits):
        return float(digits.replace(".", "").replace(",", "."))
    raise NotAQuantity(f"{written!r} cannot be read as a number.")


def _spelling(unit: str) -> str:
    """A unit without case, spaces, dots and the like: "lbs. weight" is "lbsweight"."""
    plain = unicodedata.normalize("NFKC", unit).casefold()
    for mark, meant in (("μ", "u"), ("º", "°"), ("′", "'"), ("’", "'"), ("”", '"')):
        plain = plain.replace(mark, meant)
    return re.sub(r"[\s.,^]+|^-|(?:\band|&)\s*$", "", plain)


def _in_unit(number: float, unit: str, written: str, wanted: Kind) -> float:
    spelling = _spelling(unit)
    if not spelling:
        raise NotAQuantity(
            f"{written!r} has no unit; {wanted.article} is written like {wanted.examples}."
        )
    if spelling in wanted.spellings:
        return number * wanted.spellings[spelling]
    scale = re.sub(r"^(?:°|deg(?:rees?)?)(?=.)", "", spelling)
    if scale in _SCALES:
        if wanted.article in ("a temperature", "a temperature difference"):
            return _temperature(number, _SCALES[scale], wanted)
        found = "a temperature"
    else:
        found = next((each.article for each in KINDS.values() if spelling in each.spellings), "")
    if found:
        raise NotAQuantity(
            f"{written!r} is {found}; {wanted.article} is needed, like {wanted.examples}."
        )
    return number * _by_pint(unit, written, wanted)


def _temperature(number: float, scale: str, wanted: Kind) -> float:
    is_difference = wanted.article == "a temperature difference"
    if scale == "F":
        return number * 5 / 9 if is_difference else (number - 32) * 5 / 9
    return number + ABSOLUTE_ZERO_C if scale == "K" and not is_difference else number


def _by_pint(unit: str, written: str, wanted: Kind) -> float:
    """The size of a unit that no table holds, or the refusal."""
    near = get_close_matches(_spelling(unit), wanted.spellings, 1)
    refusal = NotAQuantity(
        f"{written!r} is not {wanted.article}"
        f"{f' (did you mean {near[0]}?)' if near else ''}; write it like {wanted.examples}."
    )
    plain = unicodedata.normalize("NFKC", unit).strip(" .,")
    one = r"[A-Za-zµμ]+(?:\^?-?\d)?"
    if not wanted.pint_unit or not re.fullmatch(rf"{one}(?:(?: ?[*/] ?| ){one})*", plain):
        raise refusal
    import pint

    try:
        return float(_pint_registry().Quantity(1.0, plain).to(wanted.pint_unit).m)
    except (pint.PintError, AssertionError, ValueError, ArithmeticError, TypeError) as reason:
        raise refusal from reason  # it has no one error for "m*dB", "nan" or "m^0"


@cache
def _pint_registry() -> Any:
    import pint

    return pint.UnitRegistry()


def psi(pressure_pa: float) -> float:
    """A pressure in pounds per square inch."""
    return pressure_pa / PSI_PA


def fahrenheit(temperature_c: float) -> float:
    """A temperature in °F."""
    return temperature_c * 9 / 5 + 32


def feet(length_m: float) -> float:
    """A length in feet."""
    return length_m / 0.3048


def pounds(mass_kg: float) -> float:
    """A mass in pounds."""
    return mass_kg / POUND_KG


def written_duration(seconds: float) -> str:
    """A time as a person would say it: "45 min", "1 h 30 min", "9.5 days"."""
    if seconds >= 2 * 86400:
        days = seconds / 86400
        return f"{days:.0f} days" if days >= 10 or days == round(days) else f"{days:.1f} days"
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h" if not rest else f"{hours} h {rest} min"


def written_mass(kilograms: float) -> str:
    """A mass as a kitchen scale shows it: in grams below one kilogram, else to 10 g."""
    if abs(kilograms) < 0.9995:
        return f"{kilograms * 1000:.0f} g"
    return f"{kilograms:.2f} kg" if abs(kilograms) < 100 else f"{kilograms:.0f} kg"


def written(number: float, kind: str, unit: str = "") -> str:
    """A number of one of `KINDS`, a "share" or a "plain" one, as an answer shows it."""
    sizes = _SHOWN.get(kind)
    if sizes:
        size, name = next((each for each in sizes if abs(number) >= 0.9995 * each[0]), sizes[-1])
        return f"{number / size:.4g} {name}"
    if kind == "mass":
        return f"{number * 1e6:.3g} mg" if abs(number) < 1e-3 else written_mass(number)
    if kind == "duration":
        return written_duration(number)
    if kind == "share":
        return f"{100 * number:.3g}%"
    unit = unit or (KINDS[kind].unit if kind in KINDS else "")
    return f"{number:.4g}{f' {unit}' if unit and unit != '-' else ''}"


_SHOWN = {  # largest first; the smallest also holds what is below it
    "length": ((1.0, "m"), (1e-3, "mm")),
    "volume": ((1e-3, "L"), (1e-6, "mL")),
    "gauge pressure": ((PSI_PA, "psi"),),
    "absolute pressure": ((1e3, "kPa"),),
}
