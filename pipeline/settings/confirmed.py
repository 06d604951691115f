"""What is confirmed in writing, under [confirmed] of audit.toml or of a mapping: words and patterns that name nobody.

Comes in: a key and its list, as TOML gives them. Goes out: what is allowed instead, where they cannot stand so.
"""

from __future__ import annotations

from typing import Any

CASE_REF = "case_ref"
KINDS = ("site", "practitioner", "destination", CASE_REF)
PATTERN = "A for a letter, 9 for a digit, X for either, other signs as they are"


def allowed_instead(kind: str, words: Any) -> str:
    """What is allowed, where this is not; else nothing."""
    if kind not in KINDS or not isinstance(words, list) or not all(isinstance(word, str) and word for word in words):
        return f'{", ".join(KINDS)}, each with a list of texts: site = ["North hub"]'
    if kind == CASE_REF and any(sign.isalnum() and sign not in "A9X" for word in words for sign in word):
        return f'patterns of references, such as "AA-9999": {PATTERN}'
    return ""
