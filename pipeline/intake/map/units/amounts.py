"""Ages, gestations and weights with their unit in the cell, as `as` in a mapping names them: texts in, numbers out.

age: completed days, of "3 weeks 2 days", "3w 2d", "5 days", "5/52" (weeks), "5/7" (days), "3/52 2/7".
gestation: completed weeks, of "38", "38+4", "38 weeks 4 days", "38w4d", "38/40", "38+4/40".
weight: grams to the nearest whole, a half up, of "3.45 kg", "3450g", "7lb 4oz", "7 lb", "116 oz"; one pound is
453.59237 g (international yard and pound agreement of 1959), and 16 ounces.
Refuses what is not exact (months) and a number without its unit, but in a gestation.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

_WEEKS, _DAYS = r"\s*(?:w|wk|wks|week|weeks)(?![a-z])", r"\s*(?:d|day|days)(?![a-z])"
_AND = r"\s*(?:,|\+|and|&)?\s*"
_NUMBER = r"[0-9]{1,5}(?:\.[0-9]{1,4})?"
_AGE = re.compile(
    rf"(?=.)(?:(?P<weeks>[0-9]{{1,3}})(?:{_WEEKS}|/52\b))?(?:(?P<and>{_AND})(?P<days>[0-9]{{1,3}})(?:{_DAYS}|/7\b))?"
)
_GESTATION = re.compile(
    rf"(?P<weeks>[0-9]{{2}})(?:\s*\+\s*[0-6]|{_WEEKS}(?:{_AND}[0-6]{_DAYS})?|\s*w\s*[0-6]\s*d)?(?:\s*/\s*40)?"
)
_METRIC = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>kg|kgs|kilos?|kilograms?|g|gr|gm|gms|grams?)\.?")
_POUNDS = re.compile(
    rf"(?P<pounds>[0-9]{{1,2}})\s*(?:lb|lbs|pounds?)\.?(?:{_AND}(?P<ounces>{_NUMBER})\s*(?:oz|ozs|ounces?)\.?)?"
)
_OUNCES = re.compile(rf"(?P<ounces>{_NUMBER})\s*(?:oz|ozs|ounces?)\.?")
_GRAMS_A_POUND = Decimal("453.59237")

FORMS = {  # form -> the layout columns it is for, and what it reads
    "age": (("age_days",), '"3 weeks 2 days", "5 days", "5/52" (weeks) or "5/7" (days); months are not exact'),
    "gestation": (("gestation_weeks",), '"38", "38+4", "38 weeks 4 days" or "38/40"'),
    "weight": (("birth_weight_g", "weight_g"), '"3.45 kg", "3450 g" or "7lb 4oz", with its unit'),
}


def amount(form: str, text: str) -> int | None:
    """The whole number that a text gives, None where it gives none."""
    written = " ".join(text.split()).lower()
    return {"age": _age, "gestation": _gestation, "weight": _weight}[form](written)


def _age(written: str) -> int | None:
    said = _AGE.fullmatch(written)
    if not said or (said["weeks"] is None and said["and"]):
        return None
    weeks, days = said["weeks"], int(said["days"] or 0)
    return int(weeks) * 7 + days if weeks and days < 7 else None if weeks else days


def _gestation(written: str) -> int | None:
    said = _GESTATION.fullmatch(written)
    return int(said["weeks"]) if said else None


def _weight(written: str) -> int | None:
    if said := _METRIC.fullmatch(written):
        grams = Decimal(said["number"]) * (1000 if said["unit"].startswith("k") else 1)
    elif (said := _POUNDS.fullmatch(written)) and Decimal(said["ounces"] or 0) < 16:
        grams = (int(said["pounds"]) + Decimal(said["ounces"] or 0) / 16) * _GRAMS_A_POUND
    elif (said := _OUNCES.fullmatch(written)) and Decimal(said["ounces"]) >= 16:  # fewer are likely a rest of pounds
        grams = Decimal(said["ounces"]) / 16 * _GRAMS_A_POUND
    else:
        return None
    return int(grams.quantize(Decimal(1), ROUND_HALF_UP))
