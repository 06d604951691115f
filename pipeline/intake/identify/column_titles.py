"""What a column's name says of what it holds.

Comes in: a header as it stands in the export. Goes out: the kinds of identifier it names, and whether the column is
one of practitioners.
"""

from __future__ import annotations

import itertools
import re

from pipeline.intake.identify.column_texts import (
    ADDRESS,
    BIRTH_DATE,
    EMAIL,
    FREE_TEXT,
    NAME,
    NHS_NUMBER,
    PHONE,
    POSTCODE,
    RECORD_NUMBER,
    fold,
    word_list,
)

_PERSONS = word_list(
    "mother mothers mum mums mom mam mummy baby babies infant child patient patients pt client parent parents "
    "father dad partner guardian carer sibling twin family person"
)
_STAFF = word_list(
    "practitioner practitioners operator clinician midwife staff surgeon supporter worker therapist ibclc "
    "consultant hv visitor nurse doctor dr provider assessor counsellor adviser advisor lead author gp specialist "
    "volunteer"
)
_BY = word_list("seen performed done completed assessed recorded entered divided carried treated")
_SMALL = word_list("s of the a an and or for this her his their full please")
# What else may have a name: "site name", "name of clinic".
_THINGS = word_list(
    "site clinic hub hospital ward team service services practice surgery column file sheet table field variable "
    "drug code codes test procedure measure organisation organization org trust centre center location place unit "
    "school product brand formula device tool list project source system department icb ccg region area district "
    "group pathway report outcome condition medicine venue form tie type status stage step session event course "
    "domain bottle pump shield category method score scale sector locality destination"
)
_NUMBER = word_list("number num no nr nos numbers id ids identifier ident ref reference")
_RECORDS = word_list(
    "hospital hosp patient pt pat client baby mother mum child infant unit record records district casenote casenotes "
    "chart pas rio emis systmone badgernet chi passport registration notes insurance nmc gmc"
)
_ALONE = word_list("mrn pas hospno hospid chi nino crn pasid uprn")
_NAMES = word_list(
    "surname surnames forename forenames firstname lastname fullname maiden nickname alias username nok initials "
    "middlename givenname familyname aka"
)
_RUN_TOGETHER = (
    (NHS_NUMBER, ("nhsno", "nhsnum", "nhsnr", "nhsid")),
    (BIRTH_DATE, ("dateofbirth", "birthdate", "birthday", "dateofdelivery", "deliverydate", "birthdt")),
    (NAME, ("patientname", "mothername", "mothersname", "babyname", "babysname", "childname", "firstname", "lastname",
            "surname", "forename", "familyname", "givenname", "nextofkin", "knownas", "fullname", "clientname",
            "middlename", "preferredname", "parentname", "mumname", "mumsname", "maidenname")),
    (POSTCODE, ("postcode", "postalcode", "zipcode")),
    (EMAIL, ("email",)),
    (PHONE, ("telephone", "phoneno", "phonenum", "mobileno", "mobilenum", "contactnumber", "contactno", "homephone",
             "mobilephone", "workphone")),
    (ADDRESS, ("homeaddress", "streetaddress", "addressline", "houseno", "housenumber", "housename", "postaladdress")),
    (RECORD_NUMBER, ("hospitalno", "hospitalnum", "hospno", "hospnum",
                     "hospitalid", "patientid", "patientno", "patientnum", "unitno", "unitnum",
                     "recordno", "recordnum", "babyid", "motherid", "clientid", "casenoteno", "nationalinsurance")),
    (FREE_TEXT, ("freetext",)),
)  # fmt: skip
_EXPECTED = word_list("estimated expected due edd predicted planned")
_OF_BIRTH = word_list("at before after in term early weeks preterm where by weight wt visit place order type mode")
_TEXTS = word_list(
    "note notes comment comments freetext narrative history remark remarks observation observations details detail "
    "description summary story"
)
REFERENCES = frozenset(
    {"case ref", "ref", "case id", "pseudonym", "case reference", "reference", "case no", "case number"}
)


def words_of(header: str) -> tuple[str, ...]:
    """The header's words in small letters: "PatientName", "patient_name" and "Patient's name (2)" alike."""
    text = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", " ", fold(header[:1000]).replace("'", ""))
    text = re.sub(r"\b([A-Za-z])\.(?=[A-Za-z]\b)", r"\1", text)  # D.O.B.
    return tuple(re.findall(r"[^\W\d_]+", text.lower()))


def kinds_named(header: str) -> set[str]:
    """The kinds of identifier the header names. NAME and FREE_TEXT may be softened by the values: see search."""
    words = words_of(header)
    held, unsplit = set(words), words_of(header.lower())
    if not held or any(word.startswith(("pseudo", "anonym")) for word in held):
        return set()
    kinds = {kind for kind, parts in _RUN_TOGETHER if any(part in word for part in parts for word in unsplit)}
    if BIRTH_DATE in kinds and not _is_birth(held):
        kinds.discard(BIRTH_DATE)
    if "nhs" in held and held <= _NUMBER | _PERSONS | _SMALL | {"nhs"}:
        kinds.add(NHS_NUMBER)
    if _is_birth(held):
        kinds.add(BIRTH_DATE)
    if _is_name(words):
        kinds.add(NAME)
    if {"post", "code"} <= held or {"postal", "code"} <= held or held & {"postcodes", "zip"}:
        kinds.add(POSTCODE)
    if held & {"email", "emails"} or {"e", "mail"} <= held:
        kinds.add(EMAIL)
    if _is_phone(held) and not _counts(words):
        kinds.add(PHONE)
    if held & {"address", "addresses", "addr", "street", "uprn"} and not held & {"email", "mail", "ip", "web"}:
        kinds.add(ADDRESS)
    if "house" in held and _asks_number(held):
        kinds.add(ADDRESS)
    if held & _ALONE or (_asks_number(held) and held.union(unsplit) & _RECORDS and not _counts(words)):
        kinds.add(RECORD_NUMBER)
    if held & _TEXTS or {"free", "text"} <= held:
        kinds.add(FREE_TEXT)
    return kinds - {RECORD_NUMBER} if NHS_NUMBER in kinds else kinds


def is_of_practitioners(header: str) -> bool:
    """Whether the column is one of practitioners, whose values must be codes."""
    words = words_of(header)
    return bool(set(words) & _STAFF) or (len(words) > 1 and words[-1] == "by" and bool(set(words) & _BY))


def _asks_number(held: set[str]) -> bool:
    return bool(held & (_NUMBER - {"ref", "reference", "nos", "numbers"}))


def _is_phone(held: set[str]) -> bool:
    if held & {"telephone", "tel", "landline", "mob"} and not held & {"call", "calls", "contact", "contacts", "review"}:
        return True
    if not held & {"phone", "mobile"}:
        return {"contact", "number"} <= held or {"contact", "no"} <= held
    return _asks_number(held) or held <= _PERSONS | _SMALL | {"phone", "mobile", "home", "work"}


def _counts(words: tuple[str, ...]) -> bool:
    """A count, as in "Patient: number of feeds"."""
    return any(pair in (("number", "of"), ("no", "of"), ("num", "of")) for pair in itertools.pairwise(words))


def _is_birth(held: set[str]) -> bool:
    if held & _EXPECTED:
        return False
    if held & {"dob", "dobs", "yob", "birthdate", "birthday", "bdate", "birthdt"} or {"d", "o", "b"} <= held:
        return True
    if {"date", "of", "birth"} <= held or {"date", "of", "delivery"} <= held:
        return True
    if "born" in held:
        return not held & _OF_BIRTH and held <= _PERSONS | _SMALL | {"born", "date", "on", "when", "day"}
    dated = held & {"date", "dt", "year", "day"}
    return bool(dated and held & {"birth", "delivery"} and not held & _OF_BIRTH)


def _is_name(words: tuple[str, ...]) -> bool:
    held = set(words)
    if held & _NAMES - {"initials"} or {"next", "of", "kin"} <= held or {"known", "as"} <= held:
        return True
    if "initials" in held:
        return not held & _STAFF and words[-1] != "by"
    if held & {"name", "names"}:
        return bool(held & _PERSONS) or not held & _THINGS
    return bool(held & _PERSONS) and held <= _PERSONS | _SMALL and held != {"family"} and words[-1] != "twin"
