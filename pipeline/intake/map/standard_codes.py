"""Lists of codes of open standards, which a mapping uses by name: written code -> code of the layout.

All are of the NHS Data Dictionary, by the name of the item; a test holds them to the check values. Codes are texts as
the standard writes them: 1 is not 01.
"""

from __future__ import annotations

from collections.abc import Mapping

STANDARDS: Mapping[str, Mapping[str, str]] = {
    # BREASTFEEDING STATUS: breast milk only, breast milk and other milk, no breast milk.
    "breastfeeding_status": {"01": "exclusive", "02": "partial", "03": "none"},
    # ETHNIC CATEGORY (2001): A to C white, D to G mixed, H to L Asian, M to P black, R Chinese, S any other, Z not
    # stated, 99 not known. Chinese counts as Asian, as in the censuses since 2011.
    "ethnic_category": {
        **dict.fromkeys("ABC", "white"),
        **dict.fromkeys("DEFG", "mixed"),
        **dict.fromkeys("HJKL", "asian"),
        **dict.fromkeys("MNP", "black"),
        "R": "asian",
        "S": "other",
        "Z": "not_stated",
        "99": "not_known",
    },
    # PERSON PHENOTYPIC SEX: male, female, indeterminate, not known. The layout has no code for indeterminate.
    "phenotypic_sex": {"1": "male", "2": "female", "9": "not_known", "X": "not_known"},
    # BIRTH WEIGHT: 9999 stands for a weight that is not known; every other number is a weight in grams.
    "birth_weight_not_known": {"9999": ""},
}
