"""Quantities as people write them, turned into SI numbers, and back.

The only place that knows psi, °F, feet, quarts and pounds. Temperatures are returned in °C,
temperature differences in K, everything else in the unit that `KINDS` names. Spellings in the
tables below cost nothing; any other unit is looked up with pint, which is loaded only then.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from typing import Any

from spawnwright.errors import NotAQuantity

POUND_KG = 0.45359237  # exact, by definition of the international pound
INCH_M = 0.0254  # exact
US_GALLON_M3 = 231 * INCH_M**3  # exact
PSI_PA = POUND_KG * 9.80665 / INCH_M**2  # exact
BTU_J = 1055.05585262  # international table

_MASS = {
    "kg": 1.0, "kilo kilos kilogram kilograms": 1.0, "g gr gram grams": 1e-3, "mg": 1e-6,
    "lb lbs pound pounds": POUND_KG, "oz ounce ounces": POUND_KG / 16, "t tonne tonnes": 1e3,
}  # fmt: skip
_LENGTH = {
    "m meter meters metre metres": 1.0, "cm centimeter centimeters": 1e-2, "mm": 1e-3,
    "km": 1e3, "ft foot feet '": 0.3048, 'in inch inches "': INCH_M, "mi mile miles": 1609.344,
}  # fmt: skip
_VOLUME = {
    "l liter liters litre litres": 1e-3, "ml milliliter milliliters cc cm3": 1e-6, "dl": 1e-4,
    "cl": 1e-5, "m3": 1.0, "gal gallon gallons": US_GALLON_M3, "qt quart quarts": US_GALLON_M3 / 4,
    "pt pint pints": US_GALLON_M3 / 8, "cup cups": US_GALLON_M3 / 16,
    "floz": US_GALLON_M3 / 128, "tbsp tablespoon tablespoons": US_GALLON_M3 / 256,
    "tsp teaspoon teaspoons": US_GALLON_M3 / 768,
}  # fmt: skip
_DURATION = {
    "s sec secs second seconds": 1.0, "min mins minute minutes": 60.0,
    "h hr hrs hour hours": 3600.0, "d day days": 86400.0, "wk week weeks": 604800.0,
}  # fmt: skip
_PRESSURE = {
    "psi": PSI_PA, "kpa": 1e3, "pa": 1.0, "hpa mbar millibar": 1e2, "mpa": 1e6, "bar bars": 1e5,
    "atm": 101325.0, "mmhg torr": 101325 / 760, "inhg": 25.4 * 101325 / 760, "at kg/cm2": 98066.5,
}  # fmt: skip
_GAUGE = {
    "psig lb lbs pound pounds": PSI_PA, "barg": 1e5, "kpag": 1e3,
    "lbweight lbsweight poundweight lbsgauge psigauge": PSI_PA, "bargauge": 1e5, "kpagauge": 1e3,
}  # fmt: skip
_ABSOLUTE = {"psia": PSI_PA, "bara": 1e5, "kpaa kpaabs": 1e3}
_SPEED = {
    "mm/day mm/d": 1.0, "cm/day cm/d": 10.0, "mm/h mm/hour": 24.0, "mm/week mm/wk": 1 / 7,
    "cm/week cm/wk": 10 / 7, "in/day in/d": 25.4, "um/h µm/h": 0.024,
}  # fmt: skip
_POWER = {"w watt watts": 1.0, "kw": 1e3, "btu/h btu/hr btuh": BTU_J / 3600}
_CELSIUS = ("c", "°c", "ºc", "degc", "celsius", "centigrade", "degreesc")
_FAHRENHEIT = ("f", "°f", "ºf", "degf", "fahrenheit", "degreesf")
_KELVIN = ("k", "kelvin")


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


KINDS = {
    "mass": Kind("a mass", "kg", '"2 kg", "480 g" or "1 lb 4 oz"', _table(_MASS), "kg"),
    "length": Kind("a length", "m", '"3 cm", "95 mm" or "4 in"', _table(_LENGTH), "m"),
    "elevation": Kind(
        "an elevation", "m", '"1500 m" or "4900 ft"', _table(_LENGTH), "m", may_be_negative=True
    ),
    "volume": Kind("a volume", "m³", '"500 mL", "1 L" or "1 qt"', _table(_VOLUME), "m^3"),
    "duration": Kind("a time", "s", '"90 min", "18 h" or "1 h 30 min"', _table(_DURATION), "s"),
    "days": Kind(
        "a time", "d", '"10 days", "3 weeks" or "36 h"',
        {name: seconds / 86400 for name, seconds in _table(_DURATION).items()}, "day",
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
    "temperature": Kind("a temperature", "°C", '"20 C", "21 °C" or "68 F"', {}, "", True),
    "temperature difference": Kind(
        "a temperature difference", "K", '"10 C" or "18 F"', {}, "", True
    ),
}  # fmt: skip

_NUMBER = re.compile(
    r"""\s*(?P<sign>[-+−]?)\s*
    (?:(?P<whole>\d+)?\s*(?P<vulgar>[½¼¾⅓⅔])
     |(?:(?P<mixed>\d+)\s+)?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?![\d.,])
     |(?P<digits>\d{1,3}(?:[\u00a0\u2009\u202f ]\d{3})+(?:[.,]\d+)?(?!\d)
        |\d+(?:[.,]\d+)*(?:[eE][-+−]?\d+)?|[.,]\d+(?:[eE][-+−]?\d+)?))""",
    re.VERBOSE | re.ASCII,
)
_VULGAR = {"½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3}


def parse(text: str, kind: str, *, zero_needs_no_unit: bool = False) -> float:
    """Turn a quantity as written into a number in the unit that `KINDS` gives for its kind.

    A compound such as "1 h 30 min" or "1 lb 4 oz" is added up. Decimal point and decimal comma
    are understood; "1,500" could be either and is refused.
    """
    wanted, written = KINDS[kind], text.strip()
    if zero_needs_no_unit and re.fullmatch(r"0+([.,]0+)?", written):
        return 0.0
    parts = _parts(written, wanted)
    if len(parts) > 1 and (wanted.pint_unit == "" or any(number < 0 for number, _ in parts)):
        raise NotAQuantity(f"{written!r} is not {wanted.article}; write it like {wanted.examples}.")
    total = sum(_in_unit(number, unit, written, wanted) for number, unit in parts)
    if not isfinite(total):
        raise NotAQuantity(f"{written!r} is too large to be {wanted.article}.")
    if total < 0 and not wanted.may_be_negative:
        raise NotAQuantity(f"{written!r} is negative; {wanted.article} cannot be.")
    if kind == "temperature" and total < -273.15:
        raise NotAQuantity(f"{written!r} is below absolute zero.")
    return total


def parse_share(text: str, what: str = "a share") -> float:
    """Turn "70%" or "2/3" into a fraction from 0 to 1 [-]."""
    written = text.strip()
    match = _NUMBER.match(written)
    if match is None:
        raise NotAQuantity(f'{written!r} is not {what}; write it like "70%" or "2/3".')
    number, rest = _number(match, written), written[match.end() :].strip().lower()
    if rest in ("%", "percent", "per cent"):
        number /= 100
    elif rest or not (match["top"] or match["vulgar"]):
        raise NotAQuantity(
            f'{written!r} is not {what}; write it with a percent sign, like "70%", or as "2/3".'
        )
    if not 0 <= number <= 1:
        raise NotAQuantity(f"{written!r} is not {what}; it must lie between 0% and 100%.")
    return number


def parse_plain(text: str, what: str, unit: str = "") -> float:
    """Turn a bare number into a float; `unit`, if given, may be written behind it."""
    written = text.strip()
    match = _NUMBER.match(written)
    rest = written[match.end() :].strip().lower().replace(" ", "") if match else ""
    if match is None or (rest and rest != unit.lower().replace(" ", "")):
        raise NotAQuantity(
            f"{written!r} is not {what}; write a plain number{' in ' + unit if unit else ''}."
        )
    return _number(match, written)


def _parts(written: str, wanted: Kind) -> list[tuple[float, str]]:
    parts: list[tuple[float, str]] = []
    place = 0
    while place < len(written):
        match = _NUMBER.match(written, place)
        if match is None:
            raise NotAQuantity(
                f"{written!r} is not {wanted.article}; write it like {wanted.examples}."
            )
        unit = re.compile(r"[^\d.,+−½¼¾⅓⅔-]*(?:(?<=cm)[23])?").match(written, match.end())
        assert unit is not None  # the pattern matches the empty text as well
        parts.append((_number(match, written), unit[0].strip()))
        place = unit.end()
    if not parts:
        raise NotAQuantity(
            f"Nothing was given; {wanted.article} is written like {wanted.examples}."
        )
    return parts


def _number(match: re.Match[str], written: str) -> float:
    sign = -1.0 if match["sign"] in ("-", "−") else 1.0
    if match["vulgar"]:
        return sign * (float(match["whole"] or 0) + _VULGAR[match["vulgar"]])
    if match["top"]:
        if int(match["bottom"]) == 0:
            raise NotAQuantity(f"{written!r} divides by zero.")
        return sign * (float(match["mixed"] or 0) + int(match["top"]) / int(match["bottom"]))
    return sign * _decimal(re.sub(r"[\u00a0\u2009\u202f ]", "", match["digits"]), written)


def _decimal(digits: str, written: str) -> float:
    points, commas = digits.count("."), digits.count(",")
    if points and commas:
        decimal = max(digits.rfind("."), digits.rfind(","))
        whole, rest = re.sub(r"[.,]", "", digits[:decimal]), digits[decimal + 1 :]
        if re.search(r"[.,]", rest) or digits.count(digits[decimal]) > 1:
            raise NotAQuantity(f"{written!r} cannot be read as a number.")
        return float(f"{whole}.{rest}")
    if points > 1 or commas > 1:
        raise NotAQuantity(f"{written!r} cannot be read as a number.")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        raise NotAQuantity(
            f"{written!r} could mean {digits.replace(',', '')} or {digits.replace(',', '.')}; "
            "write it without the comma, or with a decimal point."
        )
    return float(digits.replace(",", ".").replace("−", "-"))


def _in_unit(number: float, unit: str, written: str, wanted: Kind) -> float:
    if not unit:
        raise NotAQuantity(
            f"{written!r} has no unit; {wanted.article} is written like {wanted.examples}."
        )
    spelling = unit.lower().replace(" ", "").rstrip(".").replace("²", "2").replace("³", "3")
    if wanted.article.startswith("a temperature"):
        return _temperature(number, spelling, written, wanted)
    if spelling in wanted.spellings:
        return number * wanted.spellings[spelling]
    for other in KINDS.values():
        if spelling in other.spellings or (
            not other.spellings and spelling in _CELSIUS + _FAHRENHEIT
        ):
            raise NotAQuantity(
                f"{written!r} is {other.article}; {wanted.article} is needed, "
                f"like {wanted.examples}."
            )
    return number * _by_pint(unit, written, wanted)


def _temperature(number: float, spelling: str, written: str, wanted: Kind) -> float:
    difference = wanted.article.endswith("difference")
    if spelling in _CELSIUS:
        return number
    if spelling in _FAHRENHEIT:
        return number * 5 / 9 if difference else (number - 32) * 5 / 9
    if spelling in _KELVIN:
        return number if difference else number - 273.15
    raise NotAQuantity(f"{written!r} is not {wanted.article}; write it like {wanted.examples}.")


def _by_pint(unit: str, written: str, wanted: Kind) -> float:
    near = get_close_matches(unit.lower(), wanted.spellings, 1)
    refusal = (
        f"{written!r} is not {wanted.article}"
        f"{f' (did you mean {near[0]}?)' if near else ''}; write it like {wanted.examples}."
    )
    if not re.fullmatch(r"[A-Za-zµ°/ *^.\d]+", unit):
        raise NotAQuantity(refusal)
    import pint

    try:
        registry: Any = pint.UnitRegistry()
        return float(registry.Quantity(1.0, unit).to(wanted.pint_unit).m)
    except (pint.PintError, ValueError, AttributeError, ArithmeticError, TypeError) as reason:
        raise NotAQuantity(refusal) from reason


def psi(pressure_pa: float) -> float:
    """A pressure in pounds per square inch."""
    return pressure_pa / PSI_PA


def fahrenheit(temperature_c: float) -> float:
    """A temperature in °F."""
    return temperature_c * 9 / 5 + 32


def feet(length_m: float) -> float:
    """A length in feet."""
    return length_m / 0.3048


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
    """A mass to the gram below 10 kg, in grams below one kilogram."""
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
