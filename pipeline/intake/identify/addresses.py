"""Where someone lives: postcodes and addresses.

Comes in: the texts of a column. Goes out: where the texts are that hold one. Refuses to call a column of case
references postcodes because some of them happen to look so: those without their space are weighed.
"""

from __future__ import annotations

import re

from pipeline.intake.identify.column_texts import Texts

# The postcode areas of the Royal Mail, with the forces' and the Crown dependencies'.
_AREAS = (
    "AB AL B BA BB BD BF BH BL BN BR BS BT CA CB CF CH CM CO CR CT CV CW DA DD DE DG DH DL DN DT DY E EC EH EN EX "
    "FK FY G GL GU GY HA HD HG HP HR HS HU HX IG IM IP IV JE KA KT KW KY L LA LD LE LL LN LS LU M ME MK ML N NE NG "
    "NN NP NR NW OL OX PA PE PH PL PO PR RG RH RM S SA SE SG SK SL SM SN SO SP SR SS ST SW SY TA TD TF TN TQ TR TS "
    "TW UB W WA WC WD WF WN WR WS WV YO ZE"
)
_OUTWARD = rf"(?:{'|'.join(_AREAS.split())})[0-9][0-9A-Z]?"
_INWARD = "[0-9][ABD-HJLNP-UW-Z]{2}"  # C, I, K, M, O and V stand in none
_SPACED = rf"(?i)\b(?:{_OUTWARD}\s{{1,3}}{_INWARD}|GIR\s0AA)\b"
_UNSPACED = rf"(?i)\b{_OUTWARD}-?{_INWARD}\b"
_LIKE_ONE = r"(?i)\b(?:[A-Z][A-Z0-9]*[0-9]|[0-9][A-Z0-9]*[A-Z])[A-Z0-9]*\b"
_REFERENCE = re.compile(r"(?i)\b(?=[A-Z0-9-]*[0-9])(?=[A-Z0-9-]*[A-Z])[A-Z0-9]{2,4}-?[A-Z0-9]{3}\b")


def postcodes(texts: Texts) -> set[int]:
    """One with its space is enough; without it, more than half of the column's short codes of letters and digits."""
    if not texts.with_digits:
        return set()
    spaced = set(texts.matching(_SPACED))
    unspaced = set(texts.matching(_UNSPACED)).difference(spaced)
    if unspaced:
        short_codes = sum(bool(_REFERENCE.search(texts.texts[index])) for index in texts.matching(_LIKE_ONE))
        if 2 * len(unspaced) <= short_codes:
            unspaced = set()
    return spaced | unspaced


_ROAD = r"road|rd|street|avenue|ave|lane|crescent|cres|gardens|gdns|grove|terrace|mews|boulevard|cul-de-sac"
# Words with another meaning too: only behind a name, and both with capital letters.
_OTHER_ROAD = (
    "St|Close|Cl|Drive|Dr|Way|Place|Pl|Court|Ct|Hill|Park|Square|Sq|Row|Walk|Green|View|Rise|Parade|Mount|Vale|Croft|"
    "Meadows?|Cottages?|House|Bank|Fields?|Wharf|Quay|End"
)
_ADDRESSES = (
    rf"(?i)\b[0-9]{{1,4}}[a-z]?,?\s+(?:[a-z][a-z'.-]*\s+){{1,4}}(?:{_ROAD})\b",
    rf"\b[0-9]{{1,4}}[A-Za-z]?,?\s+(?:[A-Z][A-Za-z'.-]*\s+){{1,4}}(?:{_OTHER_ROAD})\b",
    r"(?i)\b(?:flat|apartment|apt)\.?\s*[0-9]{1,3}[a-z]?\s*,?\s+(?:[0-9]{1,4}|[a-z][a-z'-]+\s+[a-z])",
    r"(?i)\bp\.?o\.?\s+box\s+[0-9]",
)


def addresses(texts: Texts) -> set[int]:
    """A number with the name of a road behind it, or of a flat; one is enough."""
    if not texts.with_digits or not texts.with_space:
        return set()
    if not texts.matching(r"[0-9][A-Za-z]?,?\s|(?i)\b(?:flat|apt|apartment|box)\b"):
        return set()
    return {index for pattern in _ADDRESSES for index in texts.matching(pattern)}
