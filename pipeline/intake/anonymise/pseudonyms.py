"""Pseudonyms: the same record number gives the same one in every quarter, and nobody without the key can tell which.

Comes in: the audit folder, a record number as it is written. Goes out: a pseudonym by HMAC-SHA256 (RFC 2104) under the
folder's own key. Refuses: a key file that is not whole, for another key would make every baby a new one.
"""

from __future__ import annotations

import hmac
import secrets
import unicodedata
from pathlib import Path

from pipeline.errors import Fault, Refused
from pipeline.store.whole_files import write_new

KEY_FILE = "pseudonym.key"
_BYTES = 32
# No vowel, so that none is a word; nothing that is taken for another sign, or by a spreadsheet for a number.
_LETTERS, _DIGITS = "bcdfghjkmnpqrtvwxz", "23456789"
_SHAPES = {
    "case": (_LETTERS, *(_LETTERS + _DIGITS,) * 11),  # of a million babies, two have one once in 130,000 times
    "code": (*(_LETTERS.upper(),) * 2, *(_DIGITS,) * 4),
}


def key_of(folder: Path) -> tuple[bytes, bool]:
    """The folder's key, or a new one that is not kept yet; and whether it is new. Raises Refused."""
    path = folder / KEY_FILE
    if not path.exists():
        return secrets.token_bytes(_BYTES), True
    try:
        key = bytes.fromhex(path.read_text(encoding="ascii", errors="replace").strip())
    except ValueError:
        key = b""
    if len(key) != _BYTES:
        mend = "put back your copy of it; only if no export was made with it yet, delete it and go on"
        raise Refused(Fault(str(path), "it is not whole", f"{2 * _BYTES} digits of a key", mend))
    return key, False


def keep(folder: Path, key: bytes) -> None:
    """Put a new key into the folder, on the disk before anything rests on it; never over another."""
    write_new(folder / KEY_FILE, f"{key.hex()}\n".encode())


def pseudonym(key: bytes, kind: str, written: str) -> str:
    """What stands for a record number (`case`) or for a name in a column of codes (`code`); "" for nothing.

    Case, blanks and what else is neither letter nor digit make no difference: 999 000 0018 is 9990000018.
    """
    plain = letters_and_digits(written)
    if not plain:
        return ""
    number = int.from_bytes(hmac.digest(key, f"{kind}:{plain}".encode(), "sha256"))
    signs = []
    for alphabet in _SHAPES[kind]:
        number, at = divmod(number, len(alphabet))
        signs.append(alphabet[at])
    return "".join(signs)


def letters_and_digits(written: str) -> str:
    """What of a number or a name makes a difference."""
    return "".join(sign for sign in unicodedata.normalize("NFKC", written).casefold() if sign.isalnum())
